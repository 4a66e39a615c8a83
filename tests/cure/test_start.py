"""Go, no-go or can't tell: limits at their edges, what a probe changes, blanks."""

from dataclasses import replace

import pytest

from monitor.cure.start import Here, can_start, surface_spread_c
from tests.scenarios import sheet

COAT = sheet("G1", wax_temperature_c=(18.0, 32.0), wax_pct=5.0)
FINE = Here(20.0, 60.0)


def test_all_limits_kept() -> None:
    """20 °C and 60 %: a go, the limits with the closest first."""
    start = can_start(COAT, FINE)
    assert (start.verdict, start.unknown, start.broken) == ("go", (), ())
    rooms = [limit.room_c for limit in start.limits]
    assert rooms == sorted(rooms)
    # 75 - 60 % is worth 3 °C; 16 °C is 4 away; the spread is 7.9 °C over a dew point of 12.0.
    assert [limit.name for limit in start.limits[:2]] == ["humidity", "cold"]


@pytest.mark.parametrize(
    ("here", "waxed", "broken"),
    [
        (Here(15.9, 60.0), False, ["cold"]),
        (Here(30.1, 40.0), False, ["hot"]),
        (Here(17.9, 60.0), False, []),
        (Here(17.9, 60.0), True, ["wax-cold"]),
        (Here(20.0, 75.1), False, ["humidity"]),
        (Here(20.0, 60.0, surface_c=14.0), False, ["cold", "spread"]),
    ],
)
def test_each_limit_by_itself(here: Here, waxed: bool, broken: list[str]) -> None:
    """Just past a limit is a no-go, by the surface too; the wax's own only with wax."""
    start = can_start(COAT, here, waxed=waxed)
    assert sorted(limit.name for limit in start.broken) == broken
    assert start.verdict == ("no-go" if broken else "go")


def test_at_a_limit_it_is_kept() -> None:
    """Exactly 18 °C is inside 18 to 32."""
    assert can_start(COAT, Here(18.0, 60.0), waxed=True).verdict == "go"


def test_a_hull_without_a_probe() -> None:
    """The air's spread says nothing of a hull: can't tell, whatever the air."""
    start = can_start(COAT, replace(FINE, on_hull=True))
    assert (start.verdict, start.unknown) == ("cant-tell", ("hull",))
    assert surface_spread_c(replace(FINE, on_hull=True)) is None


def test_a_cold_hull_on_a_warm_morning() -> None:
    """17 °C and 70 % in the air, 11 °C at the hull: 0.5 °C under the dew point (ours, by the
    Magnus formula of WMO-No. 8, annex 4.B: dew point 11.5 °C)."""
    here = Here(17.0, 70.0, surface_c=11.0, on_hull=True)
    spread = surface_spread_c(here)
    assert spread == pytest.approx(-0.5, abs=0.05)
    assert can_start(COAT, here).broken[0].name in ("cold", "spread")


def test_what_is_not_known_is_never_a_yes() -> None:
    """No reading, no humidity, a silent sheet: can't tell; a broken limit stays a no-go."""
    assert can_start(COAT, Here(None, None)).unknown == ("no-reading",)
    assert can_start(COAT, Here(20.0, None)).unknown == ("humidity",)
    assert can_start(replace(COAT, working_c=None), FINE).unknown == ("working",)
    blank = replace(COAT, wax_temperature_c=None, wax_pct=None)
    assert can_start(blank, FINE, waxed=True).unknown == ("wax", "wax-dose")
    assert can_start(COAT, Here(12.0, None)).verdict == "no-go"


def test_a_sheet_without_a_least_spread() -> None:
    """It still can't be worked on a wet surface."""
    silent = replace(COAT, dew_spread_min_c=None)
    assert can_start(silent, Here(20.0, 60.0, surface_c=11.9)).broken
    assert can_start(silent, Here(20.0, 60.0, surface_c=17.0)).verdict == "go"
