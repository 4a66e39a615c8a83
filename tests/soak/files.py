"""Files that nobody meant, given to the commands that read them: refused in two lines, or taken.

`python -m tests.soak.files --times 1000`, so many of each kind: sheets, shop.toml, readings,
loggers' files, timed cups, backups. A file that is refused changes nothing in the shop.
"""

import argparse
import hashlib
import io
import os
import random
import shutil
import sqlite3
import sys
import tempfile
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import time_machine

from monitor.cli import main as layupwatch
from monitor.csvfile import write_readings
from monitor.logbook import parse_address
from monitor.records import MarkKind
from monitor.sheets import Shelf
from tests.loggers.test_logger_files import SHAPES
from tests.scenarios import series
from tests.scenarios.shop import ShopAtHand, open_demo_shop
from tests.soak.hostile import NUMBERS, spoilt
from tests.soak.hostile_requests import POISON
from tests.soak.weighing import held_mib

MIXED_AT = datetime(2026, 5, 2, 10, 20, tzinfo=UTC)
LATER = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
"""The day on which the commands are given: every file's own times are past."""
FRESH_EVERY = 100
"""What was taken in makes a shop larger; it begins anew after so many files."""
SHOWN = 12
ENCODINGS = ("utf-8-sig", "utf-16", "utf-16-le", "utf-32", "cp1252", "utf-7", "cp037")
BESIDE = ("layup list", "ready 1", "ready 3", "sensor list", "sheet list", "alert list")
CUPS = (
    "temperature_c,minutes,catalyst_pct,cup_g\n15,41,1.5,100\n20,25,1.5,100\n25,16,1.5,100\n"
    "30,11,1.5,100\n"
)


@dataclass
class Outcome:
    codes: Counter[tuple[str, int]] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    held_mib: list[float] = field(default_factory=list)

    def __str__(self) -> str:
        lines = []
        for kind in dict.fromkeys(kind for kind, _ in self.codes):
            each = {code: times for (of, code), times in self.codes.items() if of == kind}
            told = ", ".join(f"{code}: {each[code]}" for code in sorted(each))
            lines.append(f"{kind:10} {sum(each.values()):6}  {told}")
        held = f"Held: {self.held_mib[0]:.0f} MiB at a tenth, {self.held_mib[-1]:.0f} at the end."
        return "\n".join((*lines, held, f"Wrong: {len(self.wrong)}", *self.told()))

    def told(self) -> list[str]:
        """One of each sort of what is wrong, by its last line."""
        sorts = {
            each.partition("\n  b'")[0].strip().rpartition("\n")[2]: each for each in self.wrong
        }
        return list(sorts.values())[:SHOWN]


@dataclass(frozen=True)
class Said:
    code: int | str
    out: str
    err: str

    def wrong(self) -> str | None:
        """What no answer may be: a code of none of the kinds, a crash, a refusal without remedy."""
        if self.code not in (0, 1, 2, 3):
            return f"ended with {self.code}".strip()
        if "Traceback" in self.out + self.err:
            return "told what it is made of"
        if self.code in (2, 3) and (self.out or len(self.err.splitlines()) != 2):
            return f"refused in {len(self.err.splitlines())} lines, {len(self.out)} printed"
        if self.code in (2, 3) and not all(line.strip() for line in self.err.splitlines()):
            return "refused without a word"
        return None


def called(shop: Path, *arguments: str) -> Said:
    out, err = io.StringIO(), io.StringIO()
    code: int | str = "no code"
    with redirect_stdout(out), redirect_stderr(err):
        try:
            layupwatch(["--shop", str(shop), *arguments])
        except SystemExit as ended:
            code = ended.code if isinstance(ended.code, int) else repr(ended.code)
        except BaseException:  # noqa: BLE001 (whatever it is, it is told)
            code = traceback.format_exc(limit=-4)
    return Said(code, out.getvalue(), err.getvalue())


