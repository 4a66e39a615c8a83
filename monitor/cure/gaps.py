"""The times that nobody measured, worth telling: silences, suspect spans, carries, the two ends."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from monitor.cure.trace import GAP_S, LONG_GAP_S, Run
from monitor.records import FloatArray, GapReason

SIGHTINGS_APART_S = 6 * 3600.0
"""A person's word holds a gap no longer than this. This project's rule."""


@dataclass(frozen=True)
class Unmeasured:
    start_s: float
    end_s: float
    why: GapReason
    said_until_s: float | None = None


def said_until(start_s: float, end_s: float, seen_warm_s: tuple[float, ...]) -> float:
    """Until when somebody vouches for a gap's warmth, all in Unix seconds.

    Each sighting must follow the one before, or the gap's start, within six hours. `start_s`:
    nobody does. Valid for sightings in ascending order. Source: this project's rule.
    """
    until_s = start_s
    for seen_s in seen_warm_s:
        if start_s < seen_s < end_s and seen_s - until_s <= SIGHTINGS_APART_S:
            until_s = seen_s
    return until_s


def unmeasured(
    time_s: FloatArray,
    runs: tuple[Run, ...],
    odd: NDArray[np.int64],
    suspect_s: FloatArray,
    mixed_s: float,
    now_s: float,
    seen_warm_s: tuple[float, ...],
) -> tuple[Unmeasured, ...]:
    """The gaps worth telling, in Unix seconds, from mixing until now.

    `odd` are the intervals that don't simply follow their readings. Valid for any knots. Source:
    this project's rule.
    """
    first = int(np.searchsorted(time_s, mixed_s, side="left"))
    if first == time_s.size:
        fresh = time_s.size > 0 and now_s - float(time_s[-1]) <= GAP_S
        if fresh or now_s <= mixed_s:
            return ()
        return (Unmeasured(mixed_s, now_s, "before-first"),)
    gaps: list[Unmeasured] = []
    if float(time_s[first]) - mixed_s > GAP_S and not (
        first > 0 and float(time_s[first]) - float(time_s[first - 1]) <= GAP_S
    ):
        gaps.append(Unmeasured(mixed_s, float(time_s[first]), "before-first"))
    for i in odd[odd >= first]:
        gap = _between_knots(int(i), time_s, runs, suspect_s)
        if gap is not None:
            said_s = said_until(gap.start_s, gap.end_s, seen_warm_s)
            lifted = gap.end_s - gap.start_s > LONG_GAP_S and said_s > gap.start_s
            gaps.append(replace(gap, said_until_s=said_s) if lifted else gap)
    quiet_s = now_s - float(time_s[-1])
    if quiet_s > GAP_S and quiet_s > runs[-1].silence_s:
        gaps.append(Unmeasured(float(time_s[-1]), now_s, "after-last"))
    return tuple(gaps)


def _between_knots(
    i: int, time_s: FloatArray, runs: tuple[Run, ...], suspect_s: FloatArray
) -> Unmeasured | None:
    start_s, end_s = float(time_s[i]), float(time_s[i + 1])
    run = next(run for run in runs if run.first <= i < run.stop)
    if i + 1 == run.stop:
        return Unmeasured(start_s, end_s, "carried") if end_s - start_s > GAP_S else None
    if end_s - start_s <= run.silence_s:
        return None
    inside = np.searchsorted(suspect_s, end_s) - np.searchsorted(suspect_s, start_s, "right")
    return Unmeasured(start_s, end_s, "suspect" if inside > 0 else "silent")
