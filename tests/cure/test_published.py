"""The clocks against the maturity method's own definition and worked cases.

The count is the temperature-time factor of the maturity method for concrete (ASTM C1074), the
arrhenius clock its equivalent age: the arithmetic is the same, only the figures are a resin's.
"""

import math

import numpy as np
import pytest

from monitor.cure.law import Law
from monitor.records import Sheet
from monitor.units import GAS_CONSTANT_J_PER_MOL_K, KELVIN_AT_0_C
from tests.cure.histories import a_sheet, arrhenius_sheet, closing, middle_count, opening

QUARTERS_OF_A_DAY = np.arange(0.0, 24.01, 0.25)
Q_5000_KJ_PER_MOL = 5000.0 * GAS_CONSTANT_J_PER_MOL_K / 1000.0


def steady(law: Law, hours: float, temperature_c: float) -> float:
    times = np.arange(0.0, hours + 0.125, 0.25)
    return middle_count(times, np.full(times.size, temperature_c), law)


def rate(sheet: Sheet, temperature_c: float) -> float:
    return float(opening(sheet).rate(np.array([temperature_c]))[0])


@pytest.mark.parametrize(
    ("days", "temperature_c", "expected_ch"),
    [
        # 28 days at 18 °C over a datum of -11 °C: 19 488 °C·h. A worked case printed in
        # civil-engineering notes on the maturity of concrete (civilmint.com/maturity-of-concrete),
        # where textbooks round it to 19 800; recomputed.
        (28, 18.0, 19_488.0),
        # 28 days at 15 °C over -11 °C: 728 °C·days (civinnovate.com/?p=18387); recomputed.
        (28, 15.0, 728.0 * 24.0),
    ],
)
def test_the_count_is_the_temperature_time_factor(
    days: int, temperature_c: float, expected_ch: float
) -> None:
    """Steady warmth over a datum adds up as the textbooks' maturity does."""
    count = steady(opening(a_sheet(base_c=-11.0)), 24.0 * days, temperature_c)
    assert count == pytest.approx(expected_ch, rel=1e-9)


def test_a_datum_keeps_its_sign() -> None:
    """The wrong sign of the datum gives 112 °C·days, which the same source lists as the mistake."""
    wrong = steady(opening(a_sheet(base_c=11.0)), 24.0 * 28, 15.0)
    assert wrong / 24.0 == pytest.approx(112.0, rel=1e-9)
    assert steady(opening(a_sheet(base_c=-11.0)), 24.0 * 28, 15.0) != pytest.approx(wrong)


def test_warm_days_and_cool_nights_add_up() -> None:
    """7 days, 12 h at 20 and 12 h at 10 °C over -11 °C: 4368 °C·h.

    M. S. Shetty, Concrete Technology, a worked case (from memory; recomputed). The day's steps are
    two minutes of straight line here, which adds and takes the same.
    """
    step = 1.0 / 30.0
    hours, temperatures = [0.0], [20.0]
    for half in range(14):
        grid = np.arange(0.25, 12.0, 0.25) + 12.0 * half
        hours += [12.0 * half + step, *grid, 12.0 * (half + 1)]
        temperatures += [20.0 if half % 2 == 0 else 10.0] * (grid.size + 2)
    count = middle_count(np.array(hours), np.array(temperatures), opening(a_sheet(base_c=-11.0)))
    # Thirteen changes of ±10 °C over two minutes: seven down and six up, one down left over.
    left_over = 10.0 * step / 2.0
    assert count == pytest.approx(4368.0 + left_over, abs=1e-6)


def test_nothing_is_earned_below_the_datum() -> None:
    """The increment is 0 where the temperature is below the datum, never less.

    ASTM C1074, the temperature-time factor (definition; equation 1 from memory).
    """
    law = opening(a_sheet(base_c=0.0))
    assert steady(law, 24.0, -5.0) == 0.0
    assert steady(law, 24.0, 0.0) == 0.0


def test_a_falling_line_is_a_trapezoid() -> None:
    """18, 16, 14, 12, 10, 8 °C by the hour over 5 °C are 40 degree-hours: a sum by hand."""
    knots = np.arange(6.0)
    hours = np.arange(0.0, 5.01, 0.25)
    line = np.interp(hours, knots, [18.0, 16.0, 14.0, 12.0, 10.0, 8.0])
    assert middle_count(hours, line, opening(a_sheet(base_c=5.0))) == pytest.approx(40.0, abs=1e-9)


def test_floor_and_cap_by_hand() -> None:
    """From 10 to 30 °C in 10 h, base 5, floor 12, cap 26: 140 degree-hours.

    By hand: 1 h below the floor earns nothing, 7 h go from 7 to 21 over the base and earn 98,
    2 h sit at the cap and earn 42. Closings take all of it: 10 h at a mean of 15 are 150.
    """
    hours = np.arange(0.0, 10.01, 0.25)
    sheet = a_sheet(base_c=5.0, floor_c=12.0, cap_c=26.0)
    line = 10.0 + 2.0 * hours
    assert middle_count(hours, line, opening(sheet)) == pytest.approx(140.0, abs=1e-9)
    assert middle_count(hours, line, closing(sheet)) == pytest.approx(150.0, abs=1e-9)


