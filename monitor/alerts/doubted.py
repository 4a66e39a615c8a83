"""What is doubted of a sensor, in words: a fact, and what to do about it."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, tzinfo

from monitor.alerts.rules import Due
from monitor.overview import Overview
from monitor.records import Sensor, SuspectKind, SuspectSpan
from monitor.store import Store
from monitor.times import said_lasting

RULE = "doubted-sensor"
ASKED_FOR = timedelta(hours=12)
"""How long a question that only a person can answer stays open on the page."""


def doubted(store: Store, seen: Overview, zone: tzinfo) -> tuple[Due, ...]:
    """Doubts about a sensor that a part stands beside now, until they are over or answered."""
    return tuple(_due(store, seen, zone))


def _due(store: Store, seen: Overview, zone: tzinfo) -> Iterator[Due]:
    sensors = {view.sensor.id: view.sensor for view in seen.sensors}
    for span in store.suspects.spans(since=seen.at - ASKED_FOR):
        if not asks(span, seen.at) or span.kind is SuspectKind.BOARD_CLOCK:
            continue
        parts = _parts(seen, span.sensor_id)
        if parts:
            sensor = sensors[span.sensor_id]
            fact, action = said_of(span, sensor, parts, zone)
            yield Due(RULE, f"{sensor.name}:{span.kind}", span.since, parts, fact, action)


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
        f"{name} reads like it is in the sun or in a heater's stream since {since}: much warmer "
        "within minutes, and no drier or wetter. That is not counted.",
        f"Shade it. Is the part in the sun too? Then: mark {part} sun. If the place is really "
        f"that warm: mark {part} heater-on, or sensor answer {name} no.",
    )


def _stuck_wet(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"{name}'s humidity stays at the top since {since} while the air gets warmer: its sensor "
        "is wet. Nothing is said of dew; the temperature counts.",
        "Let it dry in moving air, out of the resin's fumes. If it was fog: "
        f"sensor answer {name} no.",
    )


def _moved(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"Was {name} carried to another place at {since}? Temperature and damp leapt together "
        "and stayed.",
        f"If it left the part: sensor answer {name} yes. If a heater or a door did it: "
        f"sensor answer {name} no.",
    )


def _same_stream(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"{name} says the same as another sensor, to the last digit, since {since}: one sensor "
        f"read twice. {name} is not counted.",
        f"Look at its plug and its address: sensor list. If they are two: sensor answer {name} no.",
    )


def _board_clock(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"{name} sends times of its own that are days off. Its readings are filed by when they "
        "arrive; its lines keep what it said.",
        "Nothing needs doing; set its clock when you next have it in hand.",
    )


def _clock_set(name: str, since: str, part: str) -> tuple[str, str]:
    return (
        f"This computer's clock was set. {name}'s readings from then on were moved along with it: "
        f"the first of them is at {since} now.",
        "Times typed in by the old clock were not moved: look through them with layup show, and "
        f"correct them. Then: sensor answer {name} yes.",
    )


_WORDS: dict[SuspectKind, Callable[[str, str, str], tuple[str, str]]] = {
    SuspectKind.SUNNED: _sunned,
    SuspectKind.STUCK_WET: _stuck_wet,
    SuspectKind.MOVED: _moved,
    SuspectKind.SAME_STREAM: _same_stream,
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
