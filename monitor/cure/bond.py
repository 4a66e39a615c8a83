"""The bond line: whether the next layer joins this one chemically, or only after sanding."""

from dataclasses import dataclass
from typing import Literal

from monitor.records import BondLine, MarkKind, Sheet, StageAnswer, Verdict
from monitor.times import from_unix

VOIDING = {
    MarkKind.RAINED: "rain",
    MarkKind.SUN: "sun",
    MarkKind.WASHED: "washing",
    MarkKind.SANDED_DUST: "dust",
    MarkKind.SANDED_GUM: "dust",
}
"""Marks after which tack is no longer clean. Common practice, no source."""

SINCE_SANDED = {
    MarkKind.RAINED: "rained on",
    MarkKind.SUN: "in the sun",
    MarkKind.WASHED: "washed",
    MarkKind.WIPED: "wiped",
}

SAND_FIRST = "Sand dull all over to a coarse key, wipe, and bond to that."
CLEAN_AND_DRY = "Chemical while it stays clean, dry and shaded."
STILL_SOFT = f"Still too soft for another layer. {CLEAN_AND_DRY}"
WAXED = "Waxed: wash it, then sand dull all over. No waiting opens it."


@dataclass(frozen=True)
class Seen:
    """A mark and when it was made, in Unix seconds."""

    kind: MarkKind
    at_s: float


@dataclass(frozen=True)
class Surface:
    """What a batch's surface has been through. Times in Unix seconds."""

    mixed_s: float
    waxed: bool
    marks: tuple[Seen, ...] = ()
    damp: tuple[tuple[float, float], ...] = ()


def bond_line(sheet: Sheet, recoat: StageAnswer, surface: Surface, now_s: float) -> BondLine:
    """Chemical or mechanical at `now_s` (Unix seconds), until when, and what voids it.

    Waxed means mechanical at any hour. A surface under peel ply is clean until the ply comes off.
    Valid for a recoat answer of the same batch. Source: the sheet's window; what voids a bond is
    common practice.
    """
    # What was done to the part before this batch was mixed was done to another face.
    marks = [mark for mark in surface.marks if surface.mixed_s <= mark.at_s <= now_s]
    bared_s = max(
        (m.at_s for m in marks if m.kind is MarkKind.PEEL_PLY_OFF), default=surface.mixed_s
    )
    voided = _voided(surface, marks, bared_s, now_s)
    sanded_s = max((m.at_s for m in marks if m.kind is MarkKind.SANDED_DUST), default=None)
    since = _since_sanded(surface, marks, sanded_s, now_s)
    state, reason = _state(sheet, recoat, surface, voided)
    until = None
    if recoat.shuts is not None and recoat.shuts.early is not None:
        until = recoat.shuts.early
    elif state == "chemical" and sheet.recoat_max_hours is not None:
        until = from_unix(surface.mixed_s + sheet.recoat_max_hours * 3600.0)
    return BondLine(
        state,
        until,
        voided,
        None if sanded_s is None else from_unix(sanded_s),
        since,
        reason,
    )


def _state(
    sheet: Sheet, recoat: StageAnswer, surface: Surface, voided: tuple[str, ...]
) -> tuple[Literal["chemical", "mechanical", "cant-tell"], str]:
    if recoat.verdict is Verdict.WONT_CURE:
        return "cant-tell", recoat.reason
    if surface.waxed:
        return "mechanical", WAXED
    if recoat.needs is None:
        return "cant-tell", "Your sheet doesn't say how long a bond stays chemical."
    if voided:
        return "mechanical", f"No longer clean ({', '.join(voided)}). {SAND_FIRST}"
    if recoat.verdict is Verdict.SHUT:
        return "mechanical", f"The window has shut. {SAND_FIRST}"
    if recoat.verdict is Verdict.CANT_TELL:
        return "cant-tell", f"{recoat.reason} If in doubt: {SAND_FIRST[0].lower()}{SAND_FIRST[1:]}"
    if recoat.verdict is Verdict.NOT_YET:
        return "chemical", STILL_SOFT
    return "chemical", CLEAN_AND_DRY


def _voided(surface: Surface, marks: list[Seen], bared_s: float, now_s: float) -> tuple[str, ...]:
    names: dict[str, None] = {}
    if surface.waxed:
        names["wax"] = None
    for mark in marks:
        if mark.at_s >= bared_s and mark.kind in VOIDING:
            names[VOIDING[mark.kind]] = None
    if any(end > bared_s and start <= now_s for start, end in surface.damp):
        names["dew"] = None
    return tuple(names)


def _since_sanded(
    surface: Surface, marks: list[Seen], sanded_s: float | None, now_s: float
) -> tuple[str, ...]:
    """What happened to a sanded surface since, in words."""
    if sanded_s is None:
        return ()
    told = [
        SINCE_SANDED[mark.kind]
        for mark in marks
        if mark.at_s > sanded_s and mark.kind in SINCE_SANDED
    ]
    damp = sum(1 for start, end in surface.damp if end > sanded_s and start <= now_s)
    if damp:
        told.append("damp once" if damp == 1 else f"damp {damp} times")
    return tuple(dict.fromkeys(told))
