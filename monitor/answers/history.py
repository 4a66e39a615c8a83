"""One layup's whole history as columns, from readings already loaded: for what is printed once.

What a page zooms into is `monitor.answers.picture`. Columns are thinned to what can be seen; each
point kept is a stored reading or the count at one, never an average.
"""

from datetime import datetime, tzinfo

import numpy as np
from numpy.typing import NDArray

from monitor.air import dew_point_c, spread_c
from monitor.answers.counts import cut, standing_of
from monitor.answers.views import LayupHistory, StaySeries
from monitor.cure.beside import StayRead, good
from monitor.overview import Beside, LayupView
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
    standing = standing_of(view, now, zone)
    if standing is None:
        raise ValueError("a whole history needs a view of the whole record")
    return LayupHistory(
        view.layup.number,
        view.layup.what,
        now,
        str(zone),
        unit,
        start.timestamp(),
        now.timestamp(),
        stays,
        tuple(
            cut(series, start.timestamp(), now.timestamp(), POINTS // 2)
            for series in standing.counts
        ),
        view.marks,
        alerts,
        sheets=standing.sheets,
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
