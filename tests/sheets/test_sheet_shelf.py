"""The shelf: the shop's own sheets and the made-up ones, and what each may judge."""

import os
from importlib.resources import files
from pathlib import Path

import pytest

from monitor.errors import BadInput, HostError, SheetError
from monitor.sheets.shelf import DEMO_STEMS, Shelf

OWN = 'name = "green tin"\nkind = "polyester"\n'


def test_the_shipped_sheets_are_all_listed() -> None:
    """The names in the code are the files in the package."""
    shipped = (files("monitor.sheets") / "demo").iterdir()
    assert tuple(sorted(p.name.removesuffix(".toml") for p in shipped)) == DEMO_STEMS


def test_a_demo_sheet_judges_only_a_demo_shop(tmp_path: Path) -> None:
    """A real shop may look at a demo sheet and not judge by it; the two lines say what to do."""
    real, demo = Shelf(tmp_path, demo_shop=False), Shelf(tmp_path, demo_shop=True)
    assert demo.load("demo-epoxy") == real.look("demo-epoxy")
    with pytest.raises(BadInput, match="demo sheet") as caught:
        real.load("demo-epoxy")
    assert "layupwatch sheet new" in caught.value.remedy
    assert real.for_judging() == ()
    assert demo.for_judging() == DEMO_STEMS


def test_a_copy_that_still_says_demo_is_refused_too(tmp_path: Path) -> None:
    """What counts is the sheet's own mark, not where it lies."""
    shelf = Shelf(tmp_path, demo_shop=False)
    shelf.add("mine", shelf.text("demo-laminating"))
    with pytest.raises(BadInput, match="demo sheet"):
        shelf.load("mine")


def test_own_sheets_come_from_the_shop(tmp_path: Path) -> None:
    """A sheet put on the shelf is listed, read back to the letter, and judges."""
    shelf = Shelf(tmp_path, demo_shop=False)
    path = shelf.add("green-tin", OWN)
    assert path == tmp_path / "sheets" / "green-tin.toml"
    assert shelf.stems() == (*DEMO_STEMS, "green-tin")
    assert shelf.for_judging() == ("green-tin",)
    assert shelf.text("green-tin") == OWN
    assert shelf.load("green-tin").name == "green tin"


def test_the_shops_own_stands_before_a_shipped_one(tmp_path: Path) -> None:
    """A file of the shop's own hides the shipped one of the same name."""
    shelf = Shelf(tmp_path, demo_shop=False)
    shelf.add("demo-epoxy", OWN)
    assert shelf.load("demo-epoxy").name == "green tin"
    assert shelf.stems() == DEMO_STEMS


@pytest.mark.parametrize("stem", ["demo-epoxi", "../demo-epoxy", "", "/etc/passwd", "a\0b"])
def test_an_unknown_name_lists_those_there_are(tmp_path: Path, stem: str) -> None:
    """A name that isn't on the shelf, or tries to leave it, is answered with those that are."""
    with pytest.raises(BadInput) as caught:
        Shelf(tmp_path, demo_shop=True).load(stem)
    assert all(name in caught.value.remedy for name in DEMO_STEMS)


def test_nothing_is_written_over(tmp_path: Path) -> None:
    """A taken name is refused and the file stays as it was."""
    shelf = Shelf(tmp_path, demo_shop=False)
    shelf.add("tin", OWN)
    with pytest.raises(BadInput, match="already"):
        shelf.add("tin", "other")
    assert shelf.text("tin") == OWN


@pytest.mark.parametrize("stem", ["../out", "", ".hidden", "a/b", "a b"])
def test_a_name_that_is_no_file_name_is_refused(tmp_path: Path, stem: str) -> None:
    """A new sheet can't be written outside the shelf."""
    with pytest.raises(BadInput, match="can't be a sheet's name"):
        Shelf(tmp_path, demo_shop=False).add(stem, OWN)


def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    """The machine standing in the way is said as such."""
    (tmp_path / "file").write_text("")
    with pytest.raises(HostError, match="can't be written"):
        Shelf(tmp_path / "file", demo_shop=False).add("tin", OWN)


def test_a_broken_sheet_names_its_file(tmp_path: Path) -> None:
    """The error of one sheet says which it was, and the others still read."""
    shelf = Shelf(tmp_path, demo_shop=False)
    shelf.add("broken", "name = \n")
    with pytest.raises(SheetError, match=r"broken\.toml"):
        shelf.load("broken")
    assert shelf.look("demo-gel-coat").demo


def test_a_file_that_nobody_can_call_is_no_sheet(tmp_path: Path) -> None:
    """Signs that can't be seen or typed, and bytes that are no UTF-8, in a file's name."""
    shelf = Shelf(tmp_path, demo_shop=True)
    shelf.add("mine", OWN)
    names = (b"a\x1b[2Jb", b"a\xffb", "a\u202eb".encode(), b"a\nb", "grüne-dose".encode())
    for name in names:
        (tmp_path / "sheets" / os.fsdecode(name + b".toml")).write_text(OWN)
    assert shelf.for_judging() == (*DEMO_STEMS, "grüne-dose", "mine")


def test_words_of_a_sheet_are_read_on_one_line(tmp_path: Path) -> None:
    """As the file has them on several, or with what nobody can see in them."""
    shelf = Shelf(tmp_path, demo_shop=True)
    shelf.add("mine", 'name = """green\n  tin\\u001b[2J"""\nkind = "polyester"\nsource = "a\\tb"\n')
    sheet = shelf.look("mine")
    assert (sheet.name, sheet.source) == ("green tin\\x1b[2J", "a b")
