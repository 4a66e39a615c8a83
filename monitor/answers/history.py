"""One layup's history as columns to draw: what was measured, what it counted, where nobody looked.

Columns are thinned to what a screen can show; each point kept is a stored reading or the count at
one, never an average.
"""

from datetime import datetime, tzinfo

import numpy as np
from numpy.typing import NDArray

from monitor.air import dew_point_c, spread_c
from monitor.answers.views import CountSeries, LayupHistory, StaySeries
from monitor.cure.beside import StayRead, good
from monitor.cure.count import Chunks, Tally
from monitor.cure.law import opening_law
from monitor.overview import BatchView, Beside, LayupView
from monitor.records import Alert, Channel, FloatArray
from monitor.units import Unit

POINTS = 1500


def history_of(
    view: LayupView, alerts: tuple[Alert, ...], now: datetime, *, zone: tzinfo, unit: Unit
) -> LayupHistory:
    """The layup from an hour before its first mix (or its first stay) until now."""
    mixed = [batch.batch.mixed_at for batch in view.batches]
    began = [beside.since for beside in view.stays]
    start = min(mixed or began or [now])
    stays = tuple(_stay_series(beside, start, now) for beside in view.stays)
    return LayupHistory(
        view.layup.number,
        view.layup.what,
        now,
        str(zone),
        unit,
        start.timestamp(),
        now.timestamp(),
        stays,
        tuple(_count_series(view.layup.number, batch) for batch in view.batches),
        view.marks,
        alerts,
    )


def _stay_series(beside: Beside, start: datetime, now: datetime) -> StaySeries:
    readings = beside.readings.between(start.timestamp() - 3600.0, now.timestamp())
    stay = beside.stay
    surface = stay.channel is Channel.SURFACE
    keep = good(StayRead(readings, stay.channel, stay.nearness))
    column = readings.surface_c if surface else readings.temperature_c
    shown = np.flatnonzero(keep)[thinned(column[keep], readings.time_s[keep])]
    humid = (readings.flags[shown] >> 16 & 0xFFFF) == 0
    humidity = np.where(humid, readings.humidity_pct[shown], np.nan)
    dew = dew_point_c(readings.temperature_c[shown], humidity)
    suspect = np.flatnonzero(~keep & np.isfinite(column))
    suspect = suspect[thinned(column[suspect], readings.time_s[suspect])]
    return StaySeries(
        beside.sensor.name,
        stay.channel,
        stay.nearness,
        readings.time_s[shown],
        column[shown],
        humidity,
        dew,
        spread_c(column[shown], dew),
        readings.time_s[suspect],
        column[suspect],
    )


def thinned(values: FloatArray, time_s: FloatArray, points: int = POINTS) -> NDArray[np.int64]:
    """Indexes of at most about `points` values that keep each stretch's lowest and highest."""
    n = values.size
    if n <= points:
        return np.arange(n)
    stretch = np.minimum(np.arange(n) * (points // 2) // n, points // 2 - 1)
    order = np.lexsort((values, stretch))
    firsts = np.searchsorted(stretch[order], np.arange(points // 2), side="left")
    lasts = np.searchsorted(stretch[order], np.arange(points // 2), side="right") - 1
    kept = {0, n - 1, *order[firsts].tolist(), *order[lasts].tolist()}
    # Both sides of a silence stay, or the line would seem to begin and end elsewhere.
    breaks = np.flatnonzero(np.diff(time_s) > 15 * 60.0)
    kept.update(breaks.tolist(), (breaks + 1).tolist())
    return np.array(sorted(kept), np.int64)


def _count_series(number: int, batch: BatchView) -> CountSeries:
    assessment = batch.worked.assessment
    return CountSeries(
        f"{number}/{batch.batch.name}",
        batch.batch.mixed_at,
        assessment.unit,
        *_curves(batch),
        assessment.gaps,
        assessment.parked,
        batch.sheet,
        assessment.stages,
    )


def _curves(batch: BatchView) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """The three edges of the count at shared times, thinned; nan where an edge is unknown."""
    law = opening_law(batch.sheet)
    if law is None:
        return np.empty(0), np.empty(0), np.empty(0), np.empty(0)
    exposure = batch.worked.exposure
    chunks = Chunks(exposure)
    curves = [Tally(chunks, edge, law).at_knots() for edge in exposure.edges]
    times = np.unique(np.concatenate([time_s for time_s, _ in curves]))
    times = times[thinned(times, times, POINTS // 2)]
    low, middle, high = (
        np.interp(times, time_s, count, left=0.0, right=np.nan) for time_s, count in curves
    )
    return times, low, middle, high
