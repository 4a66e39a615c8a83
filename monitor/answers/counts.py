"""Each batch's count as a curve to draw, and apart from it the guess of how it goes on."""

from dataclasses import dataclass, replace
from datetime import datetime, tzinfo

import numpy as np
from numpy.typing import NDArray

from monitor.answers.views import CountAhead, CountSeries, WarmthAhead
from monitor.answers.wording import batch_said
from monitor.assess.case import Settled
from monitor.columns import own
from monitor.cure.count import Chunks, Tally
from monitor.cure.forecast import look_ahead
from monitor.cure.law import opening_law
from monitor.cure.outlook import Outlook
from monitor.cure.stages import NOTHING_COUNTED
from monitor.cure.trace import GAP_S
from monitor.overview import BatchView, LayupView
from monitor.records import FloatArray, Sheet, Stage
from monitor.units import SECONDS_PER_HOUR

KEPT = 20_000
"""So many points of a curve are kept: a fortnight by the minute, and a year by the half hour."""

_STEPS = 3.0
"""Points already thinned lie some steps apart: only what is longer than so many is a gap."""

_ALIKE = 2e-3
"""Curves are thinned: between two points of one the settled count lies as near as this."""

Curves = tuple[FloatArray, FloatArray, FloatArray, FloatArray]
"""Times in Unix seconds, and the low, middle and high count at each."""

_OPENINGS = (Stage.SEALED, Stage.FLIP, Stage.SAND, Stage.PROPS_OFF, Stage.LOAD, Stage.FULL)
_AHEAD_AT_LEAST_S = 24 * SECONDS_PER_HOUR


@dataclass(frozen=True, slots=True)
class Standing:
    """What a layup's count says at one moment, whole, for as many pictures as are asked for."""

    at: datetime
    counts: tuple[CountSeries, ...]
    warmth: tuple[WarmthAhead, ...]
    sheets: tuple[Sheet, ...]
    readings: int
    """How many readings it took to count."""


def standing_of(
    view: LayupView, at: datetime, zone: tzinfo, earlier: Standing | None = None
) -> Standing | None:
    """The counts of a layup as it stands at `at`.

    Where a batch's record was settled its curve goes on from an `earlier` one. None: there is no
    earlier curve that comes to what was settled; ask with the whole record.
    """
    known = {series.address: series for series in earlier.counts} if earlier is not None else {}
    counts = []
    for batch in view.batches:
        curves = _curves(batch, known.get(f"{view.layup.number}/{batch.batch.name}"))
        if curves is None:
            return None
        time_s, low, middle, high = own(*curves)
        counts.append(_series(view, batch, (time_s, low, middle, high), at, zone))
    warmth = {(w.sensor, w.channel): w for w in map(_warmth_ahead, view.batches) if w is not None}
    sheets = {batch.sheet.name: batch.sheet for batch in view.batches}
    return Standing(
        at,
        tuple(counts),
        tuple(warmth.values()),
        tuple((sheets or {view.sheet.name: view.sheet}).values()),
        sum(batch.worked.assessment.readings.used for batch in view.batches),
    )


def _series(
    view: LayupView, batch: BatchView, curves: Curves, at: datetime, zone: tzinfo
) -> CountSeries:
    assessment = batch.worked.assessment
    return CountSeries(
        f"{view.layup.number}/{batch.batch.name}",
        batch.batch.mixed_at,
        assessment.unit,
        *curves,
        assessment.gaps,
        assessment.parked,
        batch.sheet,
        assessment.stages,
        batch_said(batch.batch, zone, at),
        _count_ahead(batch),
        assessment.forecast,
    )


def _curves(batch: BatchView, earlier: CountSeries | None) -> Curves | None:
    """The three edges of the count at shared times; nan where an edge is unknown."""
    law, before = opening_law(batch.sheet), batch.case.before
    if law is None:
        return (np.empty(0),) * 4
    exposure = batch.worked.exposure
    chunks = Chunks(exposure)
    brought = NOTHING_COUNTED if before is None else before.counted
    tallies = (
        Tally(chunks, exposure.low, law, brought.low),
        Tally(chunks, exposure.middle, law, brought.middle),
        Tally(chunks, exposure.high, law, brought.high),
    )
    edges = [tally.at_knots() for tally in tallies]
    times = np.unique(np.concatenate([time_s[some_of(time_s, KEPT)] for time_s, _ in edges]))
    low, middle, high = (
        np.interp(times, time_s, count, left=0.0, right=np.nan) for time_s, count in edges
    )
    if before is None:
        return times, low, middle, high
    settled = _settled(before)
    if earlier is None or not _comes_to(earlier, settled):
        return None
    return _joined(earlier, settled, (times, low, middle, high))


Settlement = tuple[float, float, float, float]
"""Where a record was settled (Unix seconds), and each edge there; nan: unknown."""


def _settled(before: Settled) -> Settlement:
    totals = (before.counted.low, before.counted.middle, before.counted.high)
    low, middle, high = (
        np.nan if unknown else brought.total
        for brought, unknown in zip(totals, before.since.head_unknown, strict=True)
    )
    return before.since.knot_s, low, middle, high


