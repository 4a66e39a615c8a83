"""Rate laws: how much count an hour at a temperature earns.

A law is cut at its kinks into zones. In a zone the rate is a straight line in temperature, or the
law's one smooth curve; so on a straight line of temperature a zone's share is exact (a line) or a
fixed-order Gauss sum (a curve).
"""

import math
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from monitor.errors import BadInput
from monitor.records import FloatArray, Sheet
from monitor.units import GAS_CONSTANT_J_PER_MOL_K, KELVIN_AT_0_C

DEFAULT_REFERENCE_C = 20.0
_GAUSS_ORDER = 10

Curve = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, eq=False)
class Law:
    """Count per hour as a function of temperature in °C.

    `kinks_c` ascend; zone i lies at or above kink i-1 and below kink i. `slopes` and `intercepts`
    give each zone's line; a zone in `curved` follows `curve` instead.
    """

    kinks_c: FloatArray
    slopes: FloatArray
    intercepts: FloatArray
    curved: NDArray[np.bool_]
    curve: Curve | None = None

    def zones(self, temperature_c: FloatArray) -> NDArray[np.int64]:
        """The zone each temperature (°C) falls into. Valid for any finite value.

        Source: the definition of the law.
        """
        return self.kinks_c.searchsorted(temperature_c, side="right")

    def rate(self, temperature_c: FloatArray) -> FloatArray:
        """Count per hour at each temperature (°C). Valid for any finite value.

        Source: the sheet's own figures.
        """
        rate = self.slopes[0] * temperature_c + self.intercepts[0]
        if self.curve is not None:
            curve = self.curve(temperature_c)
            rate = curve if self.curved[0] else rate
        for zone, kink in enumerate(self.kinks_c, 1):
            if self.curve is not None and self.curved[zone]:
                above = curve
            else:
                above = self.slopes[zone] * temperature_c + self.intercepts[zone]
            rate = np.where(temperature_c >= kink, above, rate)
        return np.asarray(rate)

    def mean_rate(self, start_c: FloatArray, end_c: FloatArray) -> FloatArray:
        """Mean count per hour along straight lines from start to end (°C), each in one zone.

        Valid where both ends of a line lie in one zone. Source: midpoint rule, exact on lines;
        Gauss-Legendre of order 10 on curves (Abramowitz and Stegun 25.4.29).
        """
        if self.curve is None:
            return self.rate((start_c + end_c) / 2.0)
        nodes, weights = np.polynomial.legendre.leggauss(_GAUSS_ORDER)
        along = (nodes + 1.0) / 2.0
        points = start_c[..., None] + along * (end_c - start_c)[..., None]
        return np.asarray(self.rate(points) @ (weights / 2.0))

    def earned(self, hours: FloatArray, start_c: FloatArray, end_c: FloatArray) -> FloatArray:
        """Count earned on each straight line of that many hours from start to end (°C).

        Valid for hours ≥ 0 and finite temperatures. Source: exact between kinks, where lines that
        cross a kink are cut at it.
        """
        earned = hours * self.mean_rate(start_c, end_c)
        across = self._across(start_c, end_c)
        if across.size:
            cuts = self._cuts(start_c[across], end_c[across])
            line = start_c[across, None] + cuts * (end_c - start_c)[across, None]
            # A cut's own temperature may round to either side of its kink: the middle may not.
            pieces = np.diff(cuts, axis=1) * self._piece_means(line)
            earned[across] = hours[across] * pieces.sum(axis=1)
        return earned

    def line_over(self, coldest_c: float, warmest_c: float) -> tuple[float, float] | None:
        """Slope and intercept where a stretch of temperatures (°C) keeps to one straight zone.

        None: it crosses a kink, or follows the curve. Valid for finite temperatures. Source: the
        definition of the law.
        """
        zone = bisect_right(self._kinks, coldest_c)
        if zone != bisect_right(self._kinks, warmest_c):
            return None
        return self._lines[zone]

    def earned_on(self, hours: float, start_c: float, end_c: float) -> float:
        """As `earned`, of one line: that many hours from start to end (°C).

        Valid for hours ≥ 0 and finite temperatures. Source: exact between kinks.
        """
        line = self.line_over(min(start_c, end_c), max(start_c, end_c))
        if line is not None:
            return hours * (line[0] * (start_c + end_c) / 2.0 + line[1])
        return float(self.earned(np.array([hours]), np.array([start_c]), np.array([end_c]))[0])

    @cached_property
    def _kinks(self) -> list[float]:
        kinks: list[float] = self.kinks_c.tolist()
        return kinks

    @cached_property
    def _lines(self) -> list[tuple[float, float] | None]:
        zones = zip(self.slopes, self.intercepts, self.curved, strict=True)
        return [None if curved else (float(a), float(b)) for a, b, curved in zones]

    def _across(self, start_c: FloatArray, end_c: FloatArray) -> NDArray[np.int64]:
        """Which lines have their ends in different zones."""
        differ = np.zeros(len(start_c), np.bool_)
        for kink in self.kinks_c:
            differ |= (start_c >= kink) != (end_c >= kink)
        return np.flatnonzero(differ)

    def share_for(self, hours: float, start_c: float, end_c: float, need: float) -> float:
        """How far along a straight line (0 to 1) it has earned `need`; 1 if it never does.

        Valid for hours > 0 and need ≥ 0. Source: exact in straight zones (the root of a
        quadratic); halving to 1e-9 of the line on curves.
        """
        slope_c = end_c - start_c
        meets = [(float(k) - start_c) / slope_c for k in self.kinks_c] if slope_c else []
        cuts = [0.0, *sorted(m for m in meets if 0.0 < m < 1.0), 1.0]
        for near, far in pairwise(cuts):
            begin_c, stop_c = start_c + near * slope_c, start_c + far * slope_c
            zone = int(self.zones(np.array((begin_c + stop_c) / 2.0)))
            length = (far - near) * hours
            if self.curved[zone]:
                got = float(self._piece_means(np.array([[begin_c, stop_c]]))[0, 0]) * length
                if got >= need:
                    return near + (far - near) * self._halved(length, begin_c, stop_c, need)
            else:
                slope, at_0 = float(self.slopes[zone]), float(self.intercepts[zone])
                first, last = slope * begin_c + at_0, slope * stop_c + at_0
                got = length * (first + last) / 2.0
                if got >= need:
                    return near + (far - near) * _root(first, last, length, need)
            need -= got
        return 1.0

    def _halved(self, hours: float, start_c: float, end_c: float, need: float) -> float:
        near, far = 0.0, 1.0
        while far - near > 1e-9:
            share = (near + far) / 2.0
            line = np.array([[start_c, start_c + share * (end_c - start_c)]])
            got = share * hours * float(self._piece_means(line)[0, 0])
            near, far = (share, far) if got < need else (near, share)
        return far

    def _cuts(self, start_c: FloatArray, end_c: FloatArray) -> FloatArray:
        """Fractions of each line at which it meets a kink, with 0 and 1, ascending."""
        at = (self.kinks_c - start_c[:, None]) / (end_c - start_c)[:, None]
        ends = np.tile([0.0, 1.0], (len(start_c), 1))
        return np.sort(np.hstack((ends, np.clip(at, 0.0, 1.0))), axis=1)

    def _piece_means(self, line: FloatArray) -> FloatArray:
        start, end = line[:, :-1], line[:, 1:]
        if self.curve is None:
            return self.rate((start + end) / 2.0)
        zone = self.zones((start + end) / 2.0)
        means = self.slopes[zone] * (start + end) / 2.0 + self.intercepts[zone]
        nodes, weights = np.polynomial.legendre.leggauss(_GAUSS_ORDER)
        points = start[..., None] + (nodes + 1.0) / 2.0 * (end - start)[..., None]
        return np.where(self.curved[zone], self.curve(points) @ (weights / 2.0), means)


