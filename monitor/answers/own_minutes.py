"""How soon the person's own cups of a resin kicked, to stand beside the sheet's minutes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from monitor.answers.past import KICKED, NEAR_C, PastJob
from monitor.cure.mixing import AIM_SLACK_POINTS
from monitor.cure.pot import NoPotTime, PotTime
from monitor.records import MarkKind
from monitor.units import Unit, temperature_said


@dataclass(frozen=True, slots=True)
class OwnMinutes:
    """What was marked: minutes from mixing, in what warmth and at what dose where known."""

    address: str
    minutes: float
    temperature_c: float | None
    mix_pct: float | None
    cup: bool
    """Whether it was the cup that was seen to kick: a thin part takes longer."""


def own_minutes(
    jobs: Sequence[PastJob], temperature_c: float | None, mix_pct: float | None
) -> tuple[OwnMinutes, ...]:
    """The jobs like this cup: within 3 °C and 0.2 points, where those are asked and known."""
    found = []
    for job in jobs:
        timing = job.first(MarkKind.CUP_KICKED) or job.first(*KICKED)
        if timing is None or not _alike(job, temperature_c, mix_pct):
            continue
        found.append(
            OwnMinutes(
                job.address,
                timing.after.total_seconds() / 60.0,
                job.temperature_c,
                job.mix_pct,
                timing.kind is MarkKind.CUP_KICKED,
            )
        )
    return tuple(found)


def _alike(job: PastJob, temperature_c: float | None, mix_pct: float | None) -> bool:
    if temperature_c is not None and job.temperature_c is None:
        return False
    warm = temperature_c is None or abs((job.temperature_c or 0.0) - temperature_c) <= NEAR_C
    if mix_pct is None or job.mix_pct is None:
        return warm
    return warm and abs(job.mix_pct - mix_pct) <= AIM_SLACK_POINTS + 1e-6


def own_lines(
    own: Sequence[OwnMinutes], pot: PotTime | NoPotTime | None, unit: Unit
) -> Iterator[str]:
    """Raw under two, a range from two; a quicker one than the sheet's is the one to go by."""
    if not own:
        return
    what = "cups" if all(told.cup for told in own) else "marks"
    if len(own) == 1:
        yield f"Your own: {_said(own[0], unit)}."
    else:
        low, high = min(o.minutes for o in own), max(o.minutes for o in own)
        span = f"{low:.0f} to {high:.0f} min{_at(own, unit)}"
        yield f"Your own {len(own)} {what}: kicked after {span}."
    quickest = min(told.minutes for told in own)
    if isinstance(pot, PotTime) and quickest < pot.in_hand_min:
        yield f"One was quicker than the sheet's minutes: have it on in {quickest:.0f} min."
    else:
        yield "That stands beside the sheet's minutes and never lengthens them."


def _said(told: OwnMinutes, unit: Unit) -> str:
    who = f"the cup of {told.address}" if told.cup else told.address
    words = f"{who} kicked after {told.minutes:.0f} min"
    if told.temperature_c is not None:
        words += f" at {temperature_said(told.temperature_c, unit)}"
    return words if told.mix_pct is None else f"{words}, {told.mix_pct:.2g} %"


def _at(own: Sequence[OwnMinutes], unit: Unit) -> str:
    warm = [told.temperature_c for told in own if told.temperature_c is not None]
    if not warm:
        return ""
    low, high = temperature_said(min(warm), unit), temperature_said(max(warm), unit)
    return f" at {low}" if low == high else f" at {low} to {high}"
