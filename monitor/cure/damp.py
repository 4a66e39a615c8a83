"""Damp spells: when a surface stood too near the dew point for long enough to matter."""

from dataclasses import dataclass

import numpy as np

from monitor.cure.trace import GAP_S
from monitor.records import FloatArray

HOLD_S = 20 * 60.0
"""Shorter than this is a breath of air. This project's rule."""


Spell = tuple[float, float]
"""Start and end, in Unix seconds."""


@dataclass(frozen=True)
class SpellsSoFar:
    """Spells until a last known reading, and what it takes to go on from it.

    `last_s` (Unix seconds; None: no reading yet) and whether that one was beyond the limit; then
    `since_s` is where its run began.
    """

    closed: tuple[Spell, ...] = ()
    last_s: float | None = None
    beyond: bool = False
    since_s: float = 0.0


NO_SPELLS = SpellsSoFar()


def spells(
    time_s: FloatArray, beyond: FloatArray, before: SpellsSoFar = NO_SPELLS
) -> tuple[Spell, ...]:
    """Spells of 20 minutes and more with `beyond` above 0: (start, end) in Unix seconds.

    nan is passed over, and a silence over 15 minutes ends a spell. `before`: the readings go on
    from there. Valid for columns of equal length in time order. Source: this project's rule.
    """
    so_far = spells_so_far(time_s, beyond, before)
    last_s = so_far.last_s
    if so_far.beyond and last_s is not None and last_s - so_far.since_s >= HOLD_S:
        return (*so_far.closed, (so_far.since_s, last_s))
    return so_far.closed


def spells_so_far(
    time_s: FloatArray, beyond: FloatArray, before: SpellsSoFar = NO_SPELLS
) -> SpellsSoFar:
    """As `spells`, to be gone on from: the run that lasts until the last reading stays open.

    Times in Unix seconds. Valid for columns of equal length in time order. Source: this project's
    rule.
    """
    known = np.isfinite(beyond)
    time_s, past = time_s[known], beyond[known] > 0.0
    if before.last_s is not None:
        time_s = np.concatenate(([before.last_s], time_s))
        past = np.concatenate(([before.beyond], past))
    if time_s.size == 0:
        return before
    last_s = float(time_s[-1])
    if not past.any():
        return SpellsSoFar(before.closed, last_s)
    broken = np.concatenate(([True], np.diff(time_s) > GAP_S))
    turned = np.concatenate(([True], past[1:] != past[:-1])) | broken
    starts = np.flatnonzero(turned)
    stops = np.append(starts[1:], past.size)
    # A spell lasts until the first reading that ends it, or its own last where silence follows.
    ends = np.where(
        (stops < past.size) & ~broken[np.minimum(stops, past.size - 1)], stops, stops - 1
    )
    start_s, end_s = time_s[starts], time_s[ends]
    if before.beyond:
        start_s[0] = before.since_s
    still = bool(past[-1])
    kept = past[starts] & (end_s - start_s >= HOLD_S)
    if still:
        kept[-1] = False
    found = zip(start_s[kept].tolist(), end_s[kept].tolist(), strict=True)
    return SpellsSoFar(
        (*before.closed, *found), last_s, still, float(start_s[-1]) if still else 0.0
    )