def opening_law(sheet: Sheet) -> Law | None:
    """The law of openings: 0 below the floor, no more above the cap. None: the sheet has no base.

    Linear: (min(T, cap) - base) °C; arrhenius: equivalent hours an hour. Valid for any
    temperature. Source: the sheet; equivalent age by ASTM C1074.
    """
    if sheet.method == "arrhenius":
        return _arrhenius(sheet, sheet.floor_c, sheet.cap_c)
    if sheet.base_c is None:
        return None
    return _capped(sheet.base_c, sheet.floor_c, sheet.cap_c)


@lru_cache(maxsize=64)
def _capped(base_c: float, floor_c: float | None, cap_c: float | None) -> Law:
    start = base_c if floor_c is None else max(floor_c, base_c)
    if cap_c is None:
        return _lines((start,), (0.0, 1.0), (0.0, -base_c))
    top = max(cap_c - base_c, 0.0)
    if cap_c <= start:
        return _lines((start,), (0.0, 0.0), (0.0, top))
    return _lines((start, cap_c), (0.0, 1.0, 0.0), (0.0, -base_c, top))


def closing_law(sheet: Sheet) -> Law | None:
    """The law of closings: no floor and no cap, for cold hours still carry a surface to shut.

    With `doubling_c` it runs on the quicker of the line and a rate that doubles every so many °C.
    Valid for any temperature. Source: the sheet; equivalent age by ASTM C1074.
    """
    if sheet.method == "arrhenius":
        return _arrhenius(sheet, None, None)
    if sheet.base_c is None:
        return None
    if sheet.doubling_c is None:
        return _capped(sheet.base_c, None, None)
    reference = DEFAULT_REFERENCE_C if sheet.reference_c is None else sheet.reference_c
    return _doubling(sheet.base_c, reference, sheet.doubling_c)


