"""Which trial cups may stand on one line: those of one dose and one size."""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from monitor.records import GelRow

APART_C = 1.0
"""Cups nearer than this were at one temperature, as a cheap thermometer can tell. Our rule."""

DOSE_SLACK_POINTS = 0.05
"""Doses this near count as one. This project's rule."""

SIZE_SLACK = 0.05
"""Cup sizes this near, as a share of the smaller, count as one. This project's rule."""

_ROUNDING = 1e-9

Why = Literal["another-dose", "another-size", "no-dose", "no-size"]


@dataclass(frozen=True, slots=True)
class Chosen:
    """The cups that may stand on one line, and each that may not with its reason."""

    cups: tuple[GelRow, ...]
    left_out: tuple[tuple[GelRow, Why], ...]
    mix_pct: float | None
    cup_g: float | None


def temperatures_apart(temperature_c: Iterable[float]) -> int:
    """How many temperatures (°C) a person would call different.

    Valid for any finite values. Source: this project's rule, 1 °C apart.
    """
    count, last = 0, -math.inf
    for value in sorted(temperature_c):
        if value >= last + APART_C - _ROUNDING:
            count, last = count + 1, value
    return count


def choose_cups(
    cups: Sequence[GelRow],
    *,
    mix_pct: float | None = None,
    cup_g: float | None = None,
    aim_pct: float | None = None,
) -> Chosen:
    """The cups of one dose (% of the resin) and one size (g): those with most temperatures.

    `mix_pct` and `cup_g` say which instead. Where two doses have as many, the one nearest the
    aim (%) is taken, else the lower; of two sizes the smaller, for it heats itself less. Valid for
    any cups. Source: this project's rule; that dose and size each set their own pace is common
    practice, no source.
    """
    of_dose: list[GelRow] = []
    kept: list[GelRow] = []
    best: tuple[float, ...] | None = None
    for dose, same_dose in _alike(cups, _dose, lambda dose: DOSE_SLACK_POINTS, mix_pct):
        far = abs(dose - aim_pct) if aim_pct is not None and dose is not None else 0.0
        for size, alike in _alike(same_dose, _size, lambda size_g: size_g * SIZE_SLACK, cup_g):
            apart = temperatures_apart(cup.temperature_c for cup in alike)
            rank = (-apart, -len(alike), far, _last(dose), _last(size))
            if best is None or rank < best:
                best, of_dose, kept = rank, same_dose, alike
    left = tuple((cup, _why(cup, of_dose)) for cup in cups if not _among(cup, kept))
    return Chosen(tuple(kept), left, _mean(kept, _dose), _mean(kept, _size))


def _dose(cup: GelRow) -> float | None:
    return cup.catalyst_pct


def _size(cup: GelRow) -> float | None:
    return cup.cup_g


def _last(value: float | None) -> float:
    """A figure to sort by, with what isn't known behind everything."""
    return math.inf if value is None else value


def _among(cup: GelRow, cups: Sequence[GelRow]) -> bool:
    return any(cup is other for other in cups)


def _mean(cups: Sequence[GelRow], figure: Callable[[GelRow], float | None]) -> float | None:
    given = [value for cup in cups if (value := figure(cup)) is not None]
    return sum(given) / len(given) if given else None


def _alike(
    cups: Sequence[GelRow],
    figure: Callable[[GelRow], float | None],
    slack: Callable[[float], float],
    wanted: float | None,
) -> list[tuple[float | None, list[GelRow]]]:
    """Groups of cups that count as one in a figure; those without it are a group of their own."""
    given = [(value, cup) for cup in cups if (value := figure(cup)) is not None]
    if wanted is not None:
        within = slack(wanted) + _ROUNDING
        return [(wanted, [cup for value, cup in given if abs(value - wanted) <= within])]
    groups: list[tuple[float | None, list[GelRow]]] = []
    for least in sorted({value for value, _ in given}):
        most = least + slack(least) + _ROUNDING
        groups.append((least, [cup for value, cup in given if least <= value <= most]))
    bare = [cup for cup in cups if figure(cup) is None]
    return [*groups, (None, bare)] if bare else groups


def _why(cup: GelRow, of_dose: Sequence[GelRow]) -> Why:
    """Why a cup stays out: its dose first, then its size."""
    if not _among(cup, of_dose):
        return "no-dose" if cup.catalyst_pct is None else "another-dose"
    return "no-size" if cup.cup_g is None else "another-size"
