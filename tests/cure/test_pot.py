"""Minutes in hand between a sheet's cups, against closed forms and a published warmth."""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.cure.pot import (
    OWN_SHARE,
    SHEET_SHARE,
    NoPotTime,
    PotTime,
    in_first_share,
    pot_time,
)
from monitor.records import GelRow, Sheet
from monitor.sheets.shelf import DEMO_STEMS, Shelf
from monitor.units import GAS_CONSTANT_J_PER_MOL_K, KELVIN_AT_0_C

TABLE = tuple(
    GelRow(temperature_c, minutes, pct, 100.0)
    for temperature_c, pct, minutes in (
        (15.0, 1.0, 60.0),
        (15.0, 2.0, 30.0),
        (25.0, 1.0, 24.0),
        (25.0, 2.0, 12.0),
    )
)


def minutes(
    temperature_c: float, mix_pct: float | None = 1.0, cup_g: float = 100.0, rows: object = TABLE
) -> float:
    assert isinstance(rows, tuple)
    told = pot_time(rows, temperature_c=temperature_c, mix_pct=mix_pct, cup_g=cup_g)
    assert isinstance(told, PotTime)
    return told.middle_min


def refused(
    temperature_c: float, mix_pct: float | None = 1.0, cup_g: float = 100.0, rows: object = TABLE
) -> NoPotTime:
    assert isinstance(rows, tuple)
    told = pot_time(rows, temperature_c=temperature_c, mix_pct=mix_pct, cup_g=cup_g)
    assert isinstance(told, NoPotTime)
    return told


@pytest.mark.parametrize("row", TABLE)
def test_exact_at_each_cup(row: GelRow) -> None:
    """At a cup of the sheet the answer is that cup."""
    assert minutes(row.temperature_c, row.catalyst_pct) == pytest.approx(row.minutes, rel=1e-12)


def test_half_way_is_the_geometric_mean() -> None:
    """Linear in log minutes: between 60 and 24 it is the root of their product, both ways."""
    assert minutes(20.0) == pytest.approx(math.sqrt(60.0 * 24.0), rel=1e-12)
    assert minutes(15.0, 1.5) == pytest.approx(math.sqrt(60.0 * 30.0), rel=1e-12)
    assert minutes(20.0, 1.5) == pytest.approx((60.0 * 30.0 * 24.0 * 12.0) ** 0.25, rel=1e-12)


@given(temperature_c=st.floats(15.0, 25.0), pct=st.floats(1.0, 2.0))
def test_an_exponential_surface_is_given_back(temperature_c: float, pct: float) -> None:
    """Cups on ln t = a + bT + cD are interpolated exactly, everywhere inside (closed form)."""
    expected = 60.0 * (24.0 / 60.0) ** ((temperature_c - 15.0) / 10.0) * 0.5 ** (pct - 1.0)
    assert minutes(temperature_c, pct) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("kj_per_mol", [40.0, 60.0])
def test_between_cups_it_follows_a_published_warmth(kj_per_mol: float) -> None:
    """Gel times of a published activation energy are met within 2 % between cups 10 °C apart.

    40 to 60 kJ/mol for polyester with a ketone peroxide and cobalt: J. Appl. Polym. Sci. 102
    (2006) 1870-1876, abstract. A gel time goes with exp(E / R T).
    """

    def gel(temperature_c: float) -> float:
        exponent = kj_per_mol * 1000.0 / GAS_CONSTANT_J_PER_MOL_K
        at, reference = temperature_c + KELVIN_AT_0_C, 20.0 + KELVIN_AT_0_C
        return 25.0 * math.exp(exponent * (1.0 / at - 1.0 / reference))

    rows = tuple(GelRow(t, gel(t), None, 100.0) for t in (10.0, 20.0, 30.0))
    for tenths in range(100, 301, 7):
        temperature_c = tenths / 10.0
        assert minutes(temperature_c, None, rows=rows) == pytest.approx(
            gel(temperature_c), rel=0.02
        )


def test_a_band_of_own_cups_covers_a_degree_and_a_weighing() -> None:
    """10 % in the dose and 1 °C at 60 kJ/mol, added, stay inside the narrower band.

    60 kJ/mol: the upper end published in J. Appl. Polym. Sci. 102 (2006) 1870-1876.
    """
    kelvin = 20.0 + KELVIN_AT_0_C
    a_degree = math.exp(60_000.0 / GAS_CONSTANT_J_PER_MOL_K * (1.0 / (kelvin - 1) - 1.0 / kelvin))
    assert 0.18 < (a_degree - 1.0) + 0.10 < OWN_SHARE < SHEET_SHARE


