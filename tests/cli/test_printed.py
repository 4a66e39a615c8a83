"""`record` and `label`: a file to print, the lines to copy, and two lines where it can't be."""

from pathlib import Path

import pytest

from tests.scenarios.terminal import Layupwatch

MIXED = "2026-05-02T10:20:00Z"


@pytest.fixture
def logged(layupwatch: Layupwatch) -> Layupwatch:
    """A part with one cup and one mark."""
    layupwatch("layup", "add", 3, "hatch lid", "--sheet", "demo-laminating", now=MIXED)
    layupwatch("batch", "add", "3/skin-a", "--resin-g", 200, "--catalyst-g", 3, now=MIXED)
    layupwatch("mark", 3, "kicked", "--note", "=1+1", now="2026-05-02T11:05:00Z")
    return layupwatch


def test_a_record_is_one_file(logged: Layupwatch, tmp_path: Path) -> None:
    """Written whole, with the part's words in it; what was there before is replaced."""
    path = tmp_path / "lid.html"
    path.write_text("old")
    said = logged("record", 3, "-o", path)
    assert said.code == 0
    assert said.out.splitlines()[0] == "Part 3: hatch lid, as it stood at 08:00 Sun 3 May 2026."
    text = path.read_text("utf-8")
    assert text.startswith("<!doctype html>")
    assert "hatch lid" in text
    assert text.rstrip().endswith("</html>")
    assert [p.name for p in tmp_path.iterdir() if p.name != "shop"] == ["lid.html"]


def test_a_record_for_scripts(logged: Layupwatch, tmp_path: Path) -> None:
    """What was written, and where."""
    path = tmp_path / "lid.html"
    assert logged("record", 3, "-o", path, "--json").json == {
        "layup": 3,
        "what": "hatch lid",
        "file": str(path),
        "batches": ["3/skin-a"],
        "marks": 1,
        "alerts": 0,
    }


def test_a_record_that_has_no_place(logged: Layupwatch, tmp_path: Path) -> None:
    """A folder that isn't there is the machine's business: exit 3, and nothing left behind."""
    said = logged("record", 3, "-o", tmp_path / "none" / "lid.html")
    assert said.code == 3
    assert "can't be written" in said.two_lines[0]
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize("command", ["record", "label"])
def test_a_part_that_is_not_there(logged: Layupwatch, tmp_path: Path, command: str) -> None:
    """Two lines, also for a number beyond any database's."""
    for number in (9, 10**30):
        said = logged(command, number, "-o", tmp_path / "x.html")
        assert said.code == 2
        assert said.two_lines[1]
    assert not (tmp_path / "x.html").exists()


def test_whose_it_is_comes_from_the_settings(logged: Layupwatch, tmp_path: Path) -> None:
    """Person, boat and place are written once in shop.toml and stand on every record."""
    settings = tmp_path / "shop" / "shop.toml"
    text = settings.read_text("utf-8")
    for line in ('person = "who does the work"', 'boat = "its name"'):
        assert f"# {line}" in text
        text = text.replace(f"# {line}", line)
    settings.write_text(text, encoding="utf-8")
    path = tmp_path / "lid.html"
    logged("record", 3, "-o", path)
    assert "who does the work" in path.read_text("utf-8")
    assert "its name" in path.read_text("utf-8")


def test_what_a_part_is_of(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """Given once with the part, shown with it, put right like every entry, printed."""
    layupwatch(
        "layup", "add", 3, "hatch lid", "--sheet", "demo-laminating", "--boat", "Petrel",
        "--laminate", "2 light cloth on 12 mm honeycomb", now=MIXED,
    )  # fmt: skip
    layupwatch("correct", "layup-1", "boat", "Tern", now=MIXED)
    shown = layupwatch("layup", "show", 3, now=MIXED).out
    assert "  boat: Tern" in shown.splitlines()
    assert layupwatch("layup", "show", 3, "--json", now=MIXED).json["laminate"].startswith("2 li")
    path = tmp_path / "lid.html"
    layupwatch("record", 3, "-o", path)
    text = path.read_text("utf-8")
    assert "12 mm honeycomb" in text
    assert "“Petrel”" in text


def test_a_label_in_lines(logged: Layupwatch) -> None:
    """Without a file it is told, to be copied onto the tape by hand."""
    lines = logged("label", 3, now=MIXED).out.splitlines()
    assert lines[0] == "3  hatch lid"
    assert lines[1] == "skin A, mixed 10:20 Sat 2 May 2026"
    assert "  recoat without sanding, not after 10:20 Mon 4 May 2026 (at the very latest)" in lines


def test_a_label_for_a_printer(logged: Layupwatch, tmp_path: Path) -> None:
    """For tape, or for plain paper; it says that its square opens on this machine only."""
    path = tmp_path / "label.html"
    said = logged("label", 3, "-o", path)
    assert "on this machine only" in said.out
    assert "size: 62mm" in path.read_text("utf-8")
    logged("label", 3, "-o", path, "--plain")
    assert "size: 62mm" not in path.read_text("utf-8")


def test_a_label_that_leads_somewhere(logged: Layupwatch, tmp_path: Path) -> None:
    """The address given, else the one in shop.toml, else this machine's own."""
    path = tmp_path / "label.html"
    said = logged("label", 3, "-o", path, "--address", "http://shed.local:8417")
    assert "on this machine only" not in said.out
    assert "http://shed.local:8417/layups/3" in path.read_text("utf-8")
    settings = tmp_path / "shop" / "shop.toml"
    settings.write_text(settings.read_text("utf-8") + 'address = "http://yard.local/"\n')
    assert logged("label", 3, "--json").json["address"] == "http://yard.local/layups/3"


def test_an_address_that_is_none(logged: Layupwatch) -> None:
    """What no browser opens is refused before anything is written."""
    said = logged("label", 3, "--address", "javascript:alert(1)")
    assert said.code == 2
    assert "no address" in said.two_lines[0]
