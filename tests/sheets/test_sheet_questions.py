"""A new sheet by plain questions: what is typed comes back as the sheet it means."""

import tomllib
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.errors import BadInput
from monitor.errors.text import shown
from monitor.records import GelRow, Sheet, Stage
from monitor.sheets.questions import QUESTIONS, Answer, Question, answered, ask, compose
from monitor.sheets.read import parse_sheet

BY_KEY = {question.key: question for question in QUESTIONS}

TYPED = {
    "name": "Green tin #2",
    "kind": "Polyester",
    "unit": "f",
    "source": "printed sheet, page 2",
    "air_inhibited": "yes",
    "working.temperature_c": "59 to 86",
    "working.dew_spread_min_c": "5.4",
    "count.base_c": "41",
    "mix.catalyst_pct": "1,0-2,0",
    "mix.aim_pct": "1.5 # own cups",
    "stages.recoat": "18 648",
    "stages.sand": "432",
    "gel": "68 25 100 1.5; 59 36 - 1.5",
}


def person(typed: dict[str, list[str]], seen: list[str]) -> Callable[[Question, str], str]:
    """Someone who types those lines in turn, and then nothing."""

    def prompt(question: Question, unit: str) -> str:
        seen.append(f"{question.key} {unit}".strip())
        lines = typed.get(question.key, [])
        return lines.pop(0) if lines else ""

    return prompt


def test_asked_answered_composed_and_read_back() -> None:
    """The file holds what was typed, as printed, and the record holds it in °C."""
    seen: list[str] = []
    answers = ask(person({k: [v] for k, v in TYPED.items()}, seen), lambda line: None)
    text = compose(answers)
    assert "base_c = 41" in text
    sheet = parse_sheet(text, "green-tin.toml")
    assert (sheet.name, sheet.kind, sheet.unit) == ("Green tin #2", "polyester", "f")
    assert sheet.base_c == pytest.approx(5.0)
    assert sheet.dew_spread_min_c == pytest.approx(3.0)
    assert sheet.needs[Stage.SAND] == pytest.approx((240.0,))
    assert sheet.needs[Stage.RECOAT] == pytest.approx((10.0, 360.0))
    assert sheet.catalyst_pct == (1.0, 2.0)
    assert sheet.gel_rows == (GelRow(20.0, 25.0, 1.5, 100.0), GelRow(15.0, 36.0, 1.5, None))
    assert sheet.value_sources["mix.aim_pct"] == "own cups"
    assert sheet.value_sources["stages.sand"] == "printed sheet, page 2"
    assert "working.temperature_c °F" in seen


def test_blank_answers_leave_their_keys_out() -> None:
    """A name and a kind alone make a sheet that says nothing else."""
    answers = ask(person({"name": ["tin"], "kind": ["epoxy"]}, []), lambda line: None)
    assert parse_sheet(compose(answers), "tin.toml") == Sheet(name="tin", kind="epoxy")


def test_only_questions_of_the_kind_are_asked() -> None:
    """Nobody is asked for the catalyst of an epoxy, or the ratio of a polyester."""
    for kind, asked, spared in (
        ("epoxy", "mix.ratio_by_weight", "mix.catalyst_pct"),
        ("polyester", "mix.catalyst_pct", "mix.ratio_by_weight"),
    ):
        seen: list[str] = []
        ask(person({"name": ["tin"], "kind": [kind]}, seen), lambda line: None)
        keys = [line.split()[0] for line in seen]
        assert asked in keys
        assert spared not in keys


def test_a_bad_answer_is_refused_and_asked_again() -> None:
    """The remedy comes at once, then the same question."""
    said: list[str] = []
    typed = {
        "name": ["", "tin"],
        "kind": ["polester", "polyester"],
        "working.temperature_c": ["59 86", "thirty", "30 15", "15 to 30"],
        "mix.catalyst_pct": ["1 2"],
        "mix.aim_pct": ["3", "1.5"],
        "air_inhibited": ["perhaps", "no"],
        "gel": ["20", "20 25 100 1.5"],
    }
    answers = ask(person(typed, []), said.append)
    sheet = parse_sheet(compose(answers), "tin.toml")
    assert (sheet.working_c, sheet.aim_pct, sheet.air_inhibited) == ((15.0, 30.0), 1.5, False)
    spoken = "\n".join(said)
    for words in ("left empty", "polyester", "°F", "not a number", "lower figure first", "1 to 2"):
        assert words in spoken
    assert "yes or no" in spoken


BAD = [
    ("stages.sand", "-5"),
    ("stages.sand", "1 2"),
    ("stages.sand", "1e3"),
    ("stages.sand", "inf"),
    ("stages.recoat", "360 10"),
    ("count.base_c", "five"),
    ("working.humidity_max_pct", "180"),
    ("gel", "20 0"),
    ("gel", "20 25 100 1.5 7"),
    ("gel", "- 25"),
    ("unit", "k"),
]


@pytest.mark.parametrize(("key", "typed"), BAD)
def test_refusals_are_two_lines(key: str, typed: str) -> None:
    """Whatever can't be used is said with what to type instead."""
    answers = (Answer("name", "tin"), Answer("kind", "polyester"))
    with pytest.raises(BadInput) as caught:
        answered(answers, BY_KEY[key], typed)
    assert all(line.endswith((".", "?")) for line in caught.value.lines())


@given(name=st.text(min_size=1).filter(lambda t: t.strip()), origin=st.text())
def test_any_words_survive_the_file(name: str, origin: str) -> None:
    """A name or an origin in any script, with any quotes, stands in the file as typed, and is read
    back as that; but what nobody can see is told by its number, and there is one line."""
    answers = [Answer("name", name), Answer("kind", "epoxy"), Answer("stages.sand", "3", origin)]
    text = compose(answers)
    raw, sheet = tomllib.loads(text), parse_sheet(text, "tin.toml")
    assert (raw["name"], raw.get("from", {}).get("stages.sand", "")) == (name, origin)
    told = sheet.value_sources.get("stages.sand", "")
    for typed, read in ((name, sheet.name), (origin, told)):
        assert shown(read) == read
        assert read == typed or shown(typed) != typed


@given(typed=st.text(max_size=30), question=st.sampled_from(QUESTIONS))
def test_any_typing_is_taken_or_refused(typed: str, question: Question) -> None:
    """No line that a person can type does anything else than answer or be refused."""
    first = tuple(
        Answer(key, text)
        for key, text in (("name", "tin"), ("kind", "polyester"))
        if key != question.key
    )
    said: list[str] = []
    answers = first
    try:
        answers = answered(first, question, typed)
    except BadInput as refusal:
        said += refusal.lines()
    assert all(said)
    assert answers[: len(first)] == first
    assert len(answers) - len(first) in ((0,) if said else (0, 1))
    assert compose(answers).count("\n") >= len(answers)
