"""Sheets typed in, shown and checked from the terminal."""

import io

import pytest

from monitor.sheets.questions import QUESTIONS
from tests.cli.conftest import Layupwatch

TYPED = {
    "name": "Green tin",
    "kind": "polyester",
    "unit": "f",
    "source": "printed sheet, page 2, 2026-03",
    "count.base_c": "41",
    "count.floor_c": "50",
    "mix.catalyst_pct": "1.0 to 2.0",
    "mix.aim_pct": "1.5",
    "stages.sand": "432 # maker's reply",
}


def test_a_sheet_typed_in_question_by_question(
    layupwatch: Layupwatch, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Answers in °F become a sheet that can judge; blanks stay blank; origins are kept."""
    asked = [q for q in QUESTIONS if "polyester" in q.kinds]
    answers = "".join(f"{TYPED.get(question.key, '')}\n" for question in asked)
    monkeypatch.setattr("sys.stdin", io.StringIO(answers))
    said = layupwatch("sheet", "new", "green-tin")
    assert said.code == 0, said.err
    shown = layupwatch("sheet", "show", "green-tin", "--unit", "c").out
    assert "240" in shown
    assert "maker's reply" in shown
    assert "your sheet doesn't say" in shown
    assert "green-tin  Green tin" in layupwatch("sheet", "list").out
    assert layupwatch("layup", "add", 1, "lid", "--sheet", "green-tin").code == 0
    checked = layupwatch("sheet", "check", "green-tin", "--json").json
    assert checked["usable"]
    assert "stages.flip" in checked["left_out"]


def test_a_bad_answer_is_asked_again(
    layupwatch: Layupwatch, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The remedy is said at once, and the question comes again."""
    asked = [q for q in QUESTIONS if "polyester" in q.kinds]
    lines = []
    for question in asked:
        if question.key == "kind":
            lines.append("plaster")
        lines.append(TYPED.get(question.key, ""))
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(lines) + "\n"))
    said = layupwatch("sheet", "new", "green-tin")
    assert said.code == 0, said.err
    assert "plaster can't be used for kind." in said.out


def test_stopping_half_way_keeps_nothing(
    layupwatch: Layupwatch, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half a sheet is no sheet."""
    monkeypatch.setattr("sys.stdin", io.StringIO("Green tin\n"))
    said = layupwatch("sheet", "new", "green-tin")
    assert said.code == 2
    assert said.err.splitlines()[-2:] == ["Stopped.", "Nothing was stored."]
    assert "green-tin" not in layupwatch("sheet", "list").out


def test_the_demo_sheets_say_what_they_are(layupwatch: Layupwatch) -> None:
    """Made up, and said to be, wherever one is shown."""
    assert "DEMO" in layupwatch("sheet", "list").out
    shown = layupwatch("sheet", "show", "demo-epoxy").out
    assert "its figures are made up" in shown
    assert "Goggles" in shown or "goggles" in shown


def test_a_name_that_is_taken(layupwatch: Layupwatch) -> None:
    """Never overwrites a sheet."""
    said = layupwatch("sheet", "new", "demo-epoxy")
    assert said.code == 2
    assert "already a sheet" in said.two_lines[0]
