"""The base and the activation energy from trial cups, held against closed forms and references.

No worked set of gel times with its datum printed beside it was found to cite: a textbook's rate
constants and a certified straight line stand in.
"""

import math

import numpy as np
import pytest
from scipy import optimize, stats

from monitor.cure.cups import choose_cups, temperatures_apart
from monitor.cure.fit import fit_cups, pace_ratio, straight_line
from monitor.errors import BadInput
from monitor.records import FloatArray, GelRow
from monitor.units import GAS_CONSTANT_J_PER_MOL_K, KELVIN_AT_0_C

# NIST Statistical Reference Datasets, linear regression, "Norris": 36 points (x, y), certified.
NORRIS_X = """
0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5
11.6 556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1
448.9 0.5
"""
NORRIS_Y = """
0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9
10.8 557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4
449.2 0.2
"""

UNEVEN = (
    GelRow(12.0, 50.0),
    GelRow(16.0, 33.0),
    GelRow(20.0, 24.0),
    GelRow(20.0, 25.5),
    GelRow(26.0, 15.5),
)


def columns(cups: tuple[GelRow, ...]) -> tuple[FloatArray, FloatArray]:
    return np.array([c.temperature_c for c in cups]), np.array([c.minutes for c in cups])


def test_a_certified_line() -> None:
    """Slope, intercept and their errors of NIST's Norris data, to the certified digits."""
    line = straight_line(np.array(NORRIS_X.split(), float), np.array(NORRIS_Y.split(), float))
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-10)
    assert line.slope_error == pytest.approx(0.429796848199937e-03, rel=1e-10)
    assert line.intercept_error == pytest.approx(0.232818234301152, rel=1e-10)


def test_a_textbook_activation_energy() -> None:
    """Hydrogen iodide's decomposition: the slope read off the graph is -2.24e4 K, 190 kJ/mol.

    Rate constants at five temperatures and both answers: the worked example 12.13, "Using the
    Arrhenius Equation", of a general chemistry textbook (McMurry and Fay: the book's name from
    memory, the figures read). 1.9e5 J/mol has two figures, the graph's slope three.
    """
    temperature_c = np.array([283.0, 356.0, 393.0, 427.0, 508.0])
    k = np.array([3.52e-7, 3.02e-5, 2.19e-4, 1.16e-3, 3.95e-2])
    cups = [GelRow(float(t), float(1.0 / rate)) for t, rate in zip(temperature_c, k, strict=True)]
    line = straight_line(1.0 / (temperature_c + KELVIN_AT_0_C), np.log(k))
    assert line.slope == pytest.approx(-2.24e4, abs=0.005e4)
    # The straight line of k itself is refused over 225 °C of it, so only its own half is asked.
    assert -line.slope * GAS_CONSTANT_J_PER_MOL_K == pytest.approx(1.9e5, abs=0.05e5)
    with pytest.raises(BadInput, match="could not have kicked"):
        fit_cups(cups)


@pytest.mark.parametrize(("base_c", "per_minute"), [(5.0, 0.0026), (-11.0, 0.001), (9.5, 0.02)])
def test_a_made_up_base_comes_back(base_c: float, per_minute: float) -> None:
    """Cups on K = a(T - T0) give T0 exactly, with nothing left over."""
    at = (12.0, 17.0, 23.0, 30.0)
    found = fit_cups([GelRow(t, 1.0 / (per_minute * (t - base_c))) for t in at])
    assert found.base_c == pytest.approx(base_c, abs=1e-9)
    assert found.base_error_c == pytest.approx(0.0, abs=1e-9)
    assert [cup.base_off_pct for cup in found.cups] == pytest.approx([0.0] * 4, abs=1e-9)


