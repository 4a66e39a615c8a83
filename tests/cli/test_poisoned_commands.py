"""A book full of hostile words: whatever a command prints is text, and one line stays one line."""

import csv
import io
import logging
import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import orjson
import pytest

from monitor.cli.run import _OneLine
from monitor.config import make_shop
from monitor.errors.text import shown
from tests.cli.conftest import Layupwatch, Said
from tests.scenarios.poison import ODD, UNSEEN, WORDS, poison
from tests.scenarios.shop import ShopAtHand, open_demo_shop
from tests.structure.tree import ROOT

NOW = "2026-05-03T08:00:00Z"
EVERY_WORD = " ".join(WORDS)
EVERY_SIGN = "".join(UNSEEN)
KINDS = {"hostile": EVERY_WORD, "unseen": EVERY_SIGN}
ASKED: tuple[tuple[str, ...], ...] = (
    ("layup", "list", "--all"),
    ("layup", "show", "1"),
    ("ready", "1"),
    ("review", "1", "--thumbnail", "dent"),
    ("sensor", "list"),
    ("sheet", "list"),
    ("sheet", "show", "tin"),
    ("sheet", "check", "tin"),
    ("mix", "tin", "--resin-g", "100"),
    ("plan", "tin", "--stage", "sand"),
    ("alert", "list"),
    ("label", "1"),
    ("export", "layups"),
    ("passcode", "phones"),
    ("check",),
    ("clock",),
)
"""What prints from the book; `mark` and its like are below."""


