"""Can I start now: go, no-go, not yet or can't tell, the closest limit, and what to do."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Any, Literal

from monitor.answers.here import NO_DEW, PROBE_IT
from monitor.answers.under import Under
from monitor.answers.wording import guess_said
from monitor.cautions import HEAT
from monitor.cure.law import opening_law
from monitor.cure.start import Here, Limit, Start, Unknown, can_start
from monitor.cure.steady import hours_at
from monitor.records import Sheet, Stage
from monitor.times import length_said
from monitor.units import Unit, difference_said, temperature_said

StartVerdict = Literal["go", "test-it", "not-yet", "no-go", "cant-tell"]

START_WORDS: dict[StartVerdict, str] = {
    "go": "GO",
    "test-it": "TEST IT",
    "not-yet": "NOT YET",
    "no-go": "NO-GO",
    "cant-tell": "CAN'T TELL",
}

_UNKNOWN: dict[Unknown, str] = {
    "no-reading": "no reading here in the last 15 min",
    "hull": PROBE_IT,
    "humidity": NO_DEW,
    "working": "your sheet gives no working temperature",
    "wax": "your sheet doesn't say how warm its wax wants it",
    "wax-dose": "your sheet doesn't say how much wax goes in",
}


@dataclass(frozen=True, slots=True)
class Sealing:
    """When dew and the seal are guessed to come to a wax coat mixed now. None: not guessed."""

    dew_at: datetime | None
    middle: datetime | None
    late: datetime | None

    @property
    def dewed(self) -> bool:
        """Whether the dew is guessed to come before the careful edge has sealed."""
        return self.dew_at is not None and (self.late is None or self.dew_at < self.late)


@dataclass(frozen=True, slots=True)
class StartSaid:
    """The answer first, each line a sentence or two."""

    verdict: StartVerdict
    lines: tuple[str, ...]


def start_said(
    sheet: Sheet,
    here: Here,
    below: Under | None,
    sealing: Sealing | None,
    zone: tzinfo,
    unit: Unit,
    now: datetime,
    *,
    waxed: bool,
) -> StartSaid:
    """Whether a cup of this sheet can be mixed now, over `below`, at what is measured `here`."""
    start = can_start(sheet, here, waxed=waxed)
    reasons = list(_reasons(start, below, unit, waxed=waxed))
    if sealing is not None and sealing.dewed:
        dew = f"{_sealing_said(sealing, zone, now)}, a guess: not tonight"
        # After what forbids it by measure, before what merely isn't known.
        place = sum(verdict in ("no-go", "not-yet") for verdict, _ in reasons)
        reasons.insert(place, ("no-go", dew))
    if not reasons:
        reasons.append(("go", _go_said(start, below, unit)))
    lines = list(_reasons_said(reasons))
    if below is not None and below.state == "open":
        lines.append(_sentence(below.said))
    if waxed:
        lines += _wax_wants(sheet, here, unit)
    if start.broken and not start.broken[0].name.endswith("hot"):
        lines.append(HEAT)
    return StartSaid(reasons[0][0], tuple(lines))


def _reasons(
    start: Start, below: Under | None, unit: Unit, *, waxed: bool
) -> Iterator[tuple[StartVerdict, str]]:
    """What stands against it, the weightiest first, each with the verdict it makes."""
    if below is not None and below.state in ("no-go", "not-yet"):
        yield ("no-go" if below.state == "no-go" else "not-yet"), below.said
    if start.broken:
        yield "no-go", _broken_said(start.broken, unit, waxed=waxed)
    for name in start.unknown:
        yield "cant-tell", _UNKNOWN[name]
    if below is not None and below.state in ("cant-tell", "test-it"):
        yield ("cant-tell" if below.state == "cant-tell" else "test-it"), below.said


def _go_said(start: Start, below: Under | None, unit: Unit) -> str:
    sand = f" {_sentence(below.said)}" if below is not None and below.state == "sand-first" else ""
    closest = f" Closest limit: {_kept_said(start.limits[0], unit)}." if start.limits else ""
    return f"GO now.{sand}{closest}"


def _reasons_said(reasons: list[tuple[StartVerdict, str]]) -> Iterator[str]:
    """The verdict with its weightiest reason, then the other reasons."""
    (verdict, first), *rest = reasons
    if verdict == "go":
        yield first
    elif first.startswith("after "):
        yield f"{START_WORDS[verdict]}, {first}."
    else:
        now = " now" if verdict == "no-go" else ""
        yield f"{START_WORDS[verdict]}{now}: {first}."
    yield from (_sentence(reason) for _, reason in rest)


def _broken_said(broken: tuple[Limit, ...], unit: Unit, *, waxed: bool) -> str:
    """Every limit that isn't kept, the worst first, and what mends the worst."""
    told = list(dict.fromkeys(_over_said(limit, unit) for limit in broken))
    return f"{'; '.join(told)}. {_mend(broken[0], unit, waxed=waxed)}"


