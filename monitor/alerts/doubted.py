"""What is doubted of a sensor, in words: a fact, and what to do about it."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, tzinfo

from monitor.alerts.due import Due
from monitor.cure.trace import GAP_S
from monitor.overview import Overview
from monitor.records import Aloud, Sensor, SuspectKind, SuspectSpan
from monitor.store import Store
from monitor.times import said_lasting

RULE = "doubted-sensor"
ASKED_FOR = timedelta(hours=12)
"""How long a question that only a person can answer stays open on the page."""


_BUZZES = frozenset({SuspectKind.SUNNED, SuspectKind.STUCK_WET})
"""Shade and air put these right; the others are questions, which can wait on the page."""


def doubted(store: Store, seen: Overview, zone: tzinfo) -> tuple[Due, ...]:
    """Doubts about a sensor that a part stands beside now, until they are over or answered."""
    return tuple(_due(store, seen, zone))


def aloud(due: tuple[Due, ...], doubts: tuple[Due, ...], seen: Overview) -> tuple[Due, ...]:
    """All that is due, but no "no reading" of a sensor that speaks and is doubted."""
    doubted_now = {one.key.partition(":")[0] for one in doubts}
    speaking = {
        view.sensor.name
        for view in seen.sensors
        if view.latest is not None and (seen.at - view.latest.at).total_seconds() <= GAP_S
    }
    spared = doubted_now & speaking
    return doubts + tuple(
        one for one in due if one.rule != "silent-sensor" or one.key.partition(":")[0] not in spared
    )


def _due(store: Store, seen: Overview, zone: tzinfo) -> Iterator[Due]:
    sensors = {view.sensor.id: view.sensor for view in seen.sensors}
    for span in store.suspects.spans(since=seen.at - ASKED_FOR):
        if not asks(span, seen.at) or span.kind is SuspectKind.BOARD_CLOCK:
            continue
        parts = _parts(seen, span.sensor_id)
        if parts:
            sensor = sensors[span.sensor_id]
            fact, action = said_of(span, sensor, parts, zone)
            loud = Aloud.BY_DAY if span.kind in _BUZZES else Aloud.PAGE
            key = f"{sensor.name}:{span.kind}"
            yield Due(RULE, key, span.since, parts, fact, action, aloud=loud)


def asks(span: SuspectSpan, now: datetime) -> bool:
    """Whether a person's answer is still wanted."""
    if span.reply is not None:
        return False
    if span.kind in (SuspectKind.MOVED, SuspectKind.CLOCK_SET):
        return span.found_at > now - ASKED_FOR
    return span.until is None


def said_of(
    span: SuspectSpan, sensor: Sensor, parts: tuple[int, ...], zone: tzinfo
) -> tuple[str, str]:
    """The fact and the action. `parts`: the numbers of those beside it."""
    since = said_lasting(span.since, zone)
    number = str(parts[0]) if parts else "NUMBER"
    return _WORDS[span.kind](sensor.name, since, number)


def _sunned(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"Sensor {name} reads like it is in the sun since {since}: hot within minutes, its dew "
        "point where it was. Not counted.",
        f"Shade it. Is the part in the sun too? Then: mark {part} sun. A heater did it: "
        f"mark {part} heater-on. Shaded now: sensor answer {name} over. It was right: "
        f"sensor answer {name} no.",
    )


def _stuck_wet(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"Sensor {name} says 100 % since {since} while the air gets warmer: it is wet. Nothing is "
        "said of dew; the temperature counts.",
        f"Let it dry in moving air, out of the resin's fumes. It was fog: sensor answer {name} no.",
    )


def _moved(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"Was sensor {name} carried off at {since}? Temperature and damp leapt together, and "
        "stayed.",
        f"It left the part: sensor answer {name} yes. A heater or a door did it: "
        f"sensor answer {name} no.",
    )


def _same_stream(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"Sensor {name} says the same as another, to the last digit, since {since}: one sensor "
        "read twice. Not counted.",
        f"Look at its plug and its address: sensor list. If they are two: sensor answer {name} no.",
    )


def _scaled(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"Sensor {name}'s figures look ten times too big, or too small, since {since}. Not "
        "counted.",
        f"Look at the decimal point in its sketch, or its registers. They are right: "
        f"sensor answer {name} no.",
    )


def _board_clock(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"Sensor {name} sends times of its own that are days off. Its readings are filed by when "
        "they arrive; its lines keep what it said.",
        "Nothing needs doing; set its clock when you next have it in hand.",
    )


def _clock_set(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"This computer's clock was set. The readings of sensor {name} went along with it: the "
        f"first of them is at {since} now.",
        "Times typed in by the old clock were not moved: look through them with layup show, and "
        f"correct them. Then: sensor answer {name} yes.",
    )


_WORDS: dict[SuspectKind, Callable[[str, str, str], tuple[str, str]]] = {
    SuspectKind.SUNNED: _sunned,
    SuspectKind.STUCK_WET: _stuck_wet,
    SuspectKind.MOVED: _moved,
    SuspectKind.SAME_STREAM: _same_stream,
    SuspectKind.SCALED: _scaled,
    SuspectKind.BOARD_CLOCK: _board_clock,
    SuspectKind.CLOCK_SET: _clock_set,
}


def _parts(seen: Overview, sensor_id: int) -> tuple[int, ...]:
    return tuple(
        sorted(
            {
                view.layup.number
                for view in seen.layups
                for beside in view.stays
                if beside.sensor.id == sensor_id
                and beside.since <= seen.at
                and (beside.until is None or beside.until > seen.at)
            }
        )
    )