class Files:
    """Makes files of every kind and gives them to a shop of its own."""

    def __init__(self, folder: Path, seed: int) -> None:
        self._folder, self._dice = folder, random.Random(seed)
        self.outcome = Outcome()
        self._made, self._shop, self._empty = folder / "made", folder / "shop", folder / "empty"
        at_hand = open_demo_shop(self._made)
        _fill(at_hand)
        at_hand.store.close()
        shelf = Shelf(self._made, True)
        self._sheets = [shelf.text(stem).encode() for stem in shelf.stems()]
        self._settings = (self._made / "shop.toml").read_bytes() + SETTINGS.encode()
        self._readings = _csv(60)
        self._backup = folder / "backup.db"
        assert called(self._made, "backup", str(self._backup)).code == 0
        open_demo_shop(self._empty).store.close()
        self._file = folder / "file"

    def run(self, times: int) -> Outcome:
        """So many of each kind, in turn."""
        kinds: tuple[Callable[[], None], ...] = (
            *(self.sheet, self.settings, self.readings, self.logger, self.cups),
            *(self.backup, self.odd_backup),
        )
        with warnings.catch_warnings(), time_machine.travel(LATER, tick=False):
            warnings.simplefilter("error")
            for number in range(times):
                if number % FRESH_EVERY == 0:
                    self._begin_anew()
                for kind in kinds:
                    kind()
                if number == times // 10:
                    self.outcome.held_mib.append(held_mib(os.getpid()))
        self.outcome.held_mib.append(held_mib(os.getpid()))
        return self.outcome

    def sheet(self) -> None:
        """As a file to check, to count by, and on the shop's shelf."""
        path = self._folder / "odd.toml"
        path.write_bytes(self._text(self._dice.choice(self._sheets)))
        on_shelf = self._shop / "sheets" / "odd.toml"
        on_shelf.parent.mkdir(exist_ok=True)
        checked = self._call("sheet", "sheet", "check", str(path))
        self._file.write_bytes(self._readings)
        counted = self._call(
            *("sheet", "assess", str(self._file), "--sheet", str(path)),
            *("--mixed-at", "2026-05-02T10:20:00Z"),
        )
        if checked.code == 2 and counted.code == 0:
            self._wrong("sheet", "was refused and then counted by", path.read_bytes())
        shutil.copyfile(path, on_shelf)
        for words in ("sheet list", "sheet show odd", "mix odd --resin-g 200"):
            self._call("sheet", *words.split())
        on_shelf.unlink()

    def settings(self) -> None:
        """A shop.toml, asked for what stands in the book."""
        path = self._shop / "shop.toml"
        whole = path.read_bytes()
        path.write_bytes(self._text(self._settings))
        self._call("shop.toml", *self._dice.choice(BESIDE).split())
        path.write_bytes(whole)

    def readings(self) -> None:
        self._file.write_bytes(self._text(self._readings))
        self._call("readings", "import", str(self._file), "--sensor", "shed")
        self._call(
            *("readings", "assess", str(self._file), "--sheet", "demo-laminating"),
            *("--mixed-at", "2026-05-02T10:20:00Z"),
        )

    def logger(self) -> None:
        shape = SHAPES[self._dice.choice(sorted(SHAPES))].encode()
        self._file.write_bytes(self._text(shape))
        told = self._dice.choice(((), ("--dates", "dmy"), ("--unit", "f"), ("--clock-off", "60m")))
        self._call("logger", "import", str(self._file), "--sensor", "logger", *told)

    def cups(self) -> None:
        self._file.write_bytes(self._text(CUPS.encode()))
        self._call("cups", "sheet", "fit", "demo-laminating", "--cups", str(self._file))

    def backup(self) -> None:
        """Bytes of a backup spoilt, or cut off."""
        dice, whole = self._dice, bytearray(self._backup.read_bytes())
        for _ in range(dice.choice((1, 1, 3, 40))):
            # The first page says how the rest is laid out.
            end = dice.choice((100, 4096, len(whole)))
            at = dice.randrange(end)
            whole[at : at + 1] = dice.randbytes(1)
        if dice.random() < 0.3:
            del whole[dice.randrange(len(whole)) :]
        self._file.write_bytes(bytes(whole))
        self._check_and_restore("backup")

    def odd_backup(self) -> None:
        """A whole database that no version of ours has written: values, tables, triggers."""
        shutil.copyfile(self._backup, self._file)
        with closing(sqlite3.connect(self._file)) as database:
            database.execute("PRAGMA foreign_keys = OFF")
            for _ in range(self._dice.choice((1, 1, 2))):
                try:
                    database.execute(*self._change(database))
                except sqlite3.Error:
                    # The table's own rules refuse it.
                    continue
            database.commit()
        self._check_and_restore("odd backup")

    def _change(self, database: sqlite3.Connection) -> tuple[str, tuple[object, ...]]:
        dice = self._dice
        tables = [
            name
            for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type='table'")
        ]
        table = dice.choice(tables)
        columns = [row[1] for row in database.execute(f"PRAGMA table_info('{table}')")]
        column = dice.choice(columns or ["x"])
        if dice.random() < 0.75:
            value = dice.choice((None, -1, 2**62, 1e300, -1e-300, b"\x00\xff", dice.choice(POISON)))
            return f'UPDATE "{table}" SET "{column}" = ?', (value,)  # noqa: S608 (our own names)
        return dice.choice(
            (
                (f'DROP TABLE "{table}"', ()),
                (f'ALTER TABLE "{table}" DROP COLUMN "{column}"', ()),
                (f'ALTER TABLE "{table}" ADD COLUMN more TEXT', ()),
                (f'DELETE FROM "{table}"', ()),  # noqa: S608 (our own names)
                (TRIGGER.format(table), ()),
                ("CREATE VIEW more AS SELECT * FROM nothing_there", ()),
                ("UPDATE alembic_version SET version_num = ?", (dice.choice(POISON),)),
            )
        )

    def _check_and_restore(self, kind: str) -> None:
        self._call(kind, "check", str(self._file))
        target = self._folder / "target"
        shutil.copytree(self._empty, target)
        before = _contents(target)
        restored = self._call(kind, "restore", str(self._file), shop=target)
        if restored.code == 0:
            for words in (*BESIDE, "export readings --csv --sensor shed", "layup show 3"):
                self._call(kind, *words.split(), shop=target)
        elif _contents(target) != before:
            self._wrong(kind, "was refused and changed the shop", b"")
        shutil.rmtree(target)

    def _text(self, whole: bytes) -> bytes:
        """A text spoilt: any bytes, odd words in the place of its own, odd encodings, sizes."""
        dice = self._dice
        lines = whole.decode().splitlines()
        way = dice.randrange(10)
        if way < 3:
            return spoilt(dice, whole)
        if way < 6:
            for _ in range(dice.choice((1, 1, 2, 5))):
                number = dice.randrange(len(lines))
                parts = lines[number].replace("=", "= ").replace(",", " , ").split(" ")
                parts[dice.randrange(len(parts))] = dice.choice((*POISON, *NUMBERS, *TOML))
                lines[number] = " ".join(parts)
        elif way == 6:
            return whole.decode().encode(dice.choice(ENCODINGS), errors="replace")
        elif way == 7:
            dice.shuffle(lines)
            lines *= dice.choice((1, 2))
        elif way == 8:
            lines.insert(dice.randrange(len(lines) + 1), dice.choice(LARGE)())
        else:
            ending = dice.choice(("\r", "\r\n", "\x00", "\x85", "\u2028", "\x0b", ""))
            return ending.join(lines).encode()
        return "\n".join(lines).encode("utf-8", "surrogatepass")

    def _begin_anew(self) -> None:
        if self._shop.exists():
            shutil.rmtree(self._shop)
        shutil.copytree(self._made, self._shop)
        self._before = _contents(self._shop)

    def _call(self, kind: str, *arguments: str, shop: Path | None = None) -> Said:
        said = called(shop or self._shop, *arguments)
        code = said.code if isinstance(said.code, int) else -1
        self.outcome.codes[kind, code] += 1
        trouble = said.wrong()
        if trouble is not None:
            self._wrong(kind, f"{' '.join(arguments)}: {said.err[:600]}\n{trouble}", b"")
        if shop is None:
            after = _contents(self._shop)
            if code and after != self._before:
                self._wrong(kind, f"{' '.join(arguments)} was refused and changed the shop", b"")
            self._before = after
        return said

    def _wrong(self, kind: str, what: str, data: bytes) -> None:
        if not data and self._file.exists():
            data = self._file.read_bytes()
        self.outcome.wrong.append(f"{kind}: {what}\n  {data[:200]!r}")


