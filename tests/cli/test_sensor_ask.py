"""Asked once in the terminal, answered there or by a word, and remembered."""

import io
from pathlib import Path

import pytest

from monitor.config import FILE
from monitor.sensing.line_reader import LineReader
from monitor.store import Store
from tests.cli.conftest import Layupwatch
from tests.scenarios import at

THEN = at("2026-05-03T07:55:00Z")


def heard(folder: Path, line: str) -> None:
    """The sensor said that line, five minutes before it is asked about."""
    with Store.open(folder / "layupwatch.db") as store:
        sensor = store.book.sensor("bench")
        reader = LineReader(unit=sensor.unit)
        readings = [h.reading for _ in range(2) for h in reader.read(line, THEN) if h.reading]
        store.readings.add(sensor.id, readings[-1:])


def test_degrees_asked_and_answered(
    layupwatch: Layupwatch, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The question, the line that raised it, the choices; `sensor list` leads there."""
    layupwatch("sensor", "add", "bench", "/dev/bench")
    assert layupwatch("sensor", "ask", "bench").out == "Nothing is to be asked of bench.\n"
    heard(tmp_path / "shop", "68.0 54")
    listed = layupwatch("sensor", "list").out
    assert "bench says 68.0 and no unit" in listed
    assert "sensor ask bench" in listed
    (question,) = layupwatch("sensor", "ask", "bench", "--json").json
    assert (question["about"], question["line"]) == ("degrees", "68.0 54")
    assert list(question["answers"]) == ["f", "c"]
    monkeypatch.setattr("sys.stdin", io.StringIO("f\n"))
    said = layupwatch("sensor", "ask", "bench")
    assert said.code == 0
    assert "  68.0 54\n" in said.out
    assert said.out.endswith("bench is read in °F from now on.\n")
    assert layupwatch("sensor", "list", "--json").json[0]["unit"] == "f"


def test_columns_answered_by_a_word(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """What was typed into shop.toml stays; the rest is added."""
    layupwatch("sensor", "add", "bench", "/dev/bench", "--unit", "c")
    heard(tmp_path / "shop", "63.0,20.4")
    refused = layupwatch("sensor", "ask", "bench", "--answer", "f")
    assert refused.code == 2
    assert refused.two_lines == (
        "'f' answers nothing that is open.",
        "What can be said: swap, as-is.",
    )
    done = layupwatch("sensor", "ask", "bench", "--answer", "swap", "--json").json
    assert done["done"] == "bench: temperature is 2, humidity 1 from now on."
    text = (tmp_path / "shop" / FILE).read_text(encoding="utf-8")
    assert text.startswith("# This shop's settings.")
    assert 'sensor = "bench"\ntemperature = "2"\nhumidity = "1"\n' in text


def test_nobody_there_to_answer(layupwatch: Layupwatch, tmp_path: Path, monkeypatch) -> None:
    """Nothing is kept."""
    layupwatch("sensor", "add", "bench", "/dev/bench")
    heard(tmp_path / "shop", "68.0 54")
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert layupwatch("sensor", "ask", "bench").code == 2
    assert layupwatch("sensor", "list", "--json").json[0]["unit"] is None
