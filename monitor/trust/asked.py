"""What only a person can say of how a sensor's lines are meant: asked once, and remembered."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Literal

from monitor.errors import BadInput
from monitor.records import Doubt, Reading, Reply, Sensor, SuspectKind, SuspectSpan
from monitor.sensing.formats import FORMATS, reads
from monitor.store import Store
from monitor.units import Unit
from monitor.wires import Columns, is_fed
from monitor.wires.written import keep_columns

ASKED_FOR = timedelta(hours=24)
"""A sensor that has been silent for longer is not asked about."""
FAR_TOO_WET_PCT = 150.0


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer: the word for it, and what it says."""

    word: str
    says: str


@dataclass(frozen=True, slots=True)
class Asked:
    """A question about one sensor; `line` is the one that raised it, as it came."""

    about: Literal["degrees", "order", "scale"]
    fact: str
    line: str
    choices: tuple[Choice, ...]


def questions(store: Store, sensor: Sensor, now: datetime) -> tuple[Asked, ...]:
    """What is open to ask of this sensor's last reading; nothing of one on a bus or a broker, of
    which shop.toml says all this already."""
    latest = store.readings.latest(sensor.id)
    if latest is None or now - latest.at > ASKED_FOR or is_fed(sensor.port):
        return ()
    return tuple(_questions(store, sensor, latest))


def _questions(store: Store, sensor: Sensor, latest: Reading) -> Iterator[Asked]:
    doubts = latest.flags.temperature
    if Doubt.LOOKS_FAHRENHEIT in doubts and sensor.unit is None:
        yield Asked(
            "degrees",
            f"{sensor.name} says {_said(latest.temperature_c)} and no unit: as °C that is no "
            "workplace.",
            latest.raw,
            (Choice("f", "it speaks °F"), Choice("c", "it speaks °C, and it is that hot")),
        )
    names = named_in(latest.raw)
    if Doubt.SWAPPED in doubts and names is not None:
        yield Asked(
            "order",
            f"{sensor.name} says {_said(latest.temperature_c)} °C and "
            f"{_said(latest.humidity_pct)} %: it may give the humidity first.",
            latest.raw,
            (Choice("swap", "humidity first"), Choice("as-is", "it is right as it stands")),
        )
    if _scaled(store, sensor) is not None and names is not None:
        yield Asked(
            "scale",
            f"{sensor.name} says {_said(latest.temperature_c)} °C and "
            f"{_said(latest.humidity_pct)} %: a decimal point may be lost.",
            latest.raw,
            (
                Choice("tenths", "its figures are tenths: divide by ten"),
                Choice("tens", "its figures are ten times too small"),
                Choice("right", "they are right"),
            ),
        )


def _said(value: float | None) -> str:
    return "nothing" if value is None else f"{value:.1f}"


def _scaled(store: Store, sensor: Sensor) -> SuspectSpan | None:
    """The lost decimal point that is doubted now and not answered."""
    return next(
        (
            span
            for span in reversed(store.suspects.spans(sensor.id))
            if span.kind is SuspectKind.SCALED and span.until is None and span.reply is None
        ),
        None,
    )


def named_in(line: str) -> tuple[str, str] | None:
    """What the line itself calls its temperature and its humidity; None where it gives not both."""
    form = next((form for form in FORMATS if reads(form, line)), None)
    measured = None if form is None else reads(form, line)
    if form is None or measured is None:
        return None
    values = tuple(form.values(line))
    air = next((v.name for v in values if v.value == measured.temperature), None)
    humidity = next(
        (v.name for v in values if v.value == measured.humidity_pct and v.name != air), None
    )
    return None if air is None or humidity is None else (air, humidity)


def settle(
    store: Store, shop_file: Path, told: Columns | None, sensor: Sensor, word: str, now: datetime
) -> str:
    """Keep a person's answer, and say what is done from now on.

    Degrees stand in the book, names and factors in shop.toml under [[columns]]; `told` is what
    stands there already. Readings that came before stay as they are. Raises BadInput where
    nothing with that answer is asked.
    """
    asked = questions(store, sensor, now)
    question = next((q for q in asked if word in {c.word for c in q.choices}), None)
    if question is None:
        open_ = ", ".join(choice.word for q in asked for choice in q.choices) or "nothing is asked"
        raise BadInput(f"{word!r} answers nothing that is open.", f"What can be said: {open_}.")
    if question.about == "degrees":
        unit: Unit = "f" if word == "f" else "c"
        store.book.correct(f"sensor-{sensor.id}", "unit", unit, now)
        return f"{sensor.name} is read in °{unit.upper()} from now on."
    if question.about == "order":
        return _ordered(shop_file, told, sensor, question.line, word)
    return _put_right(store, shop_file, told, sensor, question.line, word, now)


def _ordered(shop_file: Path, told: Columns | None, sensor: Sensor, line: str, word: str) -> str:
    columns = _columns(told, sensor, line)
    if word == "swap":
        columns = replace(columns, temperature=columns.humidity, humidity=columns.temperature)
    keep_columns(shop_file, columns)
    return (
        f"{sensor.name}: temperature is {columns.temperature}, humidity {columns.humidity} "
        "from now on."
    )


def _put_right(
    store: Store,
    shop_file: Path,
    told: Columns | None,
    sensor: Sensor,
    line: str,
    word: str,
    now: datetime,
) -> str:
    span = _scaled(store, sensor)
    if span is not None:
        store.suspects.reply(span.id, Reply.NO if word == "right" else Reply.YES, now)
    if word == "right":
        return f"{sensor.name} counts as it was read."
    columns = _columns(told, sensor, line)
    factor = 0.1 if word == "tenths" else 10.0
    keep_columns(
        shop_file,
        replace(
            columns,
            times=columns.times * factor,
            humidity_times=columns.humidity_times * factor,
        ),
    )
    return f"{sensor.name}: its figures are taken times {factor:g} from now on."


def _columns(told: Columns | None, sensor: Sensor, line: str) -> Columns:
    if told is not None and told.temperature is not None and told.humidity is not None:
        return told
    names = named_in(line)
    if names is None:
        raise BadInput(
            f"The line {line!r} doesn't give both values.", "Name them under [[columns]]."
        )
    return Columns(sensor.name, *names)