NOT_COMPARED = ("layupwatch.db", "watch-held-by", "shop.toml", "sheets/odd.toml")
SETTINGS = """
[alerts]
night = ["22:00", "06:00"]
command = ["/bin/true", "kitchen"]
webhook = "https://example.org/ring"
[backup]
nightly = true
keep = 7
[keep]
raw_days = 365
[[columns]]
sensor = "shed"
temperature = "2"
humidity = "1"
times = 0.1
"""
TRIGGER = 'CREATE TRIGGER t AFTER INSERT ON "{}" BEGIN DELETE FROM layups; END'
TOML = (
    *(
        "[a]",
        "[[a]]",
        "{a = 1}",
        "[1, 2]",
        "[[1], [2]]",
        "1979-05-27T07:32:00Z",
        "07:32:00",
        "0o17",
    ),
    *('"""', "'''", '"\\u0000"', "=", "#", "[", "]", "a.b.c", '"" = 1', "true", "+nan", "1__0"),
)
LARGE: tuple[Callable[[], str], ...] = (
    lambda: "x" * 1_000_000,
    lambda: "x = " + "[" * 20_000,
    lambda: "x = " + "[" * 3_000 + "]" * 3_000,
    lambda: "x = " + "{a = " * 2_000 + "1" + "}" * 2_000,
    lambda: ".".join("a" * 3_000) + " = 1",
    lambda: "[" + ".".join("b" * 3_000) + "]",
    lambda: "x = " + "9" * 20_000,
    lambda: 'x = "' + "\\u0041" * 50_000 + '"',
    lambda: ",".join("1" * 50_000),
    lambda: '"' + "a,\n" * 20_000,
    lambda: "\n" * 200_000,
    lambda: ";" * 100_000,
)