@pytest.mark.parametrize("kj_per_mol", [33.5, 50.0, 60.0])
def test_a_made_up_energy_comes_back(kj_per_mol: float) -> None:
    """Cups on an Arrhenius law give its energy exactly, with nothing left over."""
    at = (10.0, 15.0, 20.0, 25.0)
    k = kj_per_mol * 1000.0 / GAS_CONSTANT_J_PER_MOL_K
    minutes = [25.0 * math.exp(k * (1.0 / (t + KELVIN_AT_0_C) - 1.0 / 293.15)) for t in at]
    found = fit_cups([GelRow(t, m) for t, m in zip(at, minutes, strict=True)])
    assert found.activation_kj_per_mol == pytest.approx(kj_per_mol, rel=1e-10)
    assert found.activation_error_kj_per_mol == pytest.approx(0.0, abs=1e-6)
    assert [cup.warmth_off_pct for cup in found.cups] == pytest.approx([0.0] * 4, abs=1e-9)
    assert pace_ratio(kj_per_mol, 10.0, 25.0) == pytest.approx(minutes[0] / minutes[3], rel=1e-10)


def test_lines_agree_with_scipy() -> None:
    """Slope, intercept and standard errors are scipy.stats.linregress's, on uneven cups."""
    temperature_c, minutes = columns(UNEVEN)
    for x, y in (
        (temperature_c, 1.0 / minutes),
        (1.0 / (temperature_c + KELVIN_AT_0_C), -np.log(minutes)),
    ):
        ours, theirs = straight_line(x, y), stats.linregress(x, y)
        assert ours.slope == pytest.approx(theirs.slope, rel=1e-9)
        assert ours.intercept == pytest.approx(theirs.intercept, rel=1e-9)
        assert ours.slope_error == pytest.approx(theirs.stderr, rel=1e-9)
        assert ours.intercept_error == pytest.approx(theirs.intercept_stderr, rel=1e-9)


def test_the_energy_and_its_error_agree_with_scipy() -> None:
    """Ea is -slope·R, and its error the slope's, in kJ/mol."""
    temperature_c, minutes = columns(UNEVEN)
    line = stats.linregress(1.0 / (temperature_c + KELVIN_AT_0_C), np.log(1.0 / minutes))
    found = fit_cups(UNEVEN)
    assert found.activation_kj_per_mol == pytest.approx(-line.slope * 8.314462618e-3, rel=1e-9)
    assert found.activation_error_kj_per_mol == pytest.approx(
        line.stderr * 8.314462618e-3, rel=1e-9
    )


def test_the_base_and_its_error_agree_with_a_direct_fit() -> None:
    """scipy.optimize.curve_fit of K = a(T - T0) itself finds the same T0 and the same error."""
    temperature_c, minutes = columns(UNEVEN)
    best, covariance = optimize.curve_fit(
        lambda t, a, base: a * (t - base), temperature_c, 1.0 / minutes, p0=(0.003, 4.0)
    )
    found = fit_cups(UNEVEN)
    assert found.base_c == pytest.approx(best[1], rel=1e-6)
    assert found.base_error_c == pytest.approx(math.sqrt(covariance[1, 1]), rel=1e-5)


def test_each_cup_is_off_in_percent_of_its_own_time() -> None:
    """A cup's residual is its time less the law's, over its time; three cups by hand.

    10, 20 and 30 °C in 40, 20 and 12 minutes: K is 0.025, 0.05 and 0.08333. The slope is
    0.0029167, the middle K 0.0527778, so the base is 20 - 18.0952 = 1.9048 °C.
    """
    found = fit_cups([GelRow(10.0, 40.0), GelRow(20.0, 20.0), GelRow(30.0, 12.0)])
    assert found.base_c == pytest.approx(1.9048, abs=1e-4)
    by_hand = 1.0 / (0.0029166667 * (10.0 - 1.9047619))
    assert found.cups[0].base_minutes == pytest.approx(by_hand, rel=1e-6)
    assert found.cups[0].base_off_pct == pytest.approx(100.0 * (40.0 - by_hand) / 40.0, rel=1e-5)


def test_three_cups_give_no_measure_of_how_sure() -> None:
    """The least number of cups has no error worth saying; one more has."""
    three, four = fit_cups(UNEVEN[:3]), fit_cups(UNEVEN[:4])
    assert (three.base_error_c, three.activation_error_kj_per_mol) == (None, None)
    assert four.base_error_c is not None
    assert four.activation_error_kj_per_mol is not None


