"""What is asked of a person once, and then remembered."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from monitor.config import FILE, open_shop
from monitor.errors import BadInput
from monitor.records import Flags, Sensor, SuspectKind
from monitor.sensing.line_reader import LineReader
from monitor.trust.asked import named_in, questions, settle
from monitor.trust.watch import look_over
from monitor.wires import Columns
from monitor.wires.written import with_columns
from tests.scenarios.shop import ShopAtHand

AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)


@dataclass
class Bench:
    """One sensor whose lines are read as the daemon would, by what is known by then."""

    shop: ShopAtHand
    now: datetime = AT

    @property
    def sensor(self) -> Sensor:
        return self.shop.store.book.sensor("bench")

    @property
    def columns(self) -> Columns | None:
        return open_shop(self.shop.shop.folder, create=False).wires.columns_of("bench")

    def say(self, *lines: str) -> list[Flags]:
        sensor = self.sensor
        reader = LineReader(unit=sensor.unit, columns=self.columns)
        heard = []
        for line in lines:
            self.now += timedelta(seconds=30)
            heard += reader.read(line, self.now)
        readings = [each.reading for each in heard if each.reading is not None]
        self.shop.store.readings.add(sensor.id, readings)
        look_over(self.shop.store, sensor, self.now)
        return [reading.flags for reading in readings]

    def asked(self) -> list[str]:
        return [one.about for one in questions(self.shop.store, self.sensor, self.now)]

    def answer(self, word: str) -> str:
        path = self.shop.shop.folder / FILE
        return settle(self.shop.store, path, self.columns, self.sensor, word, self.now)

    def last(self) -> tuple[float | None, float | None]:
        latest = self.shop.store.readings.latest(self.sensor.id)
        assert latest is not None
        return latest.temperature_c, latest.humidity_pct


@pytest.fixture
def bench(shop: ShopAtHand) -> Bench:
    shop.store.book.add_sensor("bench", "/dev/bench")
    return Bench(shop)


def test_degrees_are_asked_once(bench: Bench) -> None:
    """68 °C is no workplace; answered with f, it is 20 from then on, and nothing is asked."""
    assert bench.say("68.0 54", "68.1 54")[0]
    assert bench.asked() == ["degrees"]
    assert "°F" in bench.answer("f")
    assert bench.say("68.0 54", "68.0 54") == [Flags(), Flags()]
    assert bench.last() == (20.0, 54.0)
    assert bench.asked() == []
    assert [c.field for c in bench.shop.store.book.corrections()] == ["unit"]


def test_it_was_celsius_after_all(bench: Bench) -> None:
    """A hot tent is told, and stays told."""
    bench.say("50.0 54", "50.1 54")
    bench.answer("c")
    assert bench.say("50.0 54", "50.1 54") == [Flags(), Flags()]
    assert bench.asked() == []


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("63.0,20.4", ("2", "1")),
        ('{"t": 63.0, "h": 20.4}', ("h", "t")),
        ("T=63.0 H=20.4", ("H", "T")),
    ],
)
def test_swapped_columns_are_asked_once(bench: Bench, first: str, then: tuple[str, str]) -> None:
    """The line's own names are written into shop.toml the other way round."""
    bench.shop.store.book.correct("sensor-1", "unit", "c", AT)
    assert all(bench.say(first, first))
    assert bench.asked() == ["order"]
    bench.answer("swap")
    assert bench.columns is not None
    assert (bench.columns.temperature, bench.columns.humidity) == then
    assert bench.say(first, first) == [Flags(), Flags()]
    assert bench.last() == (20.4, 63.0)
    assert bench.asked() == []


def test_columns_that_are_right_as_they_stand(bench: Bench) -> None:
    """A kiln beside the part is believed, once somebody said so; it isn't asked again."""
    bench.shop.store.book.correct("sensor-1", "unit", "c", AT)
    bench.say("55.0,20.4", "55.0,20.4")
    bench.answer("as-is")
    assert bench.columns == Columns("bench", "1", "2")
    assert bench.say("55.0,20.4", "55.0,20.4") == [Flags(), Flags()]


@pytest.mark.parametrize(
    ("line", "word", "values"),
    [("214,560", "tenths", (21.4, 56.0)), ("2.14,5.60", "tens", (21.4, 56.0))],
)
def test_a_lost_decimal_point_is_asked_once(
    bench: Bench, line: str, word: str, values: tuple[float, float]
) -> None:
    """Twenty such lines raise it; the answer puts the point back from then on."""
    bench.shop.store.book.correct("sensor-1", "unit", "c", AT)
    bench.say(*[line] * 30)
    assert bench.asked() == ["scale"]
    bench.answer(word)
    bench.say(*[line] * 30)
    assert bench.last() == pytest.approx(values)
    assert bench.asked() == []
    (span,) = bench.shop.store.suspects.spans(bench.sensor.id)
    assert (span.kind, span.until is None) == (SuspectKind.SCALED, False)


def test_small_figures_that_are_right(bench: Bench) -> None:
    """A dry frost: counted as it was read."""
    bench.shop.store.book.correct("sensor-1", "unit", "c", AT)
    bench.say(*["2.1,5.6"] * 30)
    bench.answer("right")
    assert bench.asked() == []
    assert bench.columns is None


def test_nothing_is_asked_of_a_good_or_silent_sensor(bench: Bench) -> None:
    """Or of one that never spoke; an answer to nothing is refused."""
    assert bench.asked() == []
    bench.say("68.0 54", "68.0 54")
    bench.now += timedelta(days=2)
    assert bench.asked() == []
    with pytest.raises(BadInput, match="answers nothing"):
        bench.answer("f")


def test_nothing_is_asked_of_one_that_shop_toml_describes(bench: Bench) -> None:
    """An answer kept elsewhere would change nothing there."""
    bench.say("68.0 54", "68.0 54")
    bench.shop.store.book.correct("sensor-1", "port", "mqtt boat/air", AT)
    assert bench.asked() == []


@pytest.mark.parametrize(
    ("line", "names"),
    [
        ("21.4,56.0", ("1", "2")),
        ("2026-05-02 09:00:00,21.4,56.0", ("1", "2")),
        ("T=21.4 H=56.0", ("T", "H")),
        ('{"hum": 56.0, "temp": 21.4}', ("temp", "hum")),
        ("21.4,21.4", ("1", "2")),
        ("T=21.4", None),
        ("hello", None),
    ],
)
def test_a_line_says_its_own_names(line: str, names: tuple[str, str] | None) -> None:
    """Also where both values are the same figure."""
    assert named_in(line) == names


def test_shop_toml_stays_as_it_was_typed(tmp_path: Path) -> None:
    """Comments and other sections stay; a sensor's own section is changed, not doubled."""
    text = '# mine\ntime_zone = "UTC" # here\n\n[[columns]]\nsensor = "boat"\ntemperature = "a"\n'
    once = with_columns(text, Columns("bench", "2", "1"))
    assert once.startswith(text.rstrip("\n"))
    twice = with_columns(once, Columns("bench", "2", "1", times=0.1))
    assert twice.count("bench") == 1
    (tmp_path / FILE).write_text(twice, encoding="utf-8")
    assert open_shop(tmp_path, create=False).wires.columns == (
        Columns("boat", "a"),
        Columns("bench", "2", "1", times=0.1),
    )
    with_web = with_columns('time_zone = "UTC"\n\n[web]\nport = 8417\n', Columns("x", "t"))
    assert "[web]\nport = 8417\n" in with_web
    with pytest.raises(BadInput, match="can't be read"):
        with_columns("time_zone = ", Columns("x", "t"))
