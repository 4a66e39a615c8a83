"""One value of a sheet put right: the file's other lines and comments stay, the old value too."""

import pytest

from monitor.errors import BadInput
from monitor.records import Stage
from monitor.sheets import parse_sheet
from monitor.sheets.mending import mended, question_of, typed_value
from monitor.sheets.questions import QUESTIONS, Answer, compose

OWN = compose(
    (
        Answer("name", "Green tin"),
        Answer("kind", "polyester", "printed sheet"),
        Answer("air_inhibited", "yes", "printed sheet"),
        Answer("working.temperature_c", "15 to 30", "printed sheet"),
        Answer("count.base_c", "5", "printed sheet"),
        Answer("mix.catalyst_pct", "1 to 2", "printed sheet"),
        Answer("stages.sand", "240", "printed sheet"),
        Answer("gel", "20 25 100 1.5; 30 13 100 1.5", "own cups"),
    )
)
TEXT = "# from the tin's lid\n" + OWN


def test_one_value_changes_and_the_rest_stays() -> None:
    """With its origin; the old value stands as a comment, the person's own comment too."""
    text = mended(TEXT, "stages.sand", "250", "maker's reply", "2026-05-03")
    sheet = parse_sheet(text, "x")
    before = parse_sheet(TEXT, "x")
    assert sheet.needs[Stage.SAND] == (250.0,)
    assert sheet.value_sources["stages.sand"] == "maker's reply"
    assert (sheet.base_c, sheet.working_c) == (before.base_c, before.working_c)
    assert "# from the tin's lid" in text
    assert "# stages.sand was 240 until 2026-05-03" in text


@pytest.mark.parametrize(
    ("key", "typed"),
    [
        ("name", "Green tin #2"),
        ("kind", "vinyl-ester"),
        ("air_inhibited", "no"),
        ("version", "2026-03"),
        ("working.temperature_c", "16 to 28"),
        ("working.humidity_max_pct", "75"),
        ("mix.aim_pct", "1.5"),
        ("stages.knife_trim", "18 to 40"),
        ("limits.depth_max_mm", "12"),
        ("gel", "15 36 100 1.5; 20 25"),
    ],
)
def test_what_is_put_right_reads_back_as_typed(key: str, typed: str) -> None:
    """Also where the table wasn't there before."""
    text = mended(TEXT, key, typed, None, "2026-05-03")
    assert typed_value(text, key) == typed
    assert parse_sheet(text, "x").kind in ("polyester", "vinyl-ester")


def test_a_value_becomes_a_blank() -> None:
    """And its origin goes with it."""
    text = mended(TEXT, "stages.sand", " ", "anything", "2026-05-03")
    sheet = parse_sheet(text, "x")
    assert Stage.SAND not in sheet.needs
    assert "stages.sand" not in sheet.value_sources
    cups = mended(TEXT, "gel", "", None, "2026-05-03")
    assert parse_sheet(cups, "x").gel_rows == ()
    assert "# gel was 20 25 100 1.5; 30 13 100 1.5 until 2026-05-03" in cups


@pytest.mark.parametrize(
    ("key", "typed"),
    [
        ("name", ""),
        ("kind", "tar"),
        ("stages.sand", "-3"),
        ("stages.sand", "soon"),
        ("count.base_c", "900"),
        ("mix.aim_pct", "5"),
        ("gel", "20"),
        ("demo", "yes"),
        ("stages.glue", "1"),
    ],
)
def test_what_can_t_be_is_refused_whole(key: str, typed: str) -> None:
    """By itself, or beside the sheet's other values."""
    with pytest.raises(BadInput):
        mended(TEXT, key, typed, None, "2026-05-03")


def test_a_value_of_several_corrections_keeps_them_all() -> None:
    """Each in its line, in order."""
    once = mended(TEXT, "stages.sand", "250", None, "2026-05-03")
    twice = mended(once, "stages.sand", "260", None, "2026-05-04")
    assert twice.index("was 240 until 2026-05-03") < twice.index("was 250 until 2026-05-04")
    assert parse_sheet(twice, "x").needs[Stage.SAND] == (260.0,)


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.key)
def test_every_question_can_be_put_right(question) -> None:
    """What was asked once can be asked again."""
    assert question_of(question.key) is question
    assert isinstance(typed_value(TEXT, question.key), str)
