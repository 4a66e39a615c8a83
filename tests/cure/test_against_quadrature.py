"""The exact sums against a general-purpose integrator: scipy's QUADPACK."""

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from monitor.cure.exposure import expose
from monitor.cure.law import Law
from tests.cure.histories import (
    HOUR_S,
    START_S,
    a_sheet,
    arrhenius_sheet,
    closing,
    opening,
    tally,
    trace,
)
from tests.cure.naive import Rates

Rate = Callable[[np.ndarray], np.ndarray]
NEARNESS = 1e-9

FIGURES = {
    "plain": {"base_c": 5.0},
    "floor and cap": {"base_c": 5.0, "floor_c": 12.0, "cap_c": 26.0},
    "floor under base": {"base_c": 8.0, "floor_c": 4.0, "cap_c": 30.0},
    "cap only": {"base_c": 0.0, "cap_c": 21.0},
    "doubling": {"base_c": 5.0, "floor_c": 10.0, "doubling_c": 8.0, "reference_c": 20.0},
    "quick doubling": {"base_c": 10.0, "doubling_c": 4.0, "reference_c": 20.0},
    "touching doubling": {"base_c": 5.0, "doubling_c": 15.0 * np.log(2.0), "reference_c": 20.0},
    "arrhenius": {"activation_kj_per_mol": 50.0, "reference_c": 20.0},
    "arrhenius guarded": {
        "activation_kj_per_mol": 60.0,
        "reference_c": 23.0,
        "floor_c": 8.0,
        "cap_c": 28.0,
    },
}


def pair(name: str, side: str) -> tuple[Law, Rate, list[float]]:
    """Our law, the same rate written elsewhere, and the temperatures at which it may bend."""
    figures = FIGURES[name]
    rates = Rates(**figures)
    if "activation_kj_per_mol" in figures:
        rest = {k: v for k, v in figures.items() if k in ("floor_c", "cap_c")}
        sheet = arrhenius_sheet(rates.activation_kj_per_mol or 0.0, rates.reference_c, **rest)
    else:
        sheet = a_sheet(**figures)
    law, rate = (
        (opening(sheet), rates.opening) if side == "opening" else (closing(sheet), rates.closing)
    )
    bends = [value for key, value in figures.items() if key in ("base_c", "floor_c", "cap_c")]
    return law, rate, bends + meetings(rates)


def meetings(rates: Rates) -> list[float]:
    """Where a doubling rate and the straight one meet, found by a root finder."""
    if rates.doubling_c is None:
        return []
    height = rates.reference_c - rates.base_c

    def above(t: float) -> float:
        assert rates.doubling_c is not None
        return height * 2.0 ** ((t - rates.reference_c) / rates.doubling_c) - (t - rates.base_c)

    grid = np.arange(rates.base_c - 5.0, 100.0, 0.0937)
    signs = [(a, b) for a, b in pairwise(grid) if above(a) * above(b) < 0.0]
    return [rates.reference_c, *(float(brentq(above, a, b, xtol=1e-13)) for a, b in signs)]


def integral(
    rate: Rate, bends: list[float], hours: float, start_c: float, end_c: float, until: float = 1.0
) -> float:
    """A straight line's count from 0 to `until` of its length, by quadrature between its bends."""
    slope_c = end_c - start_c
    cuts = [(bend - start_c) / slope_c for bend in bends] if slope_c else []
    ends = [0.0, *sorted({cut for cut in cuts if 0.0 < cut < until}), until]

    def along(share: float) -> float:
        return float(rate(np.array(start_c + share * slope_c)))

    parts = [quad(along, a, b, epsabs=1e-13, epsrel=1e-12)[0] for a, b in pairwise(ends)]
    return hours * sum(parts)


LAWS = [(name, side) for name in FIGURES for side in ("opening", "closing")]


@pytest.mark.parametrize(("name", "side"), LAWS)
def test_straight_lines_are_exact(name: str, side: str) -> None:
    """Random straight lines, through every kink of a law, earn what quadrature says they do."""
    law, rate, bends = pair(name, side)
    chance = np.random.default_rng(hash_of(name, side))
    hours = chance.uniform(0.01, 3.0, 60)
    start_c, end_c = chance.uniform(-10.0, 45.0, (2, 60))
    end_c[:3] = start_c[:3]
    ours = law.earned(hours, start_c, end_c)
    expected = [integral(rate, bends, *line) for line in zip(hours, start_c, end_c, strict=True)]
    np.testing.assert_allclose(ours, expected, rtol=NEARNESS, atol=1e-11)


def hash_of(name: str, side: str) -> int:
    """A seed that stays the same from run to run."""
    return sum(ord(letter) for letter in name + side)


@pytest.mark.parametrize(("name", "side"), LAWS)
def test_a_crossing_is_where_the_count_is_the_need(name: str, side: str) -> None:
    """At each reported moment the readings so far, integrated, have earned just the need."""
    law, rate, bends = pair(name, side)
    chance = np.random.default_rng(1 + hash_of(name, side))
    for _ in range(4):
        steps_s = chance.integers(20, 900, 80).astype(float)
        time_s = START_S + np.concatenate(([0.0], np.cumsum(steps_s)))
        line_c = 17.0 + np.cumsum(chance.normal(0.0, 1.2, time_s.size))
        exposure = expose((trace(time_s, line_c),), START_S, float(time_s[-1]))
        count = tally(exposure, exposure.middle, law)
        assert count.total is not None
        assert count.total > 0.0
        for share in (0.05, 0.37, 0.81, 0.999):
            need = share * count.total
            at_s = count.reached(need)
            assert at_s is not None
            earned = until(rate, bends, time_s, line_c, at_s)
            assert earned == pytest.approx(need, rel=NEARNESS, abs=3e-9)


def until(
    rate: Rate, bends: list[float], time_s: np.ndarray, line_c: np.ndarray, at_s: float
) -> float:
    earned = 0.0
    for i in range(time_s.size - 1):
        length_s = float(time_s[i + 1] - time_s[i])
        share = min((at_s - float(time_s[i])) / length_s, 1.0)
        if share > 0.0:
            ends = float(line_c[i]), float(line_c[i + 1])
            earned += integral(rate, bends, length_s / HOUR_S, *ends, until=share)
    return earned