def _comes_to(earlier: CountSeries, settled: Settlement) -> bool:
    """Whether a curve is the one that was settled: a past that was corrected comes to another."""
    knot_s, *totals = settled
    if not earlier.time_s.size or earlier.time_s[-1] < knot_s:
        return False
    there = [
        np.interp(knot_s, earlier.time_s, edge)
        for edge in (earlier.low, earlier.middle, earlier.high)
    ]
    return bool(np.allclose(there, totals, rtol=_ALIKE, atol=_ALIKE * 100.0, equal_nan=True))


def _joined(earlier: CountSeries, settled: Settlement, later: Curves) -> Curves:
    past = np.flatnonzero(earlier.time_s < settled[0])
    past = past[some_of(earlier.time_s[past], KEPT)]
    to_come = later[0] > settled[0]
    columns = (earlier.time_s, earlier.low, earlier.middle, earlier.high)
    time_s, low, middle, high = (
        np.concatenate([old[past], [at], new[to_come]])
        for old, at, new in zip(columns, settled, later, strict=True)
    )
    return time_s, low, middle, high


def some_of(time_s: FloatArray, points: int) -> NDArray[np.int64]:
    """Indexes of about `points` moments, evenly in time, with the ends and both sides of a gap."""
    n = time_s.size
    if n <= points:
        return np.arange(n)
    even = np.searchsorted(time_s, np.linspace(time_s[0], time_s[-1], points))
    steps = np.diff(time_s)
    gaps = np.flatnonzero(steps > max(GAP_S, _STEPS * float(np.median(steps))))
    return np.unique(np.concatenate([np.minimum(even, n - 1), gaps, gaps + 1]))


def cut(series: CountSeries, start_s: float, end_s: float, points: int) -> CountSeries:
    """The part of a curve that is seen, thinned; every point kept is the count at its time."""
    first = max(int(np.searchsorted(series.time_s, start_s)) - 1, 0)
    stop = int(np.searchsorted(series.time_s, end_s, side="right")) + 1
    kept = first + some_of(series.time_s[first:stop], points)
    ahead = series.ahead
    if ahead is not None:
        stop = int(np.searchsorted(ahead.time_s, end_s, side="right")) + 1
        seen = some_of(ahead.time_s[:stop], points // 2)
        ahead = CountAhead(
            ahead.time_s[seen], ahead.low[seen], ahead.middle[seen], ahead.high[seen], ahead.basis
        )
    return replace(
        series,
        time_s=series.time_s[kept],
        low=series.low[kept],
        middle=series.middle[kept],
        high=series.high[kept],
        ahead=ahead,
    )


def cut_warmth(warmth: WarmthAhead, end_s: float, points: int) -> WarmthAhead:
    """The part of a guessed temperature that is seen."""
    stop = int(np.searchsorted(warmth.time_s, end_s, side="right")) + 1
    seen = some_of(warmth.time_s[:stop], points)
    return replace(warmth, time_s=warmth.time_s[seen], temperature_c=warmth.temperature_c[seen])


def _count_ahead(batch: BatchView) -> CountAhead | None:
    """What the outlook adds to the count so far; None where nothing more is to come."""
    a, outlook, law = batch.worked.assessment, batch.case.outlook, opening_law(batch.sheet)
    if not isinstance(outlook, Outlook) or law is None or not a.forecast.stages:
        return None
    if a.count.middle is None or a.count.high is None:
        return None
    ahead = look_ahead(outlook, law, a.band_c or 0.0)
    return CountAhead(
        ahead.middle.time_s,
        a.count.low + ahead.low.total,
        a.count.middle + ahead.middle.total,
        a.count.high + ahead.high.total,
        a.forecast.basis,
    )


def _warmth_ahead(batch: BatchView) -> WarmthAhead | None:
    outlook = batch.case.outlook
    if not isinstance(outlook, Outlook) or not batch.worked.assessment.forecast.stages:
        return None
    beside = batch.counted[-1]
    return WarmthAhead(
        beside.sensor.name,
        beside.stay.channel,
        outlook.time_s,
        outlook.middle_c,
        batch.worked.assessment.forecast.basis,
    )


def ahead_s(standing: Standing, begun_s: float) -> float:
    """How far past now to look at first: to the next opening of the slowest batch, where guessed.

    Never further than a day, or than it has already been, so that what was measured stays in sight.
    """
    now_s = standing.at.timestamp()
    late = [
        told.opens.late.timestamp()
        for series in standing.counts
        if (stage := _next_opening(series)) is not None
        and (told := series.forecast.stage(stage)) is not None
        and told.opens.late is not None
    ]
    if not late:
        return 0.0
    return min(1.08 * (max(late) - now_s), max(_AHEAD_AT_LEAST_S, now_s - begun_s))


def _next_opening(series: CountSeries) -> Stage | None:
    return next((s for s in _OPENINGS if series.forecast.stage(s) is not None), None)
