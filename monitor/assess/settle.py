"""Settling a record: what it came to until one of its readings. Only the rest is asked again.

A settled record answers exactly as the whole one does: a test holds the two together.
"""

from dataclasses import replace

import numpy as np

from monitor.assess.case import Case, Settled
from monitor.assess.work import (
    all_gaps,
    cold_spans,
    exposed,
    hot_since,
    readings_used,
)
from monitor.cure.beside import StayRead, damp_so_far, outside_so_far, trace_of
from monitor.cure.exposure import From
from monitor.cure.stages import NOTHING_COUNTED, CountedSoFar, count_so_far
from monitor.cure.trace import GAP_S, STEPS_LOOKED_AT
from monitor.records import Sheet, Stage

KEPT = STEPS_LOOKED_AT + 1
"""Readings of a stay that are never settled: they say how long a silence is."""


def settling_point(case: Case, now_s: float) -> float | None:
    """The reading to settle a record at, in Unix seconds. None: too few since it was mixed.

    Far enough behind `now_s` that settling comes once in a thousand readings, not with each.
    """
    mixed_s = case.mixed_at.timestamp() + case.give_or_take.total_seconds()
    for stay in reversed(case.counted):
        if len(stay.readings) <= 2 * KEPT:
            continue
        time_s = trace_of(stay).time_s
        known = int(np.searchsorted(time_s, now_s, side="right"))
        if known > 2 * KEPT and float(time_s[known - 1 - KEPT]) > mixed_s:
            return float(time_s[known - 1 - KEPT])
    return None


def settle(case: Case, knot_s: float) -> Settled:
    """What the record came to at one good reading of a stay that it counts on."""
    mixed_s = case.mixed_at.timestamp()
    case = replace(case, counted=_until(case.counted, knot_s), watched=_until(case.watched, knot_s))
    before = case.before
    stay = max(i for i, one in enumerate(case.counted) if trace_of(one).time_s.size)
    # Every interval is kept that might be a silence: that is for the whole stay to say.
    known = replace(case, counted=case.counted[: stay + 1])
    exposure = exposed(known, knot_s, last_silence_s=GAP_S)
    counted = count_so_far(
        exposure, case.sheet, NOTHING_COUNTED if before is None else before.counted
    )
    same_stay = before is not None and before.stay == stay
    run = exposure.runs[-1]
    return Settled(
        From(
            knot_s,
            (
                exposure.low.head_unknown,
                exposure.middle.head_unknown,
                exposure.high.head_unknown,
            ),
        ),
        float(exposure.temperature_c[-1]),
        stay,
        before.stay_begun_s if before and same_stay else float(exposure.time_s[run.first]),
        counted,
        cold_spans(case, exposure),
        (*before.gaps, *exposure.gaps) if before and same_stay else all_gaps(case, exposure),
        hot_since(case, knot_s),
        damp_so_far(
            case.watched,
            case.sheet.dew_spread_min_c,
            mixed_s,
            knot_s,
            before.damp if before else (),
        ),
        outside_so_far(
            case.counted,
            case.sheet.wax_temperature_c,
            mixed_s,
            min(knot_s, _sealed_s(counted, case.sheet)),
            before.off_wax if before else (),
        ),
        readings_used(case, knot_s),
    )


def _sealed_s(counted: CountedSoFar, sheet: Sheet) -> float:
    needs = sheet.needs.get(Stage.SEALED)
    return np.inf if needs is None else counted.low.reached.get(needs[0], np.inf)


def _until(stays: tuple[StayRead, ...], until_s: float) -> tuple[StayRead, ...]:
    return tuple(replace(stay, readings=stay.readings.between(-np.inf, until_s)) for stay in stays)
