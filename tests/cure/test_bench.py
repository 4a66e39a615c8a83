"""Amounts, the scale, and what puts a wrong cup right: held against published doses and by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.cure.bench import (
    allowed_pct,
    cup_said_g,
    dose,
    doses,
    finer_step_g,
    holds,
    least_resin_g,
    resolution,
    room_pct,
    top_up,
)
from monitor.cure.mixing import Weighed, judge_mix
from monitor.records import Sheet
from tests.cure.histories import a_sheet

POLYESTER = a_sheet(catalyst_pct=(1.0, 2.0), aim_pct=1.5)
EPOXY = a_sheet(kind="epoxy", ratio_by_weight=(100.0, 40.0), tolerance_pct=3.0)

# Density of methyl ethyl ketone peroxide in dimethyl phthalate at 59 °F. NIOSH Pocket Guide to
# Chemical Hazards, from memory.
PEROXIDE_G_PER_ML = 1.12


def test_one_percent_of_a_kilogram_in_millilitres() -> None:
    """1 % of 1 kg is 10 g, and 8.93 ml at the published density of the peroxide."""
    sheet = a_sheet(catalyst_g_per_ml=PEROXIDE_G_PER_ML)
    told = dose(sheet, 1000.0, 1.0)
    assert told.grams == pytest.approx(10.0)
    assert told.millilitres == pytest.approx(8.93, abs=0.005)


def test_ten_millilitres_a_kilogram_is_more_than_one_percent() -> None:
    """10 ml in 1 kg is 1.12 % by weight: millilitres a kilogram are not tenths of a percent."""
    sheet = a_sheet(catalyst_g_per_ml=PEROXIDE_G_PER_ML)
    assert dose(sheet, 1000.0, 1.12).millilitres == pytest.approx(10.0)


def test_doses_by_a_range() -> None:
    """80 g at 1.0 to 2.0 %, aim 1.5: 0.8, 1.2 and 1.6 g; no density, no millilitres."""
    told = doses(POLYESTER, 80.0)
    assert told.aim is not None
    assert told.low is not None
    assert told.high is not None
    assert [d.grams for d in (told.low, told.aim, told.high)] == pytest.approx([0.8, 1.2, 1.6])
    assert told.aim.millilitres is None


def test_doses_by_a_ratio() -> None:
    """250 g at 100 to 40, 3 %: 100 g, and 97 to 103 g are let pass."""
    told = doses(EPOXY, 250.0)
    assert told.aim is not None
    assert told.low is not None
    assert told.high is not None
    assert [d.grams for d in (told.low, told.aim, told.high)] == pytest.approx([97.0, 100.0, 103.0])


@pytest.mark.parametrize("kind", ["polyester", "epoxy"])
def test_a_blank_stays_a_blank(kind: str) -> None:
    """A sheet without doses gives none."""
    told = doses(a_sheet(kind=kind), 100.0)
    assert (told.aim, told.low, told.high) == (None, None, None)
    assert top_up(a_sheet(kind=kind), Weighed(100.0, 1.0, 1.0)) is None


def test_a_gram_on_a_small_epoxy_cup() -> None:
    """30 g and 12 g on a 1 g scale: the hardener's gram alone is 8.3 %, with the resin's 11.7 %.

    Sums by hand: 1/12 and 1/30.
    """
    told = resolution(1.0, 30.0, 12.0)
    assert told.second_share_pct == pytest.approx(8.333, abs=0.001)
    assert told.resin_share_pct == pytest.approx(3.333, abs=0.001)
    assert told.off_pct == pytest.approx(11.667, abs=0.001)
    assert not holds(told, 3.0)


def test_the_hardener_alone_would_ask_for_a_smaller_cup() -> None:
    """Were the resin's weighing perfect, 3 % would take 33.3 g of hardener in 83.3 g of resin."""
    at_83 = resolution(1.0, 83.34, 33.336)
    assert at_83.second_share_pct == pytest.approx(3.0, abs=0.001)
    assert cup_said_g(83.34) == 85.0
    assert not holds(at_83, 3.0), "with the resin's own step it is over 3 %"


def test_the_smallest_cup_follows_from_what_is_printed() -> None:
    """At the smallest cup the resolution is exactly what the sheet allows; a gram under, more."""
    least = least_resin_g(1.0, 40.0, 3.0)
    assert least == pytest.approx(116.667, abs=0.001)
    assert resolution(1.0, least, 0.4 * least).off_pct == pytest.approx(3.0)
    assert not holds(resolution(1.0, least - 1.0, 0.4 * (least - 1.0)), 3.0)
    assert cup_said_g(least) == 120.0