def _over_said(limit: Limit, unit: Unit) -> str:
    whose = "the surface's " if limit.of == "surface" else ""
    sheets = "the wax's" if limit.name.startswith("wax") else "the sheet's"
    if limit.name == "humidity":
        return f"{limit.value:.0f} % humidity is over the sheet's {limit.limit:g} %"
    if limit.name == "spread":
        what = "the surface" if limit.of == "surface" else "the air"
        if limit.value <= 0.0:
            return f"{what} is WET, {difference_said(-limit.value, unit)} under the dew point"
        return (
            f"{what} is {difference_said(limit.value, unit)} above the dew point, the sheet wants "
            f"{difference_said(limit.limit, unit)}"
        )
    side = "under" if limit.name.endswith("cold") else "over"
    value, allowed = temperature_said(limit.value, unit), temperature_said(limit.limit, unit)
    return f"{whose}{value} is {side} {sheets} {allowed}"


def _mend(limit: Limit, unit: Unit, *, waxed: bool) -> str:
    until = "sealed" if waxed else "gelled"
    if limit.name.endswith("cold"):
        return f"Warm the part as well as the air, and hold it until it has {until}"
    if limit.name == "wax-hot":
        return "Shade and cool it: in the heat the wax stays dissolved"
    if limit.name == "hot":
        return "Shade it, cool the resin, mix small cups"
    if limit.name == "humidity":
        return "Tent and warm it, or wait for drier air"
    by = f"{difference_said(limit.limit, unit)} above" if limit.limit > 0.0 else "well above"
    return (
        f"Don't bond, don't coat: warm the surface, not only the air, until it is {by} the dew "
        "point, and wipe it dry"
    )


def _kept_said(limit: Limit, unit: Unit) -> str:
    most = "least" if limit.name.endswith("cold") or limit.name == "spread" else "most"
    if limit.name == "humidity":
        return f"{limit.value:.0f} % humidity, at {most} {limit.limit:g} %"
    if limit.name == "spread":
        value, allowed = difference_said(limit.value, unit), difference_said(limit.limit, unit)
        return f"{value} above the dew point, at {most} {allowed}"
    whose = " at the surface" if limit.of == "surface" else ""
    value, allowed = temperature_said(limit.value, unit), temperature_said(limit.limit, unit)
    return f"{value}{whose}, at {most} {allowed}"


def _sealing_said(sealing: Sealing, zone: tzinfo, now: datetime) -> str:
    dew = "" if sealing.dew_at is None else guess_said(sealing.dew_at, zone, now, later=False)
    words = f"dew likely {dew}"
    if sealing.middle is None:
        return f"{words}, not sealed by then"
    return f"{words}, sealed {guess_said(sealing.middle, zone, now, later=True)}"


def _wax_wants(sheet: Sheet, here: Here, unit: Unit) -> Iterator[str]:
    """`Wax wants 18.0 to 32.0 °C, and about 5 h of shelter until it has sealed.`"""
    wants = []
    if sheet.wax_temperature_c is not None:
        low, high = (temperature_said(c, unit) for c in sheet.wax_temperature_c)
        wants.append(f"{low.partition(' ')[0]} to {high}")
    law, need = opening_law(sheet), sheet.needs.get(Stage.SEALED)
    if law is not None and need is not None and here.air_c is not None:
        hours = hours_at(law, here.air_c - 1.0, need[0])
        if hours is not None:
            at = temperature_said(here.air_c, unit)
            shelter = length_said(timedelta(hours=hours).total_seconds())
            wants.append(f"at {at} {shelter} of shelter from dew, rain and sun until it has sealed")
    if wants:
        yield f"Wax wants {', and '.join(wants)}."


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."


def start_json(told: StartSaid) -> dict[str, Any]:
    """The same for scripts."""
    return {"verdict": told.verdict, "said": list(told.lines)}
