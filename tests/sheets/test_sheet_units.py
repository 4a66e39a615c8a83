"""A sheet printed in °F is the same sheet as its twin in °C."""

import math

import pytest

from monitor.records import Stage
from monitor.sheets.read import parse_sheet

# Figures by NIST Special Publication 811 (2008), appendix B.8: t/°C = (t/°F − 32)/1.8, and a
# difference of 1 °F is 1/1.8 °C.
IN_F = """
name = "bilge cover tin"
kind = "polyester"
unit = "f"
[working]
temperature_c = [59, 86]
humidity_max_pct = 80
dew_spread_min_c = 5.4
[count]
base_c = 41
floor_c = 50
cap_c = 104
reference_c = 68
doubling_c = 18
[mix]
catalyst_pct = [1.0, 2.0]
aim_pct = 1.5
[stages]
gel = 18
knife_trim = [32.4, 72]
recoat = [18, 648]
recoat_max_hours = 48
sand = 432
[limits]
part_max_c = 176
wax_temperature_c = [64.4, 89.6]
rescue_max_c = 104
depth_max_mm = 12
[[gel]]
temperature_c = 68
catalyst_pct = 1.5
minutes = 25
cup_g = 100
"""


def test_temperatures_lose_the_32_and_differences_do_not() -> None:
    """Base 41 °F is 5 °C; sand 432 °F-hours is 240 °C-hours; a spread of 5.4 °F is 3 °C."""
    sheet = parse_sheet(IN_F, "bilge.toml")
    assert sheet.unit == "f"
    assert sheet.base_c == pytest.approx(5.0)
    assert sheet.needs[Stage.SAND] == pytest.approx((240.0,))
    assert sheet.dew_spread_min_c == pytest.approx(3.0)
    assert sheet.working_c == pytest.approx((15.0, 30.0))
    assert (sheet.floor_c, sheet.cap_c) == pytest.approx((10.0, 40.0))
    assert sheet.reference_c == pytest.approx(20.0)
    assert sheet.doubling_c == pytest.approx(10.0)
    assert sheet.needs[Stage.GEL] == pytest.approx((10.0,))
    assert sheet.needs[Stage.KNIFE_TRIM] == pytest.approx((18.0, 40.0))
    assert sheet.needs[Stage.RECOAT] == pytest.approx((10.0, 360.0))
    assert sheet.part_max_c == pytest.approx(80.0)
    assert sheet.wax_temperature_c == pytest.approx((18.0, 32.0))
    assert sheet.rescue_max_c == pytest.approx(40.0)
    assert sheet.gel_rows[0].temperature_c == pytest.approx(20.0)


def test_what_is_not_in_degrees_stays() -> None:
    """Hours, percent, grams, millimetres and minutes are the same in both."""
    sheet = parse_sheet(IN_F, "bilge.toml")
    assert sheet.recoat_max_hours == 48.0
    assert sheet.humidity_max_pct == 80.0
    assert (sheet.catalyst_pct, sheet.aim_pct) == ((1.0, 2.0), 1.5)
    assert sheet.depth_max_mm == 12.0
    assert (sheet.gel_rows[0].minutes, sheet.gel_rows[0].cup_g) == (25.0, 100.0)


def test_equivalent_hours_are_hours() -> None:
    """Under Arrhenius the stage figures are hours at the reference: a °F sheet keeps them."""
    text = IN_F.replace("[count]\n", '[count]\nmethod = "arrhenius"\nactivation_kj_per_mol = 60\n')
    sheet = parse_sheet(text, "bilge.toml")
    assert sheet.count_unit == "eq_h"
    assert sheet.needs[Stage.SAND] == (432.0,)
    assert sheet.needs[Stage.RECOAT] == (18.0, 648.0)
    assert sheet.reference_c is not None
    assert math.isclose(sheet.reference_c, 20.0)
