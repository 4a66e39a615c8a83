"""The notes tell the truth: every sample line reads as they say."""

import re
from datetime import UTC, datetime
from pathlib import Path
from xml.etree import ElementTree

import pytest

from monitor.config import read_shop
from monitor.sensing.formats import FORMATS, recognise
from monitor.sensing.framing import Framer
from monitor.sensing.line_reader import LineReader
from monitor.wires import NO_WIRES

NOTES = Path(__file__).parents[2] / "firmware_notes"
AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)


def note_of(name: str) -> Path:
    return NOTES / f"{name.replace('-', '_')}.md"


def fenced(path: Path, kind: str) -> list[str]:
    text = path.read_text(encoding="utf-8")
    return re.findall(rf"^```{kind}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def samples(name: str) -> list[tuple[str, str]]:
    blocks = fenced(note_of(name), "sample")
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
    good = [line for line, said in samples(form.name) if said.startswith(("air", "humidity"))]
    found = recognise(good)
    assert found is not None
    assert (found.name, found.read) == (form.name, found.of)


GUIDES = {"placement.md", "board.md", "bus.md", "broker.md", "ports.md"}


def test_every_file_here_is_told_of() -> None:
    """A note a format, the guides, and what the guides lead to."""
    known = {note_of(form.name).name for form in FORMATS} | GUIDES
    assert {path.name for path in NOTES.glob("*.md")} == known
    led_to = {
        (NOTES / target).resolve()
        for name in known
        for target in re.findall(r"\]\(([^)#:]+)\)", (NOTES / name).read_text(encoding="utf-8"))
    }
    files = {
        path for path in NOTES.rglob("*") if path.is_file() and "__pycache__" not in path.parts
    }
    assert {path for path in files if path.suffix != ".md"} <= led_to
    assert led_to <= files


@pytest.mark.parametrize("path", sorted(NOTES.glob("*.md")), ids=lambda path: path.name)
def test_what_a_note_says_for_shop_toml_is_read(path: Path) -> None:
    """Whoever copies it gets a shop that opens."""
    blocks = fenced(path, "toml")
    assert blocks or path.name in {"placement.md", "board.md", "ports.md"}
    for block in blocks:
        assert read_shop('time_zone = "UTC"\n' + block, Path("shop")).wires != NO_WIRES


@pytest.mark.parametrize("name", sorted(GUIDES))
def test_a_guides_samples_read_as_it_says(name: str) -> None:
    """As those of the formats' notes."""
    for block in fenced(NOTES / name, "sample"):
        for line, _, said in (text.rpartition(" -> ") for text in block.splitlines()):
            (framed,) = Framer().feed(line.encode() + b"\r\n")
            (heard,) = LineReader().read(framed, AT)
            assert heard.said() == said


def test_the_rule_for_a_port_is_one_rule_of_matches_and_settings() -> None:
    """By the grammar of udev(7): keys with an operator and a value in quotes, between commas."""
    (rule,) = fenced(NOTES / "ports.md", "udev")
    key = r'[A-Z]+(?:\{[A-Za-z_]+\})?(?:==|\+=|=)"[^"]+"'
    assert re.fullmatch(rf"{key}(?:, {key})*\n", rule)


@pytest.mark.parametrize("path", sorted(NOTES.glob("*.svg")), ids=lambda path: path.name)
def test_a_picture_says_in_words_what_it_shows(path: Path) -> None:
    """And fetches nothing, and runs nothing."""
    text = path.read_text(encoding="utf-8")
    root = ElementTree.fromstring(text)
    space = "{http://www.w3.org/2000/svg}"
    assert root.tag == space + "svg"
    assert len(root.findtext(space + "title") or "") > 10
    assert len(root.findtext(space + "desc") or "") > 60
    assert not re.search(r"href|<script|url\(|<image", text)


@pytest.mark.parametrize("path", sorted(NOTES.glob("*.md")), ids=lambda path: path.name)
def test_every_note_gives_the_cautions(path: Path) -> None:
    """Low voltage only; mains and heaters belong to licensed practice."""
    text = " ".join(path.read_text(encoding="utf-8").lower().split())
    assert re.search(r"low[ -]voltage", text)
    assert "licensed practice" in text
    assert "local codes" in text