def test_the_band_and_the_minutes_in_hand() -> None:
    """25 min, give or take 35 %: 16.25 to 33.75, and 16 in hand: the low edge, rounded down."""
    told = pot_time((GelRow(20.0, 25.0, 1.5, 100.0),), temperature_c=20.0, mix_pct=1.5, cup_g=100.0)
    assert isinstance(told, PotTime)
    assert (told.low_min, told.high_min) == pytest.approx((16.25, 33.75))
    assert told.in_hand_min == 16


def test_nothing_outside_the_corners() -> None:
    """Colder, hotter, weaker, stronger: each is refused, and the ends are named."""
    assert (refused(14.9).why, refused(25.1).why) == ("cold", "hot")
    assert refused(14.0).temperature_c == (15.0, 25.0)
    assert (refused(20.0, 0.9).why, refused(20.0, 2.1).why) == ("dose", "dose")
    assert refused(20.0, 0.5).mix_pct == (1.0, 2.0)


def test_a_missing_corner_is_not_filled_in() -> None:
    """Without a warm cup at 2 % there is nothing warm between 1 and 2 %."""
    rows = TABLE[:3]
    assert refused(24.0, 1.5, rows=rows).why == "corner"
    assert minutes(24.0, 1.0, rows=rows) > 24.0
    assert minutes(15.0, 1.5, rows=rows) == pytest.approx(math.sqrt(1800.0))


def test_no_cups_no_minutes() -> None:
    """A sheet without cups, or a catalysed one whose cups don't give their dose, says nothing."""
    assert refused(20.0, rows=()).why == "no-rows"
    assert refused(20.0, 1.0, rows=(GelRow(20.0, 25.0, None, 100.0),)).why == "no-dose"


def test_a_bigger_cup_has_no_number() -> None:
    """Past the sheet's cups it is quicker, and no one has timed how much; 5 % is no other size."""
    assert minutes(15.0, cup_g=104.0) == pytest.approx(60.0)
    told = refused(15.0, cup_g=200.0)
    assert (told.why, told.cup_g) == ("bigger", (100.0, 100.0))
    assert told.nearest_min == pytest.approx(60.0)


def test_a_smaller_cup_has_the_smallest_ones_minutes() -> None:
    """It is slower, so the smallest cup's time is the careful one, and marked so."""
    told = pot_time(TABLE, temperature_c=15.0, mix_pct=1.0, cup_g=30.0)
    assert isinstance(told, PotTime)
    assert (told.fits, told.middle_min) == ("smaller", pytest.approx(60.0))


def test_cups_without_a_size_are_marked() -> None:
    """The minutes stand, and that the size isn't known goes with them."""
    rows = tuple(replace(row, cup_g=None) for row in TABLE)
    told = pot_time(rows, temperature_c=15.0, mix_pct=1.0, cup_g=500.0)
    assert isinstance(told, PotTime)
    assert told.fits == "size-not-given"


def test_between_cup_sizes() -> None:
    """An epoxy's cups: half way between 100 and 200 g the geometric mean of both."""
    rows = (GelRow(20.0, 40.0, None, 100.0), GelRow(20.0, 32.0, None, 200.0))
    assert minutes(20.0, None, 150.0, rows) == pytest.approx(math.sqrt(40.0 * 32.0))


def test_the_first_third() -> None:
    """A third of the low edge: 26 of 40 min in hand, so 8.66 min."""
    told = PotTime(26.0, 40.0, 54.0, "covered")
    assert in_first_share(26.0 / 3.0, told)
    assert not in_first_share(8.7, told)


def demo(stem: str) -> Sheet:
    return Shelf(Path("nowhere"), demo_shop=True).look(stem)


@pytest.mark.parametrize("stem", DEMO_STEMS)
@given(data=st.data())
def test_warmer_or_stronger_or_bigger_is_never_longer(stem: str, data: st.DataObject) -> None:
    """Everywhere inside the demo sheets' corners."""
    sheet = demo(stem)
    axes = [[row.temperature_c for row in sheet.gel_rows]]
    if sheet.kind == "epoxy":
        axes.append([row.cup_g or 0.0 for row in sheet.gel_rows])
    else:
        axes.append([row.catalyst_pct or 0.0 for row in sheet.gel_rows])
    mild = [data.draw(st.floats(min(ends), max(ends))) for ends in axes]
    fierce = [data.draw(st.floats(at, max(ends))) for at, ends in zip(mild, axes, strict=True)]

    def at(point: list[float]) -> float:
        if sheet.kind == "epoxy":
            return minutes(point[0], None, point[1], sheet.gel_rows)
        return minutes(point[0], point[1], 100.0, sheet.gel_rows)

    assert at(fierce) <= at(mild) + 1e-9
