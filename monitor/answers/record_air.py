"""How long a batch's air kept within its sheet's limits, and how long nobody measured."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from monitor.answers.dated import Dated
from monitor.answers.record_batch import name_said
from monitor.answers.record_views import KeptWithin
from monitor.answers.wording import STAGE_WORDS
from monitor.cure.beside import StayRead, good, spread_of
from monitor.overview import BatchView
from monitor.records import HUMIDITY_FLAGS, FloatArray, Stage
from monitor.times import from_unix, length_said
from monitor.units import SECONDS_PER_HOUR, Unit, difference_said, temperature_said

LONGEST_STEP_S = 15 * 60.0
"""Between readings further apart than this nobody measured, but for a sensor that is slower."""

_STEPS = 2.5

Column = tuple[FloatArray, FloatArray]
"""Times in Unix seconds and the values at them."""


@dataclass(frozen=True, slots=True)
class Within:
    """Hours of a column inside and outside two limits, and its own least and most."""

    measured_h: float
    under_h: float
    over_h: float
    least: float | None
    most: float | None


def shares_h(time_s: FloatArray, start_s: float, end_s: float) -> FloatArray:
    """The hours each reading stands for between two times: halfway to its neighbours.

    Where the next one is too far off to vouch for what lies between, none of it is anybody's.
    """
    shares = np.zeros(time_s.size)
    if time_s.size < 2:
        return shares
    steps = np.diff(time_s)
    longest = max(LONGEST_STEP_S, _STEPS * float(np.median(steps)))
    joined = steps <= longest
    middle = time_s[:-1] + steps / 2.0
    left = _clip(time_s[:-1], middle, start_s, end_s)
    right = _clip(middle, time_s[1:], start_s, end_s)
    shares[:-1] += np.where(joined, left, 0.0)
    shares[1:] += np.where(joined, right, 0.0)
    hours: FloatArray = shares / SECONDS_PER_HOUR
    return hours


def _clip(begin: FloatArray, end: FloatArray, start_s: float, end_s: float) -> FloatArray:
    inside: FloatArray = np.minimum(end, end_s) - np.maximum(begin, start_s)
    return np.maximum(inside, 0.0)


def within(
    columns: tuple[Column, ...],
    start_s: float,
    end_s: float,
    low: float | None,
    high: float | None,
) -> Within:
    """Hours measured, under `low` and over `high`, of columns that follow each other in time."""
    measured = under = over = 0.0
    inside: list[FloatArray] = []
    for time_s, value in columns:
        hours = shares_h(time_s, start_s, end_s)
        measured += float(hours.sum())
        under += 0.0 if low is None else float(hours[value < low].sum())
        over += 0.0 if high is None else float(hours[value > high].sum())
        inside.append(value[(time_s >= start_s) & (time_s <= end_s)])
    values = np.concatenate([np.empty(0), *inside])
    if not values.size:
        return Within(measured, under, over, None, None)
    return Within(measured, under, over, float(values.min()), float(values.max()))


def kept_within(batch: BatchView, dated: Dated, unit: Unit) -> KeptWithin:
    """One line for one batch: its air from mixing until it could be sanded, or until now."""
    a, sheet = batch.worked.assessment, batch.sheet
    until, why = _until(batch)
    start_s, end_s = a.mixed_at.timestamp(), until.timestamp()
    stays = batch.case.counted
    humid = tuple(_humidity(stay) for stay in stays)
    low_c, high_c = sheet.working_c or (None, None)
    warm = within(tuple(_temperature(stay) for stay in stays), start_s, end_s, low_c, high_c)
    damp = within(humid, start_s, end_s, None, sheet.humidity_max_pct)
    spread = within(
        tuple(spread_of(stay) for stay in stays), start_s, end_s, sheet.dew_spread_min_c, None
    )
    silent_s = sum(
        max((min(gap.end, until) - max(gap.start, a.mixed_at)).total_seconds(), 0.0)
        for gap in a.gaps
    )
    return KeptWithin(
        name_said(batch.batch),
        f"{dated.lasted(a.mixed_at, until)}, {why}",
        _warm_said(warm, sheet.working_c, unit),
        _damp_said(damp, sheet.humidity_max_pct),
        _spread_said(spread, sheet.dew_spread_min_c, unit),
        hours_said(silent_s / SECONDS_PER_HOUR),
    )


def _until(batch: BatchView) -> tuple[datetime, str]:
    a = batch.worked.assessment
    opened = a.stage(Stage.SAND).opens.late
    if opened is None:
        return a.now, "to the end of this record"
    return opened, f"to {STAGE_WORDS[Stage.SAND]} by the count"


def _temperature(stay: StayRead) -> Column:
    keep = good(stay)
    return stay.readings.time_s[keep], stay.column_c[keep]


def _humidity(stay: StayRead) -> Column:
    readings = stay.readings
    keep: NDArray[np.bool_] = np.isfinite(readings.humidity_pct)
    keep &= (readings.flags & HUMIDITY_FLAGS) == 0
    return readings.time_s[keep], readings.humidity_pct[keep]


def hours_said(hours: float) -> str:
    """`4 h 30 min`, or `none` under a minute."""
    return "none" if hours * 60.0 < 1.0 else length_said(hours * SECONDS_PER_HOUR)


def _warm_said(warm: Within, limits: tuple[float, float] | None, unit: Unit) -> str:
    if warm.least is None or warm.most is None:
        return "not measured"
    words = f"{temperature_said(warm.least, unit)} to {temperature_said(warm.most, unit)}. "
    if limits is None:
        return words + "Your sheet gives no working range."
    low, high = (temperature_said(limit, unit) for limit in limits)
    return words + (
        f"Under the sheet's {low}: {hours_said(warm.under_h)}; over its {high}: "
        f"{hours_said(warm.over_h)}."
    )


def _damp_said(damp: Within, limit_pct: float | None) -> str:
    if damp.least is None or damp.most is None:
        return "not measured"
    words = f"{damp.least:.0f} to {damp.most:.0f} %. "
    if limit_pct is None:
        return words + "Your sheet gives no limit."
    return words + f"Over the sheet's {limit_pct:g} %: {hours_said(damp.over_h)}."


def _spread_said(spread: Within, limit_c: float | None, unit: Unit) -> str:
    if spread.least is None:
        return "not measured"
    words = f"At least {difference_said(spread.least, unit)}. "
    if spread.least <= 0.0:
        words = "Wet. "
    if limit_c is None:
        return words + "Your sheet gives no limit."
    said = f"Nearer than the sheet's {difference_said(limit_c, unit)}: "
    return words + f"{said}{hours_said(spread.under_h)}."


def sunned_lines(stays: tuple[StayRead, ...], sunned_bit: int, dated: Dated) -> tuple[str, ...]:
    """When readings were put down to sun on the sensor: they are not counted."""
    lines = []
    for stay in stays:
        time_s = stay.readings.time_s[(stay.readings.flags & sunned_bit) != 0]
        for span in _spans(time_s):
            lines.append(dated.span(from_unix(span[0]), from_unix(span[1])))
    return tuple(lines)


def _spans(time_s: FloatArray) -> list[tuple[float, float]]:
    if not time_s.size:
        return []
    cuts = np.flatnonzero(np.diff(time_s) > LONGEST_STEP_S) + 1
    return [(float(part[0]), float(part[-1])) for part in np.split(time_s, cuts)]
