"""The page of sensors: how each is doing, the lines as they came, and where it should lie."""

from dataclasses import dataclass
from datetime import datetime

from starlette.responses import Response
from starlette.routing import Route

from dashboards.office import Asked, Office, back_to
from monitor.alerts.doubted import asks, said_of
from monitor.config import FILE, open_shop
from monitor.errors import BadInput
from monitor.records import Doubt, Reading, Reply, Sensor, Stay, SuspectKind, SuspectSpan
from monitor.times import length_said, said
from monitor.trust.asked import Asked as AskedOfLines
from monitor.trust.asked import questions, settle
from monitor.trust.jar import age_of
from monitor.units import temperature_said

QUIET_S = 15 * 60.0
LINES = 5

DOUBTS = {
    Doubt.FAULT_CODE: "a fault code, no value",
    Doubt.OUT_OF_RANGE: "can't be true",
    Doubt.SPIKE: "a spike",
    Doubt.FROZEN: "the same for hours",
    Doubt.LOOKS_FAHRENHEIT: "looks like °F",
    Doubt.SWAPPED: "looks swapped",
    Doubt.SUNNED: "in the sun or a heater's stream",
    Doubt.STUCK_WET: "stuck wet",
    Doubt.BY_HAND: "doubted by hand",
    Doubt.CLOCK: "its time is in doubt",
    Doubt.SAME_STREAM: "the same as another sensor's",
    Doubt.SCALED: "ten times too big or too small",
}
"""What is doubted of a value, in words."""

PLACING = (
    "Within a hand's breadth of the part, at its height, in the same shade, on the same side of "
    "the plastic.",
    "Not on the resin, not in a heater's stream, not in a closed box, not on a warm case.",
    "A card or foil above it, open below. Tie it down: it will be knocked.",
    "Under open sky the part runs 2 to 5 °C colder than the air at night: cover the part, and put "
    "a probe on it.",
    "Bonding to a hull: a second probe on the hull, under tape and a square of foam, not touching "
    "the wet.",
    "Vapour makes humidity read low, which hides dew: a filter cap on it, and never in the resin "
    "box.",
)
"""Common practice, no source; the same as the note on placement says."""


ANSWERS = (
    (Reply.YES.value, "It is so"),
    (Reply.OVER.value, "It is over"),
    (Reply.NO.value, "It was right"),
)


@dataclass(frozen=True, slots=True)
class Question:
    """A doubt that waits for somebody's answer."""

    id: int
    fact: str


@dataclass(frozen=True, slots=True)
class SensorCard:
    """One sensor as it is doing."""

    name: str
    port: str
    says: str
    heard: str
    quiet: bool
    doubts: tuple[str, ...]
    beside: tuple[str, ...]
    read_as: str
    lines: tuple[str, ...]
    asked: tuple[Question, ...] = ()
    reading_of: tuple[AskedOfLines, ...] = ()
    """What only a person can say of how its lines are meant."""
    checked: str | None = None
    """How it did beside a salt, and when; None: it never was."""


def routes(office: Office) -> list[Route]:
    page = _SensorPage(office)
    return [
        office.route("/sensors", page.shown),
        office.route("/sensors/{name}/answer", page.answered, "POST"),
        office.route("/sensors/{name}/lines", page.read_as, "POST"),
    ]


def answer_doubt(office: Office, asked: Asked) -> SuspectSpan:
    """What a person says to a doubt: it is so (yes), it is over, or it was true (no)."""
    sensor = office.store.book.sensor(asked.path["name"])
    told = asked.typed.wanted("answer", "The answer")
    if told not in {reply.value for reply in Reply}:
        raise BadInput(f"{told!r} is no answer.", "Say yes, over or no.")
    spans = office.store.suspects.spans(sensor.id)
    open_ones = [span for span in spans if asks(span, asked.now)]
    wanted = asked.typed.whole("doubt", "the doubt's number")
    chosen = next((span for span in open_ones if wanted in (None, span.id)), None)
    if chosen is None:
        raise BadInput(f"Nothing is asked of {sensor.name} any more.", "Look at the sensors again.")
    return office.store.suspects.reply(chosen.id, Reply(told), asked.now)


def answer_lines(office: Office, asked: Asked) -> str:
    """What a person says of how a sensor's lines are meant; what is done from now on."""
    sensor = office.store.book.sensor(asked.path["name"])
    word = asked.typed.wanted("answer", "The answer")
    # As shop.toml stands now: an earlier answer may have been written into it.
    shop = open_shop(office.shop.folder, create=False)
    told = shop.wires.columns_of(sensor.name)
    return settle(office.store, shop.folder / FILE, told, sensor, word, asked.now)