def test_a_finer_scale_is_named_only_where_it_is_enough() -> None:
    """0.1 g for the 30 g cup, 0.01 g for a 3 g one, nothing for a tenth of a gram."""
    assert finer_step_g(1.0, 30.0, 12.0, 3.0) == 0.1
    assert finer_step_g(1.0, 3.0, 1.2, 3.0) == 0.01
    assert finer_step_g(1.0, 0.1, 0.04, 3.0) is None
    assert finer_step_g(0.1, 3.0, 1.2, 3.0) == 0.01


def test_room_inside_a_range() -> None:
    """1.5 in 1.0 to 2.0 has a third of itself; 1.8 in 1.5 to 2.0 a ninth; an end has none."""
    assert room_pct(1.5, (1.0, 2.0)) == pytest.approx(100.0 / 3.0)
    assert room_pct(1.8, (1.5, 2.0)) == pytest.approx(100.0 / 9.0)
    assert room_pct(2.0, (1.0, 2.0)) == 0.0
    assert least_resin_g(0.01, 2.0, 0.0) is None


@given(
    resin_g=st.floats(5.0, 2000.0),
    pct=st.floats(0.5, 60.0),
    step_g=st.sampled_from([0.01, 0.1, 1.0]),
)
def test_the_added_shares_cover_the_worst_weighing(
    resin_g: float, pct: float, step_g: float
) -> None:
    """One step short of the one and over on the other stays within what is said, to first order.

    The exact quotient of the lower side is never beyond the sum; the upper side is beyond it by
    products of the shares only.
    """
    second_g = resin_g * pct / 100.0
    told = resolution(step_g, resin_g, second_g)
    low, high = told.hits_pct
    least = 100.0 * max(0.0, second_g - step_g) / (resin_g + step_g)
    most = 100.0 * (second_g + step_g) / (resin_g - step_g)
    assert least >= low - 1e-9
    share = told.resin_share_pct / 100.0
    assert most <= pct * (1.0 + told.off_pct / 100.0) / (1.0 - share) + 1e-9
    assert high > pct


def test_a_short_epoxy_cup() -> None:
    """80 g where 100 belong: 20 g more hardener."""
    added = top_up(EPOXY, Weighed(250.0, None, 80.0))
    assert added is not None
    assert added.part == "hardener"
    assert added.grams == pytest.approx(20.0)


def test_an_epoxy_cup_over_its_ratio() -> None:
    """110 g where 100 belong to 250: 25 g more resin."""
    added = top_up(EPOXY, Weighed(250.0, None, 110.0))
    assert added is not None
    assert added.part == "resin"
    assert added.grams == pytest.approx(25.0)


def test_without_an_aim_the_nearer_end_is_taken() -> None:
    """A range alone: from under to its low end, from over to its high end."""
    sheet = a_sheet(catalyst_pct=(1.0, 2.0))
    under = top_up(sheet, Weighed(200.0, 1.0))
    over = top_up(sheet, Weighed(200.0, 6.0))
    assert under is not None
    assert over is not None
    assert (under.part, over.part) == ("catalyst", "resin")
    assert (under.grams, over.grams) == pytest.approx((1.0, 100.0))


@given(resin_g=st.floats(10.0, 2000.0), pct=st.floats(0.1, 10.0), epoxy=st.booleans())
def test_what_is_added_puts_it_right(resin_g: float, pct: float, epoxy: bool) -> None:
    """After the addition the same judge finds nothing against the cup."""
    sheet: Sheet = EPOXY if epoxy else POLYESTER
    second_g = resin_g * pct * (10.0 if epoxy else 1.0) / 100.0
    before = Weighed(resin_g, None if epoxy else second_g, second_g if epoxy else None)
    added = top_up(sheet, before)
    assert added is not None
    resin = resin_g + (added.grams if added.part == "resin" else 0.0)
    second = second_g + (0.0 if added.part == "resin" else added.grams)
    after = Weighed(resin, None if epoxy else second, second if epoxy else None)
    assert judge_mix(sheet, after).state == "right"


def test_an_epoxy_without_a_tolerance_has_no_ends() -> None:
    """A ratio alone says what to weigh, not how far off it may be."""
    sheet = a_sheet(kind="epoxy", ratio_by_weight=(100.0, 40.0))
    assert allowed_pct(sheet) is None
    aim = doses(sheet, 50.0).aim
    assert aim is not None
    assert aim.grams == pytest.approx(20.0)