def test_repeated_cups_all_count() -> None:
    """Two cups at one temperature are two points, and one temperature."""
    found = fit_cups(UNEVEN)
    assert (len(found.cups), found.temperatures) == (5, 4)
    assert found.base_c != fit_cups((*UNEVEN[:3], UNEVEN[4])).base_c


@pytest.mark.parametrize(
    "cups",
    [
        (),
        (GelRow(20.0, 25.0),),
        (GelRow(15.0, 36.0), GelRow(20.0, 25.0)),
        (GelRow(15.0, 36.0), GelRow(20.0, 25.0), GelRow(20.0, 24.0), GelRow(20.4, 24.0)),
    ],
)
def test_under_three_temperatures_is_refused(cups: tuple[GelRow, ...]) -> None:
    """Two temperatures lie on any line, and half a degree is no third."""
    with pytest.raises(BadInput, match="too few for a line"):
        fit_cups(cups)


@pytest.mark.parametrize("minutes", [(20.0, 25.0, 30.0), (20.0, 20.0, 20.0)])
def test_colder_must_be_slower(minutes: tuple[float, ...]) -> None:
    """Cups that ran slower in the warmth, or all alike, give no base."""
    at = (15.0, 20.0, 25.0)
    with pytest.raises(BadInput, match="Colder was not slower"):
        fit_cups([GelRow(t, m) for t, m in zip(at, minutes, strict=True)])


def test_a_base_above_the_coldest_cup_is_refused() -> None:
    """A cup that kicked below the base contradicts it."""
    with pytest.raises(BadInput, match="could not have kicked"):
        fit_cups([GelRow(5.0, 200.0), GelRow(20.0, 100.0), GelRow(30.0, 5.0)])


def test_temperatures_apart() -> None:
    """Each must be 1 °C over the last one that counted: this project's rule."""
    assert temperatures_apart([20.0, 20.9, 21.0, 15.0]) == 3
    assert temperatures_apart([]) == 0


def test_doses_are_not_mixed() -> None:
    """The dose with most temperatures is taken; 0.05 points are one dose, 0.1 are two."""
    near = [GelRow(15.0, 36.0, 1.5), GelRow(20.0, 25.0, 1.54), GelRow(30.0, 13.0, 1.55)]
    far = [GelRow(15.0, 28.0, 2.0), GelRow(25.0, 24.0, 1.65), GelRow(25.0, 24.0)]
    chosen = choose_cups([*far, *near])
    assert list(chosen.cups) == near
    assert chosen.mix_pct == pytest.approx(1.53)
    assert chosen.left_out == (
        (far[0], "another-dose"),
        (far[1], "another-dose"),
        (far[2], "no-dose"),
    )


def test_the_dose_asked_for_is_taken() -> None:
    """`mix_pct` wins over the number of temperatures, and may leave nothing."""
    cups = [GelRow(t, 20.0, 1.5) for t in (15.0, 20.0, 30.0)] + [GelRow(15.0, 28.0, 2.0)]
    assert choose_cups(cups, mix_pct=2.03).cups == (cups[3],)
    assert choose_cups(cups, mix_pct=1.0).cups == ()


def test_the_aim_settles_a_tie() -> None:
    """Of two doses timed alike the sheet's aim is the one its figures hold at; else the lower."""
    cups = [GelRow(t, 20.0, dose) for dose in (1.0, 2.0) for t in (15.0, 20.0, 30.0)]
    assert choose_cups(cups, aim_pct=1.8).mix_pct == 2.0
    assert choose_cups(cups).mix_pct == 1.0


def test_sizes_are_not_mixed() -> None:
    """A bigger cup heats itself more: another size is left out, and one not given too."""
    small = [GelRow(t, 30.0, cup_g=g) for t, g in ((12.0, 100.0), (20.0, 103.0), (30.0, 100.0))]
    big = [GelRow(t, 25.0, cup_g=200.0) for t in (12.0, 20.0, 30.0)]
    bare = GelRow(16.0, 30.0)
    chosen = choose_cups([*big, *small, bare])
    assert list(chosen.cups) == small
    assert [why for _, why in chosen.left_out] == ["another-size"] * 3 + ["no-size"]
    assert choose_cups([*big, *small], cup_g=200.0).cups == tuple(big)
