"""The count a second time, the slow way: one-second sums, rule by rule, sharing no code.

Written from the rules as people state them: look at every second, find the readings beside it,
say how warm each edge of the band was, add up.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

LINE_S = 15 * 60
GIVE_UP_S = 2 * 60 * 60
KELVIN = 273.15
GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA 2018

EDGES = {"low": -1, "middle": 0, "high": 1}


@dataclass(frozen=True)
class Rates:
    """The figures of a resin that make its clock run."""

    base_c: float = 0.0
    floor_c: float | None = None
    cap_c: float | None = None
    doubling_c: float | None = None
    reference_c: float = 20.0
    activation_kj_per_mol: float | None = None

    def opening(self, temperature_c):
        t = np.asarray(temperature_c, float)
        held = t if self.cap_c is None else np.minimum(t, self.cap_c)
        if self.activation_kj_per_mol is not None:
            rate = self._arrhenius(held)
        else:
            rate = np.maximum(held - self.base_c, 0.0)
        return rate if self.floor_c is None else np.where(t < self.floor_c, 0.0, rate)

    def closing(self, temperature_c):
        t = np.asarray(temperature_c, float)
        if self.activation_kj_per_mol is not None:
            return self._arrhenius(t)
        rate = np.maximum(t - self.base_c, 0.0)
        if self.doubling_c is None:
            return rate
        doubled = (self.reference_c - self.base_c) * 2.0 ** (
            (t - self.reference_c) / self.doubling_c
        )
        return np.maximum(rate, doubled)

    def _arrhenius(self, t):
        per_kelvin = self.activation_kj_per_mol * 1000.0 / GAS_CONSTANT
        return np.exp(per_kelvin * (1.0 / (self.reference_c + KELVIN) - 1.0 / (t + KELVIN)))


@dataclass(frozen=True)
class Said:
    """One good reading: when (whole seconds), how warm, and how far the part may be from it."""

    at_s: int
    temperature_c: float
    band_c: float


@dataclass(frozen=True)
class Tape:
    """One edge second by second: its temperature, and whether it earned anything there.

    `unknown_from_s`: nobody can say what came after. None: it is known to the end.
    """

    start_s: int
    temperature_c: np.ndarray
    earns: np.ndarray
    unknown_from_s: int | None

    def count(self, rate) -> np.ndarray:
        """The running count at the end of each second; nan once it is unknown."""
        count = np.cumsum(np.where(self.earns, rate(self.temperature_c), 0.0)) / 3600.0
        if self.unknown_from_s is not None:
            count[max(self.unknown_from_s - self.start_s, 0) :] = np.nan
        return count

    def total(self, rate) -> float | None:
        count = self.count(rate)
        return None if np.isnan(count[-1]) else float(count[-1])

    def reached_s(self, rate, need: float) -> float | None:
        """The end of the first second by which the count has reached the need."""
        hit = np.flatnonzero(self.count(rate) >= need)
        return None if hit.size == 0 else float(self.start_s + hit[0] + 1)


def tape(edge: str, readings: list[Said], mixed_s: int, now_s: int, give_or_take_s: int = 0):
    """One edge of the band from its own mixing time until now."""
    sign = EDGES[edge]
    # A later start is the same line cut off; an earlier one is a longer line.
    start_s = mixed_s - give_or_take_s if sign > 0 else mixed_s
    known = sorted((r for r in readings if r.at_s <= now_s), key=lambda r: r.at_s)
    length = max(now_s - start_s, 1)
    line, earns = np.zeros(length), np.zeros(length, bool)
    unknown_from_s = None
    before = [r for r in known if r.at_s < start_s]
    after = [r for r in known if r.at_s >= start_s]

    def shifted(reading: Said) -> float:
        return reading.temperature_c + sign * reading.band_c

    def lay(first_s: int, stop_s: int, temperature_at, counts: bool) -> None:
        first, stop = max(first_s, start_s) - start_s, min(stop_s, now_s) - start_s
        middles = start_s + np.arange(first, stop) + 0.5
        line[first:stop] = temperature_at(middles)
        earns[first:stop] = counts

    def straight(one: Said, other: Said):
        def at(t):
            share = (t - one.at_s) / (other.at_s - one.at_s)
            return shifted(one) + share * (shifted(other) - shifted(one))

        return at

    def between(one: Said, other: Said) -> None:
        apart = other.at_s - one.at_s
        colder, warmer = sorted((shifted(one), shifted(other)))
        if apart <= LINE_S or sign == 0:
            lay(one.at_s, other.at_s, straight(one, other), True)
        elif sign > 0:
            lay(one.at_s, other.at_s, lambda t: np.full(t.size, warmer), True)
        else:
            lay(one.at_s, other.at_s, lambda t: np.full(t.size, colder), apart <= GIVE_UP_S)

    def beside_one(reading: Said, first_s: int, stop_s: int) -> None:
        nonlocal unknown_from_s
        apart = stop_s - first_s
        if sign >= 0 and apart > GIVE_UP_S:
            if unknown_from_s is None:
                unknown_from_s = first_s
            return
        counts = sign >= 0 or apart <= LINE_S
        lay(first_s, stop_s, lambda t: np.full(t.size, shifted(reading)), counts)

    first = after[0]
    if first.at_s > start_s:
        if before and first.at_s - before[-1].at_s <= LINE_S:
            lay(start_s, first.at_s, straight(before[-1], first), True)
        else:
            beside_one(first, start_s, first.at_s)
    for one, other in pairwise(after):
        between(one, other)
    if after[-1].at_s < now_s:
        beside_one(after[-1], after[-1].at_s, now_s)
    if sign < 0:
        earns[:give_or_take_s] = False
    return Tape(start_s, line, earns, unknown_from_s)