@pytest.mark.parametrize(
    ("temperature_c", "reference_c", "expected_h"),
    [
        # ASTM C1074, equation 2: te = Σ exp(-Q (1/Ta - 1/Ts)) Δt, kelvin, Q = 5000 K for a Type I
        # cement (formula and Q from memory; computed).
        (10.0, 20.0, 13.1403),
        (10.0, 23.0, 11.055),
        (30.0, 20.0, 42.12677),
        (20.0, 20.0, 24.0),
    ],
)
def test_equivalent_age_of_a_day(
    temperature_c: float, reference_c: float, expected_h: float
) -> None:
    """A day at one temperature is worth so many hours at the reference."""
    sheet = arrhenius_sheet(Q_5000_KJ_PER_MOL, reference_c)
    assert steady(opening(sheet), 24.0, temperature_c) == pytest.approx(expected_h, abs=5e-4)
    assert steady(closing(sheet), 24.0, temperature_c) == pytest.approx(expected_h, abs=5e-4)


def test_equivalent_age_needs_whole_kelvins_and_their_quarter() -> None:
    """Rounding 0 °C to 273 K would give 13.132 h for a day at 10 °C instead of 13.140: computed."""
    sheet = arrhenius_sheet(Q_5000_KJ_PER_MOL)
    rounded = 24.0 * math.exp(-5000.0 * (1.0 / 283.0 - 1.0 / 293.0))
    assert rounded == pytest.approx(13.132, abs=5e-4)
    assert steady(opening(sheet), 24.0, 10.0) - rounded > 0.005


@pytest.mark.parametrize(
    ("kj_per_mol", "temperature_c", "expected"),
    [
        # The Arrhenius identity exp(E/R (1/Tref - 1/T)) with R = 8.314462618 J/(mol K), computed.
        # 33.5 kJ/mol: Freiesleben Hansen and Pedersen, 1977, at 20 °C and above (from memory).
        (33.5, 25.0, 1.25922),
        (33.5, 30.0, 1.57362),
        # 40 to 60 kJ/mol: polyester with a ketone peroxide and cobalt, J. Appl. Polym. Sci. 102
        # (2006) 1870-1876, abstract.
        (40.0, 5.0, 0.413),
        (40.0, 10.0, 0.560),
        (40.0, 15.0, 0.75219),
        (40.0, 25.0, 1.317),
        (40.0, 30.0, 1.71833),
        (45.0, 10.0, 0.52098),
        (50.0, 5.0, 0.33079),
        (50.0, 10.0, 0.485),
        (50.0, 25.0, 1.411),
        (50.0, 30.0, 1.96735),
        (60.0, 5.0, 0.265),
        (60.0, 15.0, 0.65237),
        (60.0, 30.0, 2.25247),
    ],
)
def test_arrhenius_ratios(kj_per_mol: float, temperature_c: float, expected: float) -> None:
    """An hour at a temperature is worth this many at 20 °C."""
    assert rate(arrhenius_sheet(kj_per_mol), temperature_c) == pytest.approx(expected, abs=6e-4)


@pytest.mark.parametrize(
    ("cold_c", "kj_per_mol"),
    # The activation energy at which 10 °C double the rate, by the Arrhenius identity: computed.
    [(0.0, 44.574), (5.0, 46.191), (10.0, 47.837), (15.0, 49.512), (20.0, 51.216)],
)
def test_ten_degrees_double_the_rate(cold_c: float, kj_per_mol: float) -> None:
    """Q10 = 2 holds for the energy that belongs to those ten degrees."""
    sheet = arrhenius_sheet(kj_per_mol)
    assert rate(sheet, cold_c + 10.0) / rate(sheet, cold_c) == pytest.approx(2.0, rel=1e-4)


def test_the_two_clocks_part_in_the_cold() -> None:
    """At 5 °C a base of 5 says nothing is earned; 50 kJ/mol says a third of the rate at 20 °C."""
    assert rate(a_sheet(base_c=5.0), 5.0) == 0.0
    assert rate(arrhenius_sheet(50.0), 5.0) == pytest.approx(0.33, abs=0.01)


@pytest.mark.parametrize("doublings", [-2, -1, 0, 1, 2])
def test_a_doubling_clock_doubles(doublings: int) -> None:
    """Outside the line's reach a closing's rate is (reference - base)·2^n, n doublings away.

    The definition; base 5, reference 20, doubling 8 °C: 15 an hour at 20 °C.
    """
    law = closing(a_sheet(base_c=5.0, doubling_c=8.0, reference_c=20.0))
    temperature_c = 20.0 + 8.0 * doublings
    expected = max(15.0 * 2.0**doublings, temperature_c - 5.0)
    assert float(law.rate(np.array([temperature_c]))[0]) == pytest.approx(expected, rel=1e-12)


def test_equivalent_age_of_a_changing_day_lies_between_its_ends() -> None:
    """A day from 10 to 30 °C is worth more than at its mean, for the curve bends upward.

    Jensen's inequality for exp(-Q/T) at these temperatures, where T < Q/2.
    """
    law = opening(arrhenius_sheet(Q_5000_KJ_PER_MOL))
    count = middle_count(QUARTERS_OF_A_DAY, 10.0 + QUARTERS_OF_A_DAY * 20.0 / 24.0, law)
    assert 24.0 < count < 42.12677
    mean_k = 20.0 + KELVIN_AT_0_C
    assert mean_k < 5000.0 / 2.0