def _lines(kinks: tuple[float, ...], slopes: tuple[float, ...], at_0: tuple[float, ...]) -> Law:
    return Law(
        np.array(kinks, float), np.array(slopes), np.array(at_0), np.zeros(len(slopes), np.bool_)
    )


def _root(first: float, last: float, hours: float, need: float) -> float:
    """The share of `hours` in which a rate going evenly from first to last earns `need`."""
    if need <= 0.0:
        return 0.0
    inside = max(first * first + 2.0 * (last - first) / hours * need, 0.0)
    return min(2.0 * need / (first + math.sqrt(inside)) / hours, 1.0)


def _arrhenius(sheet: Sheet, floor_c: float | None, cap_c: float | None) -> Law:
    if sheet.activation_kj_per_mol is None or sheet.reference_c is None:
        raise BadInput(
            f"The sheet {sheet.name!r} counts by arrhenius without its two figures.",
            "Give activation_kj_per_mol and reference_c under [count].",
        )
    return _guarded(sheet.activation_kj_per_mol, sheet.reference_c, floor_c, cap_c)


@lru_cache(maxsize=64)
def _guarded(
    activation_kj_per_mol: float, reference_c: float, floor_c: float | None, cap_c: float | None
) -> Law:
    """Hours at the reference worth one hour at T, nothing below the floor and no more than at the
    cap above it. Source: ASTM C1074, equivalent age."""
    kelvins = activation_kj_per_mol * 1000.0 / GAS_CONSTANT_J_PER_MOL_K
    reference = 1.0 / (reference_c + KELVIN_AT_0_C)

    def curve(temperature_c: FloatArray) -> FloatArray:
        return np.exp(kelvins * (reference - 1.0 / (temperature_c + KELVIN_AT_0_C)))

    kinks, at_0, curved = [], [0.0], [True]
    if floor_c is not None:
        kinks, at_0, curved = [floor_c], [0.0, 0.0], [False, True]
    if cap_c is not None:
        kinks.append(cap_c)
        at_0.append(float(curve(np.array(cap_c))))
        curved.append(False)
    flat = np.zeros(len(at_0))
    return Law(np.array(kinks, float), flat, np.array(at_0), np.array(curved), curve)


@lru_cache(maxsize=64)
def _doubling(base_c: float, reference_c: float, doubling_c: float) -> Law:
    """The larger of T - base and (reference - base)·2^((T - reference)/doubling)."""
    height = reference_c - base_c
    if height <= 0.0:
        return _lines((base_c,), (0.0, 1.0), (0.0, -base_c))

    def curve(temperature_c: FloatArray) -> FloatArray:
        return height * np.exp2((temperature_c - reference_c) / doubling_c)

    other = reference_c + _other_meeting(height, doubling_c)
    cold, warm = sorted((reference_c, other))
    slopes = np.array([0.0, 1.0, 0.0])
    at_0 = np.array([0.0, -base_c, 0.0])
    return Law(np.array([cold, warm]), slopes, at_0, np.array([True, False, True]), curve)


def _other_meeting(height: float, doubling_c: float) -> float:
    """Where the curve meets the line again, in °C from the reference (0: they only touch)."""

    def above(x: float) -> float:
        return float(height * 2.0 ** (x / doubling_c) - (x + height))

    steepness = height * math.log(2.0) / doubling_c
    lowest = doubling_c * math.log2(1.0 / steepness)  # the curve is deepest under the line here
    if abs(lowest) < 1e-9:
        return 0.0
    far = -height if lowest < 0.0 else 2.0 * lowest
    while above(far) < 0.0:
        far *= 2.0
    near = lowest
    for _ in range(200):
        middle = (near + far) / 2.0
        near, far = (middle, far) if above(middle) < 0.0 else (near, middle)
    return (near + far) / 2.0
