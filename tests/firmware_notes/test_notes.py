"""The notes tell the truth: every sample line reads as they say."""

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from monitor.sensing.formats import FORMATS, recognise
from monitor.sensing.framing import Framer
from monitor.sensing.line_reader import LineReader

NOTES = Path(__file__).parents[2] / "firmware_notes"
AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)


def note_of(name: str) -> Path:
    return NOTES / f"{name.replace('-', '_')}.md"


def samples(name: str) -> list[tuple[str, str]]:
    text = note_of(name).read_text(encoding="utf-8")
    blocks = re.findall(r"^```sample\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    pairs = [line.rpartition(" -> ") for block in blocks for line in block.splitlines()]
    return [(line, said) for line, _, said in pairs]


ALL = [(form.name, line, said) for form in FORMATS for line, said in samples(form.name)]


@pytest.mark.parametrize(("name", "line", "said"), ALL)
def test_a_sample_reads_as_its_note_says(name: str, line: str, said: str) -> None:
    """Fed as bytes through framing, format and plausibility, by a sensor of no stated unit."""
    (framed,) = Framer().feed(line.encode() + b"\r\n")
    (heard,) = LineReader(format=name).read(framed, AT)
    assert heard.said() == said


@pytest.mark.parametrize("form", FORMATS, ids=lambda form: form.name)
def test_every_format_has_a_note_with_samples_it_reads_and_refuses(form) -> None:
    """A note without both would not show where the format ends."""
    said = [said for _, said in samples(form.name)]
    assert sum(not each.startswith("refused") for each in said) >= 3
    assert any(each.startswith("refused") for each in said)


@pytest.mark.parametrize("form", FORMATS, ids=lambda form: form.name)
def test_a_notes_good_samples_are_recognised(form) -> None:
    """Whoever follows the note need not name the format."""
    good = [line for line, said in samples(form.name) if not said.startswith("refused")]
    found = recognise(good)
    assert found is not None
    assert (found.name, found.read) == (form.name, found.of)


def test_there_is_no_note_without_a_format() -> None:
    """But for the one about where to put the sensor."""
    known = {note_of(form.name).name for form in FORMATS} | {"placement.md"}
    assert {path.name for path in NOTES.iterdir()} == known


@pytest.mark.parametrize("path", sorted(NOTES.glob("*.md")), ids=lambda path: path.name)
def test_every_note_gives_the_cautions(path: Path) -> None:
    """Low voltage only; mains and heaters belong to licensed practice."""
    text = " ".join(path.read_text(encoding="utf-8").lower().split())
    assert re.search(r"low[ -]voltage", text)
    assert "licensed practice" in text
    assert "local codes" in text