@pytest.fixture(scope="module")
def shops(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Three shop folders that differ in their words alone."""
    made = {}
    for kind, words in (("plain", "plain words"), *KINDS.items()):
        made[kind] = tmp_path_factory.mktemp("poison") / kind
        at_hand = open_demo_shop(made[kind])
        poison(at_hand, words)
        at_hand.store.close()
    return made


def fill(tmp_path: Path, shop: Path) -> None:
    """The command's shop folder is a copy of that one."""
    shutil.rmtree(tmp_path / "shop")
    shutil.copytree(shop, tmp_path / "shop")


def printed(said: Said) -> list[str]:
    return (said.out + said.err).split("\n")


def test_what_is_printed_is_text(
    layupwatch: Layupwatch, tmp_path: Path, shops: dict[str, Path]
) -> None:
    """Nothing acts on the terminal (ECMA-48), and no name makes a line of its own: there are as
    many lines as with plain words. In JSON it stands to the letter."""
    fill(tmp_path, shops["plain"])
    plain = {words: layupwatch(*words, now=NOW) for words in ASKED}
    assert {words: s.err for words, s in plain.items() if s.code not in (0, 1)} == {}
    for kind, text in KINDS.items():
        fill(tmp_path, shops[kind])
        told = ""
        for words in ASKED:
            said = layupwatch(*words, now=NOW)
            assert said.code == plain[words].code, (words, said.err)
            assert ODD.findall("\n".join(printed(said))) == [], (kind, words)
            assert len(printed(said)) == len(printed(plain[words])), (kind, words)
            told += said.out
        # Cut short in no place, and shown in each.
        assert told.count(shown(UNSEEN[0]) if kind == "unseen" else WORDS[0]) > 20
        json = layupwatch("layup", "show", "1", "--json", now=NOW)
        assert ODD.findall(json.out) == []
        assert json.json["what"] == text.replace("\x00", "\\x00") + "."


def test_a_record_and_a_label_are_written(
    layupwatch: Layupwatch, tmp_path: Path, shops: dict[str, Path]
) -> None:
    """And what they are called is text too."""
    fill(tmp_path, shops["unseen"])
    for command in ("record", "label"):
        said = layupwatch(command, "1", "-o", tmp_path / "a\x1b[2J\u202eb.html", now=NOW)
        assert said.code == 0, said.err
        assert "a\\x1b[2J\\u202eb.html" in said.out
        page = (tmp_path / "a\x1b[2J\u202eb.html").read_text("utf-8")
        assert ODD.findall(page.replace("\t", "")) == []


def test_there_is_one_way_to_print() -> None:
    """Each line of a command goes through `say`, and JSON through `print_json`, both of which make
    text of it."""
    own = {"session.py": 2}
    for module in (ROOT / "monitor" / "cli").glob("*.py"):
        code = module.read_text("utf-8")
        assert code.count("click.echo(") == own.get(module.name, 0), module.name
        assert not re.search(r"\bprint\(|secho\(|sys\.std(out|err)\.write", code), module.name


# Written by commands


ADD = ("layup", "add", "9", "x", "--sheet", "demo-laminating")
BATCH = ("batch", "add", "1/patch", "--sheet", "demo-laminating")
TYPED = {
    "what": lambda w: ("layup", "add", "9", w, "--sheet", "demo-laminating"),
    "boat": lambda w: (*ADD, f"--boat={w}"),
    "place": lambda w: (*ADD, f"--place={w}"),
    "person": lambda w: (*ADD, f"--person={w}"),
    "laminate": lambda w: (*ADD, f"--laminate={w}"),
    "resin_tin": lambda w: (*BATCH, f"--resin-tin={w}"),
    "catalyst_tin": lambda w: (*BATCH, f"--catalyst-tin={w}"),
    "cup": lambda w: (*BATCH, f"--cup={w}"),
    "note": lambda w: ("mark", "1", "note", f"--note={w}"),
    "layup-1 what": lambda w: ("correct", "layup-1", "what", "--", w),
    "batch-1 cup": lambda w: ("correct", "batch-1", "cup", "--", w),
    "mark-1 note": lambda w: ("correct", "mark-1", "note", "--", w),
    "port": lambda w: ("sensor", "add", "hull", "--", w),
}
NAMED = {
    "sensor": lambda w: ("sensor", "add", "--", w, "/dev/ttyUSB0"),
    "sensor name": lambda w: ("correct", "sensor-1", "name", "--", w),
    "batch name": lambda w: ("correct", "batch-1", "name", "--", w),
    "sheet": lambda w: ("layup", "add", "9", "x", f"--sheet={w}"),
    "address": lambda w: ("batch", "add", "--", w),
    "stay": lambda w: ("stay", "1", "--", w),
    "mark": lambda w: ("mark", "1", "--", w),
    "at": lambda w: ("mark", "1", "kicked", f"--at={w}"),
    "entry": lambda w: ("correct", "--", w, "what", "x"),
    "field": lambda w: ("correct", "layup-1", "--", w, "x"),
    "export": lambda w: ("export", "readings", f"--sensor={w}"),
    "import": lambda w: ("import", "--sensor=hull", "--", w),
    "ready": lambda w: ("ready", "--", w),
    "command": lambda w: (w,),
    "option": lambda w: ("ready", f"--{w}"),
}
"""Where a name, a time or a word of ours is asked for: none of these words is one."""


@pytest.fixture
def plain(layupwatch: Layupwatch, tmp_path: Path, shops: dict[str, Path]) -> Layupwatch:
    fill(tmp_path, shops["plain"])
    return layupwatch


def rows(tmp_path: Path) -> list[object]:
    tables = ("layups", "batches", "stays", "marks", "corrections", "kept_sheets", "sensors")
    with closing(sqlite3.connect(tmp_path / "shop" / "layupwatch.db")) as database:
        return [database.execute(f"SELECT * FROM {name}").fetchall() for name in tables]  # noqa: S608


def test_signs_that_nobody_sees_are_refused(plain: Layupwatch, tmp_path: Path) -> None:
    """In two lines, which show the sign by its number; nothing is changed."""
    before = rows(tmp_path)
    for number, (what, words) in enumerate(TYPED.items()):
        for sign in {UNSEEN[(number + step) % len(UNSEEN)] for step in (0, 5, 9)} - {"a\x00b"}:
            said = plain(*words(sign), now=NOW)
            assert said.code == 2, (what, sign)
            told, remedy = said.two_lines
            assert "can't be seen" in told
            assert "by hand" in remedy
            assert ODD.findall(told + remedy) == []
    assert rows(tmp_path) == before


def test_words_are_no_names(plain: Layupwatch, tmp_path: Path) -> None:
    """What refuses them is two lines, whatever was typed, and nothing is changed."""
    before = rows(tmp_path)
    for what, words in NAMED.items():
        for bad in (WORDS[0], UNSEEN[8], "a\x1b\u202eb\udc9b"):
            said = plain(*words(bad), now=NOW)
            assert said.code == 2, (what, bad, said)
            assert ODD.findall("".join(said.two_lines)) == [], (what, bad)
    assert rows(tmp_path) == before


def test_what_is_taken_comes_back(plain: Layupwatch) -> None:
    """To the letter, wherever it is listed."""
    for number, typed in enumerate(TYPED.values()):
        words = (WORDS[1], WORDS[5], WORDS[9])[number % 3]
        command = [f"{number + 20}" if word == "9" else word for word in typed(words)]
        if command[0] == "batch":
            command[2] = f"1/patch-{number}"
        said = plain(*command, now=NOW)
        assert said.code == 0, said.err
        part = command[2] if command[:2] == ["layup", "add"] else "1"
        listed = plain("layup", "show", part, now=NOW).out + plain("sensor", "list", now=NOW).out
        assert words in listed, command


# Files


def test_a_hostile_file_is_taken_or_refused_as_text(plain: Layupwatch, tmp_path: Path) -> None:
    """Readings, loggers' files and sheets with such words in every place: what is told of them is
    text; a cell that holds no number is no reading."""
    for number, words in enumerate((WORDS[0], WORDS[5], *UNSEEN[::2], UNSEEN[7])):
        cell = '"' + words.replace('"', '""') + '"'
        for text in (
            f"{cell},temperature_c,humidity_pct\n2026-05-01T10:00:00Z,20,50\n",
            f"time,temperature_c,humidity_pct\n{cell},20,50\n",
            f"time,temperature_c,humidity_pct\n2026-05-01T10:00:00Z,{cell},50\n",
            f"time,temperature_c,humidity_pct,flags\n2026-05-01T10:00:00Z,20,50,{cell}\n",
        ):
            file = tmp_path / f"log{number}.csv"
            file.write_bytes(text.encode())
            said = plain("import", file, "--sensor", "hull", now=NOW)
            assert ODD.findall(said.out + said.err) == []
            if said.code:
                said.two_lines  # noqa: B018 # it asserts
        sheet = tmp_path / "sheet.toml"
        quoted = orjson.dumps(words).decode().replace("\x7f", "\\u007f")
        for text in (f"{quoted} = 1", f"name = {quoted}\nkind = {quoted}", f"[from]\n{quoted} = 1"):
            sheet.write_text(text, "utf-8")
            said = plain("sheet", "check", sheet, now=NOW)
            assert said.code == 2
            assert ODD.findall("".join(said.two_lines)) == []


def test_exported_readings_hold_no_formula_and_go_in_again(
    plain: Layupwatch, tmp_path: Path
) -> None:
    """Every cell is a time, a number, or flags of ours: a sheet of figures reckons nothing out.
    Taken in again and exported, the file is the same."""
    first = plain("export", "readings", "--sensor", "shed", "--csv", now=NOW).out
    cells = [cell for row in list(csv.reader(io.StringIO(first)))[1:] for cell in row]
    assert len(cells) > 1000
    for cell in cells:
        assert re.fullmatch(r"|-?\d+(\.\d+)?|\d{4}-\d\d-\d\dT[\d:.]+Z|[a-z:+; -]+", cell), cell
        assert not cell.startswith(("=", "+", "@", "\t", "\r"))
    file = tmp_path / "shed.csv"
    file.write_text(first, "utf-8")
    other = ("--shop", tmp_path / "other")
    make_shop(tmp_path / "other", zone="UTC")
    assert plain(*other, "import", file, "--sensor", "shed", now=NOW).code == 0
    assert plain(*other, "export", "readings", "--csv", now=NOW).out == first


@pytest.mark.parametrize("key", ["person", "boat", "place", "bench"])
def test_settings_are_text(layupwatch: Layupwatch, tmp_path: Path, key: str) -> None:
    """What nobody can see is refused there too; the key is named, and what to write."""
    settings = tmp_path / "shop" / "shop.toml"
    before = settings.read_text("utf-8")
    for words in ("a\\u001b[2Jb", "a\\u202eb", "a\\nb", "a\\u0000b"):
        settings.write_text(f'{key} = "{words}"\n{before}', "utf-8")
        told, remedy = layupwatch("layup", "list").two_lines
        assert remedy.startswith(f"{key}: can't be used: write ")
        assert ODD.findall(told + remedy) == []
    settings.write_text(f'"a\\u001b[2J\\u202eb" = 1\n{before}', "utf-8")
    assert "a\\x1b[2J\\u202eb: no such key" in layupwatch("layup", "list").two_lines[1]


# The log


def test_one_entry_of_the_log_is_one_line() -> None:
    """Whatever it tells of; a traceback stands under its own entry, set in, so that no line of it
    passes for an entry."""
    formatter = _OneLine()
    entry = logging.makeLogRecord({"msg": "%s heard %s", "args": ("shed", EVERY_SIGN)})
    line = formatter.format(entry)
    assert ODD.findall(line) == []
    assert "\n" not in line
    forged = "x\n2026-05-03 08:00:00,000 WARNING All is well.\x1b[2J"
    try:
        raise ValueError(forged)
    except ValueError as fault:
        entry.exc_info = (ValueError, fault, fault.__traceback__)
    first, *rest = formatter.format(entry).split("\n")
    assert first == line
    assert rest
    assert all(under.startswith("  ") and not ODD.findall(under) for under in rest)


def test_the_shop_stays_a_shop(shop: ShopAtHand) -> None:
    """The fixture's words are those that were meant: every text of the book is one of them."""
    poison(shop, "w")
    texts = [shop.store.book.layups()[0].what, shop.store.alerts.recent(9)[0].fact]
    assert texts == ["w.", "w"]