def _fill(shop: ShopAtHand) -> None:
    """Two parts beside two sensors, some readings, a mark and an alert: of most things a few."""
    some = series("A1").between(0, (MIXED_AT + timedelta(hours=1)).timestamp())
    for sensor in ("shed", "bow"):
        shop.hear(sensor, some)
    for number, sensor in ((1, "shed"), (3, "bow")):
        shop.lay_up(number, "P1", MIXED_AT)
        shop.put(str(number), sensor, MIXED_AT, now=LATER)
    kicked_at = MIXED_AT + timedelta(minutes=47)
    shop.book.add_mark(parse_address("3"), MarkKind.KICKED, at=kicked_at, note=None, now=LATER)
    shop.store.alerts.raise_alert("dew", "bow", kicked_at, kicked_at, (3,), "Dew.", "Tent it.")


def _csv(rows: int) -> bytes:
    out = io.StringIO()
    write_readings(series("A1"), out)
    return "\n".join(out.getvalue().splitlines()[: rows + 1]).encode()


def _contents(shop: Path) -> str:
    """What a shop holds: every row of its database, and every file beside it."""
    told = hashlib.sha256()
    for path in sorted(shop.rglob("*")):
        name = str(path.relative_to(shop))
        # The database is looked into below; a lock holds nothing; the rest is put there from here.
        if path.is_file() and not name.startswith(NOT_COMPARED):
            told.update(name.encode() + path.read_bytes())
    for row in _rows(shop / "layupwatch.db"):
        told.update(repr(row).encode())
    return told.hexdigest()


def _rows(path: Path) -> Iterator[object]:
    with closing(sqlite3.connect(path)) as database:
        names = database.execute("SELECT name FROM sqlite_master WHERE type='table' ORDER BY name")
        for (name,) in names.fetchall():
            yield name
            yield from database.execute(f'SELECT * FROM "{name}"')  # noqa: S608 (our own names)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--times", type=int, default=1_000)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        outcome = Files(Path(folder), given.seed).run(given.times)
    print(outcome)
    sys.exit(bool(outcome.wrong))


if __name__ == "__main__":
    main()
