"""How long a cup stays workable: a sheet's gel rows, between their corners and nowhere else."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from monitor.cure.cups import DOSE_SLACK_POINTS, SIZE_SLACK
from monitor.records import GelRow

SHEET_SHARE = 0.35
"""How far a printed gel time may be off, as a share of it. Common practice, no source."""

OWN_SHARE = 0.20
"""The same for cups of one's own. This project's rule: a weighing 10 % off, and a thermometer 1 °C
off at 60 kJ/mol (8.7 % at 20 °C; J. Appl. Polym. Sci. 102 (2006) 1870-1876), added, rounded up."""

FIRST_SHARE = 1.0 / 3.0
"""Later than this in its time a cup is not stirred into again. This project's rule."""

_ROUNDING = 1e-9

Fits = Literal["covered", "smaller", "size-not-given"]
Why = Literal["no-rows", "no-dose", "cold", "hot", "dose", "corner", "bigger"]


@dataclass(frozen=True, slots=True)
class PotTime:
    """Minutes from mixing to gel in the cup, with their band."""

    low_min: float
    middle_min: float
    high_min: float
    fits: Fits

    @property
    def in_hand_min(self) -> int:
        return math.floor(self.low_min + _ROUNDING)


@dataclass(frozen=True, slots=True)
class NoPotTime:
    """Why the rows say nothing here, and what they do cover.

    `nearest_min`: minutes in the sheet's largest cup, where only the cup is too big.
    """

    why: Why
    temperature_c: tuple[float, float] | None = None
    mix_pct: tuple[float, float] | None = None
    cup_g: tuple[float, float] | None = None
    nearest_min: float | None = None


@dataclass(frozen=True, slots=True)
class _Axis:
    """One direction of the table. `slack`: how far from a group's first value still counts as it,
    and how far past the outermost group the table still holds."""

    at: float
    figure: Callable[[GelRow], float | None]
    slack: Callable[[float], float]


def pot_time(
    rows: Sequence[GelRow],
    *,
    temperature_c: float,
    cup_g: float,
    mix_pct: float | None = None,
    share: float = SHEET_SHARE,
) -> PotTime | NoPotTime:
    """Minutes to gel at the resin's temperature (°C), its dose (%) and the weight of mix (g).

    Linear in log minutes along temperature, dose and cup size, inside the rows' own corners.
    `mix_pct` None: an epoxy, whose dose is no direction. A cup smaller than the smallest is given
    the smallest one's minutes, for it is slower; a bigger one is given none. Valid for cup_g > 0
    and 0 ≤ share < 1. Source: the sheet's rows; the interpolation is this project's rule.
    """
    if not rows:
        return NoPotTime("no-rows")
    axes = [_Axis(temperature_c, _temperature, lambda value: _ROUNDING)]
    if mix_pct is not None:
        rows = [row for row in rows if row.catalyst_pct is not None]
        if not rows:
            return NoPotTime("no-dose")
        axes.insert(0, _Axis(mix_pct, _dose, lambda value: DOSE_SLACK_POINTS + _ROUNDING))
    sized = [row for row in rows if row.cup_g is not None]
    if not sized:
        found = _log_minutes(rows, axes)
        if found is None:
            return _outside(rows, temperature_c, mix_pct)
        return _banded(found, share, "size-not-given")
    by_size = _Axis(cup_g, _size, lambda value: value * SIZE_SLACK + _ROUNDING)
    sizes = _curve(sized, by_size, axes)
    if not sizes:
        return _outside(sized, temperature_c, mix_pct)
    (smallest, slowest), (biggest, quickest) = sizes[0], sizes[-1]
    if cup_g > biggest + by_size.slack(biggest):
        return NoPotTime("bigger", cup_g=(smallest, biggest), nearest_min=float(math.exp(quickest)))
    if cup_g < smallest - by_size.slack(smallest):
        return _banded(slowest, share, "smaller")
    return _banded(_on(sizes, cup_g), share, "covered")


def in_first_share(minutes_ago: float, pot: PotTime) -> bool:
    """Whether a cup is still in the first third of the minutes in hand, the careful edge.

    Valid for minutes_ago ≥ 0. Source: this project's rule.
    """
    return minutes_ago <= FIRST_SHARE * pot.low_min + _ROUNDING


def _banded(log_minutes: float, share: float, fits: Fits) -> PotTime:
    middle = math.exp(log_minutes)
    return PotTime(middle * (1.0 - share), middle, middle * (1.0 + share), fits)


def _temperature(row: GelRow) -> float | None:
    return row.temperature_c


def _dose(row: GelRow) -> float | None:
    return row.catalyst_pct


def _size(row: GelRow) -> float | None:
    return row.cup_g


def _log_minutes(rows: Sequence[GelRow], axes: Sequence[_Axis]) -> float | None:
    """The rows along the first axis, each group of them by the axes behind it. None: outside."""
    if not axes:
        return sum(math.log(row.minutes) for row in rows) / len(rows)
    axis, *rest = axes
    curve = _curve(rows, axis, rest)
    if not curve:
        return None
    (least, _), (most, _) = curve[0], curve[-1]
    if not least - axis.slack(least) <= axis.at <= most + axis.slack(most):
        return None
    return _on(curve, axis.at)


def _curve(rows: Sequence[GelRow], axis: _Axis, rest: Sequence[_Axis]) -> list[tuple[float, float]]:
    """(value on the axis, log minutes) in ascending order, of the groups that have an answer."""
    found = []
    for at, group in _groups(rows, axis):
        log_minutes = _log_minutes(group, rest)
        if log_minutes is not None:
            found.append((at, log_minutes))
    return found


def _groups(rows: Sequence[GelRow], axis: _Axis) -> list[tuple[float, list[GelRow]]]:
    given = [(value, row) for row in rows if (value := axis.figure(row)) is not None]
    groups: list[list[tuple[float, GelRow]]] = []
    for value, row in sorted(given, key=lambda pair: pair[0]):
        if groups and value <= groups[-1][0][0] + axis.slack(groups[-1][0][0]):
            groups[-1].append((value, row))
        else:
            groups.append([(value, row)])
    return [(sum(v for v, _ in g) / len(g), [row for _, row in g]) for g in groups]


def _on(curve: Sequence[tuple[float, float]], at: float) -> float:
    return float(np.interp(at, [x for x, _ in curve], [y for _, y in curve]))


def _outside(rows: Sequence[GelRow], temperature_c: float, mix_pct: float | None) -> NoPotTime:
    """Which corner is passed: warmth first, then dose."""
    warmth = _ends([row.temperature_c for row in rows])
    doses = [row.catalyst_pct for row in rows if row.catalyst_pct is not None]
    dose = _ends(doses) if doses and mix_pct is not None else None
    why: Why = "corner"
    if temperature_c < warmth[0]:
        why = "cold"
    elif temperature_c > warmth[1]:
        why = "hot"
    elif mix_pct is not None and dose is not None:
        slack = DOSE_SLACK_POINTS + _ROUNDING
        if not dose[0] - slack <= mix_pct <= dose[1] + slack:
            why = "dose"
    return NoPotTime(why, warmth, dose)


def _ends(values: Sequence[float]) -> tuple[float, float]:
    return min(values), max(values)