def cards(office: Office, now: datetime) -> tuple[SensorCard, ...]:
    """Every sensor, by name."""
    standing = _standing(office, now)
    return tuple(
        _card(office, sensor, standing.get(sensor.id, ()), now)
        for sensor in office.store.book.sensors()
    )


def _standing(office: Office, now: datetime) -> dict[int, tuple[str, ...]]:
    """What lies beside each sensor now."""
    found: dict[int, tuple[str, ...]] = {}
    for part in office.store.book.layups(open_only=True):
        for stay in office.store.book.stays(part.id):
            if _lasts(stay, now):
                words = f"part {part.number}, {part.what}"
                found[stay.sensor_id] = (*found.get(stay.sensor_id, ()), words)
    return found


def _lasts(stay: Stay, now: datetime) -> bool:
    return stay.since <= now and (stay.until is None or stay.until > now)


def _card(office: Office, sensor: Sensor, beside: tuple[str, ...], now: datetime) -> SensorCard:
    latest = office.store.readings.latest(sensor.id)
    read_as = ", ".join(
        filter(
            None,
            (
                sensor.format and f"lines of {sensor.format}",
                sensor.unit and f"in °{sensor.unit.upper()}",
            ),
        )
    )
    of_lines = questions(office.store, sensor, now)
    # A lost decimal point is asked with its own answers, not as a doubt like others.
    told = {SuspectKind.SCALED} if any(one.about == "scale" for one in of_lines) else set()
    if latest is None:
        return SensorCard(
            sensor.name, sensor.plugged_in, "", "never heard", True, (), beside, read_as, ()
        )
    age_s = (now - latest.at).total_seconds()
    quiet = age_s > QUIET_S
    words = f"no reading for {length_said(age_s)}" if quiet else f"{length_said(age_s)} old"
    return SensorCard(
        sensor.name,
        sensor.plugged_in,
        _says(latest, office),
        f"{words}, {said(latest.at, office.zone, now)}",
        quiet,
        _doubts(latest),
        tuple(dict.fromkeys(beside)),
        read_as,
        office.store.readings.raw_lines(sensor.id, LINES),
        tuple(
            Question(span.id, said_of(span, sensor, (), office.zone)[0])
            for span in office.store.suspects.spans(sensor.id)
            if asks(span, now) and span.kind not in told
        ),
        of_lines,
        _checked(office, sensor, now),
    )


def _checked(office: Office, sensor: Sensor, now: datetime) -> str | None:
    age = age_of(office.store, sensor, now)
    if age is None or age.check.read_pct is None or age.check.true_pct is None:
        return None
    batches = "1 batch" if age.jobs == 1 else f"{age.jobs} batches"
    told = (
        f"Held against salt at {said(age.check.checked_at, office.zone, now)}: "
        f"{age.check.read_pct - age.check.true_pct:+.1f} %. {batches} mixed beside it since."
    )
    return f"{told} Time to do it again." if age.due else told


def _says(reading: Reading, office: Office) -> str:
    told = [
        f"{word}{temperature_said(value, office.unit)}"
        for word, value in (("", reading.temperature_c), ("surface ", reading.surface_c))
        if value is not None
    ]
    if reading.humidity_pct is not None:
        told.append(f"{reading.humidity_pct:.0f} % humidity")
    return " · ".join(told) or "nothing that could be read"


def _doubts(reading: Reading) -> tuple[str, ...]:
    named = (
        ("temperature", reading.flags.temperature),
        ("humidity", reading.flags.humidity),
        ("surface", reading.flags.surface),
    )
    return tuple(f"{name}: {DOUBTS[doubt]}" for name, doubts in named for doubt in doubts)


class _SensorPage:
    def __init__(self, office: Office) -> None:
        self._office = office

    def shown(self, asked: Asked) -> Response:
        found = cards(self._office, asked.now)
        return self._office.page(
            "sensors.html", asked.now, cards=found, placing=PLACING, answers=ANSWERS
        )

    def answered(self, asked: Asked) -> Response:
        answer_doubt(self._office, asked)
        return back_to("/sensors")

    def read_as(self, asked: Asked) -> Response:
        answer_lines(self._office, asked)
        return back_to("/sensors")
