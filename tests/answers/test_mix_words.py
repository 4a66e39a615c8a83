"""The mixing bench in words: verdict, grams, minutes, next step; and what is never said."""

from dataclasses import replace
from pathlib import Path

import pytest

from monitor.answers.mix import Asked, mix_for, mix_json, mix_lines
from monitor.answers.off_mix import off_mix_line
from monitor.cautions import HARDENER, HOT_CUP, MASK, NO_PROMOTER, PEROXIDE, PEROXIDE_DUST
from monitor.cure.mixing import Weighed
from monitor.errors import BadInput
from monitor.records import Sheet
from monitor.sheets.shelf import Shelf
from monitor.units import Unit


def demo(stem: str) -> Sheet:
    return Shelf(Path("nowhere"), demo_shop=True).look(stem)


LAMINATING, EPOXY, GEL_COAT = demo("demo-laminating"), demo("demo-epoxy"), demo("demo-gel-coat")
POLYESTER = replace(
    LAMINATING, gel_rows=tuple(row for row in LAMINATING.gel_rows if row.cup_g == 100.0)
)
"""With its small cups only."""

DENSE = replace(POLYESTER, catalyst_g_per_ml=1.12)
BLANK = Sheet("Green tin", "polyester")


def said(sheet: Sheet, asked: Asked, unit: Unit = "c") -> list[str]:
    return list(mix_lines(mix_for(sheet, asked), unit))


def test_a_cup_that_is_right() -> None:
    """Grams first, then what is allowed, the scale, the minutes, and the next step."""
    lines = said(POLYESTER, Asked(100.0, temperature_c=20.0, scale_step_g=0.1, cup="4"))
    assert lines[0] == "This is a demo sheet: its figures are made up."
    assert lines[1] == "Cup 4:"
    assert lines[2] == "Catalyst 1.50 g for 100 g of resin: 1.5 %, the sheet's aim."
    assert lines[3] == "Never under 1.00 g (1 %) nor over 2.00 g (2 %), cold or hot."
    assert (
        "Scale: 0.1 g on each weighing, added, is ± 6.8 % (resin 0.1, catalyst 6.7): really 1.4 "
        "to 1.6 % catalyst."
    ) in lines
    assert any(line.startswith("In hand: 16 min from mixing at 20.0 °C") for line in lines)
    assert (
        "Stir it through, sides and bottom. Then: batch add NUMBER/ROLE --resin-g 100 "
        "--catalyst-g 1.50 --scale-step-g 0.1 --cup 4"
    ) in lines


def test_a_short_epoxy_cup() -> None:
    """80 g where 100 belong: how short, and 20.0 g now if it hasn't left the cup. Said first."""
    lines = said(EPOXY, Asked(250.0, weighed_g=80.0))
    assert lines[1] == "Hardener is 20.0 % short of the sheet's ratio; its limit is 3 %."
    assert lines[2] == (
        "Don't use it like this: add 20.0 g now and stir again, if it hasn't left the cup. Only in "
        "the first third of its pot time; after that don't use it."
    )
    assert not any("batch add" in line for line in lines), "nothing to log before it is right"


@pytest.mark.parametrize("grams", [97.0, 103.0])
def test_at_exactly_the_limit(grams: float) -> None:
    """3.0 % passes, and says that it is at the limit."""
    mix = mix_for(EPOXY, Asked(250.0, weighed_g=grams))
    assert mix.judged is not None
    assert mix.judged.state == "at-the-limit"
    assert mix.remedy is None
    assert any("at the limit" in line for line in mix_lines(mix, "c"))


def test_a_tenth_of_a_gram_past_the_limit() -> None:
    """103.1 g is outside, and resin puts it right."""
    lines = said(EPOXY, Asked(250.0, weighed_g=103.1))
    assert lines[1] == "Hardener is 3.1 % over the sheet's ratio; its limit is 3 %."
    assert lines[2].startswith("Don't use it like this: add 7.75 g resin now and stir again")


def test_the_first_third_decides() -> None:
    """20 min in hand: at 3 min add, at 13 min never; unknown: said as a condition."""
    asked = Asked(120.0, temperature_c=21.0, weighed_g=40.0)
    early = mix_for(EPOXY, replace(asked, minutes_ago=3.0)).remedy
    assert early == (
        "Don't use it like this: add 8.00 g now and stir again, if it hasn't left the cup."
    )
    late = mix_for(EPOXY, replace(asked, minutes_ago=13.0)).remedy
    assert late is not None
    assert late.startswith("Don't use it: mixed 13 min ago, it is past the first third of its 20")
    assert "add" not in late
    unknown = mix_for(EPOXY, asked).remedy
    assert unknown is not None
    assert "Only in its first 6 min, a third of its time in hand" in unknown


def test_too_late_for_any_cup_of_the_sheet() -> None:
    """Without a temperature a third of the slowest cup is the bound: 25 of its 75 min."""
    assert "add 20.0 g now" in str(off_mix_line(EPOXY, Weighed(250.0, None, 80.0), 25.0))
    late = str(off_mix_line(EPOXY, Weighed(250.0, None, 80.0), 26.0))
    assert late.startswith("Don't use it: mixed 26 min ago")
    assert off_mix_line(EPOXY, Weighed(250.0, None, 100.0), 5.0) is None


def test_a_big_cup_is_bound_by_the_sheets_biggest() -> None:
    """350 g, twice the sheet's cups: a third of the 200 g cup's 32 min is too late in any case."""
    asked = Asked(250.0, temperature_c=20.0, weighed_g=80.0, minutes_ago=11.0)
    assert "past the first third" in str(mix_for(EPOXY, asked).remedy)
    assert "add 20.0 g" in str(mix_for(EPOXY, replace(asked, minutes_ago=10.0)).remedy)


def test_catalyst_short_and_over() -> None:
    """0.5 %: to the aim with catalyst. 3 %: to the aim with resin, by no row's time."""
    short = str(mix_for(POLYESTER, Asked(100.0, 20.0, weighed_g=0.5)).remedy)
    assert "add 1.00 g now" in short
    assert "first 5 min" in short
    over = str(mix_for(POLYESTER, Asked(100.0, 20.0, weighed_g=3.0)).remedy)
    assert "add 100.0 g resin now" in over
    assert "Only in the first third of its pot time" in over


def test_none_at_all() -> None:
    """A cup with nothing in it is outside like any other."""
    lines = said(POLYESTER, Asked(100.0, weighed_g=0.0))
    assert lines[1] == "Catalyst 0.00 % is under the sheet's 1 to 2 %."
    assert "add 1.50 g now" in lines[2]


def test_a_scale_too_coarse_for_the_cup() -> None:
    """30 g + 12 g on a 1 g scale: ± 11.7 %, the hardener's share 8.3; what would hold 3 %."""
    lines = said(EPOXY, Asked(30.0, scale_step_g=1.0))
    assert any("is ± 11.7 % (resin 3.3, hardener 8.3)" in line for line in lines)
    assert (
        "This scale can't hold 3 % on so small a cup: mix at least 120 g of resin or use a 0.1 g "
        "scale."
    ) in lines


def test_the_cup_it_names_is_held() -> None:
    """What is named as enough is enough, by the same rule."""
    named = mix_for(EPOXY, Asked(30.0, scale_step_g=1.0)).scale
    assert named is not None
    assert named.least_resin_g is not None
    bigger = mix_for(EPOXY, Asked(named.least_resin_g, scale_step_g=1.0)).scale
    finer = mix_for(EPOXY, Asked(30.0, scale_step_g=named.finer_step_g)).scale
    assert bigger is not None
    assert finer is not None
    assert (named.holds, bigger.holds, finer.holds) == (False, True, True)


def test_eighty_grams_on_a_one_gram_scale() -> None:
    """1.2 g by whole grams: 0.2 to 2.8 %. Mix 205 g, or use a finer scale."""
    lines = said(POLYESTER, Asked(80.0, scale_step_g=1.0))
    assert any("really 0.231 to 2.77 % catalyst" in line for line in lines)
    assert (
        "This scale can't hold 1 to 2 % on so small a cup: mix at least 205 g of resin or use a "
        "0.1 g scale."
    ) in lines


def test_the_end_of_the_range_is_held_by_no_scale() -> None:
    """At 2 % half of all weighings land outside."""
    lines = said(POLYESTER, Asked(200.0, scale_step_g=0.01, mix_pct=2.0))
    assert any("any scale may land outside it" in line for line in lines)


def test_millilitres_only_by_the_sheets_density() -> None:
    """With the density ml, and drops only by one's own count; without it neither."""
    assert "Catalyst 1.50 g or 1.34 ml for 100 g" in said(DENSE, Asked(100.0))[1]
    assert "or 33 drops of your own dropper" in said(DENSE, Asked(100.0, drops_per_ml=25.0))[1]
    assert not any("drop" in line for line in said(DENSE, Asked(100.0)))
    lines = said(POLYESTER, Asked(100.0, drops_per_ml=25.0))
    assert (
        "No millilitres and no drops: your sheet doesn't give the catalyst's density. Weigh it."
    ) in lines


def test_blanks_are_answered_as_blanks() -> None:
    """No dose, no scale, no minutes: your sheet doesn't say."""
    lines = said(BLANK, Asked(100.0, temperature_c=20.0, scale_step_g=0.1, weighed_g=1.5))
    assert "Your sheet doesn't say how much catalyst." in lines
    assert any(line.startswith("Your sheet doesn't say how much catalyst. Ask") for line in lines)
    assert not any(" g for " in line or "In hand" in line for line in lines)
    bare = Sheet("Grey tin", "epoxy")
    assert any("doesn't give a ratio by weight" in line for line in said(bare, Asked(100.0)))


def test_a_range_without_an_aim() -> None:
    """The ends are told, and the person chooses."""
    sheet = replace(POLYESTER, aim_pct=None)
    lines = said(sheet, Asked(100.0, temperature_c=20.0))
    assert (
        "Your sheet doesn't say what to aim for: choose inside its range with --mix-pct." in lines
    )
    assert "No minutes in hand: no dose is chosen." in lines
    assert "as you asked" in said(sheet, Asked(100.0, mix_pct=1.7))[1]


def test_a_ratio_without_a_tolerance() -> None:
    """The scale's figure stands without a verdict."""
    sheet = replace(EPOXY, tolerance_pct=None)
    lines = said(sheet, Asked(30.0, scale_step_g=1.0))
    assert any("doesn't say how far off it may be" in line for line in lines)
    assert not any("can't hold" in line for line in lines)


@pytest.mark.parametrize(
    ("sheet", "asked", "what", "remedy"),
    [
        (POLYESTER, Asked(100.0, 5.0, mix_pct=2.5), "over the sheet's 1 to 2 %", "Stay inside it"),
        (POLYESTER, Asked(100.0, 35.0, mix_pct=0.8), "under the sheet's 1 to 2 %", "Stay inside"),
        (EPOXY, Asked(100.0, mix_pct=45.0), "its ratio is fixed", "Leave --mix-pct out"),
        (EPOXY, Asked(100.0, drops_per_ml=20.0), "weighed, not dropped", "Leave --drops-per-ml"),
        (BLANK, Asked(100.0, mix_pct=1.5), "Your sheet doesn't say", "Ask the maker"),
        (POLYESTER, Asked(0.0), "--resin-g 0 can't be", "above 0"),
        (POLYESTER, Asked(float("nan")), "--resin-g nan can't be", "above 0"),
        (POLYESTER, Asked(9.0, weighed_g=-1.0), "--weighed-g -1 can't be", "0 or more"),
        (POLYESTER, Asked(9.0, float("inf")), "no temperature", "such as 18.5"),
    ],
)
def test_refusals(sheet: Sheet, asked: Asked, what: str, remedy: str) -> None:
    """What the sheet forbids, or what can't be, is refused: cold and heat excuse nothing."""
    with pytest.raises(BadInput) as refused:
        mix_for(sheet, asked)
    assert what in refused.value.what
    assert remedy in refused.value.remedy


def test_no_minutes_outside_the_cups() -> None:
    """Each corner in words, in the degrees asked for."""
    hot = said(POLYESTER, Asked(100.0, 32.0))
    assert any("your sheet's cups go from 15 to 30 °C. Hotter than that" in line for line in hot)
    cold = said(POLYESTER, Asked(100.0, 12.0), "f")
    assert "No minutes at 53.6 °F: your sheet's cups go from 59 to 86 °F." in cold
    weak = said(POLYESTER, Asked(100.0, 20.0, mix_pct=1.0))
    assert "No minutes at 20.0 °C: your sheet's cups go from 1.5 to 2 % catalyst." in weak
    big = said(POLYESTER, Asked(200.0, 20.0))
    assert any("a bigger cup is quicker. Split it into cups of 100 g" in line for line in big)
    assert not any("In hand" in line for line in [*hot, *cold, *weak, *big])


def test_a_bigger_cup_by_its_own_rows() -> None:
    """200 g of mix is in the sheet's rows: 20 minutes to gel less 35 %."""
    (line,) = (line for line in said(LAMINATING, Asked(197.0, 20.0)) if "In hand" in line)
    assert line.startswith("In hand: 13 min from mixing at 20.0 °C (about 20 min to gel, 13 to 27")


def test_cold_is_never_answered_with_catalyst() -> None:
    """Under the working range: bring it inside; the dose stays."""
    lines = said(POLYESTER, Asked(100.0, 12.0))
    assert lines[1] == "Catalyst 1.50 g for 100 g of resin: 1.5 %, the sheet's aim."
    assert any("bring resin and place inside it first. The range stays" in line for line in lines)


def test_hands_slower_than_the_cup() -> None:
    """40 min of work and 16 in hand: smaller, cooler, or the low end, inside the sheet."""
    lines = said(POLYESTER, Asked(100.0, 20.0, scale_step_g=0.1, minutes_needed=40.0))
    told = next(line for line in lines if line.startswith("40 min is longer than you have"))
    assert "cups of about 40 g of resin" in told
    assert "cooler" in told
    assert "the low end of the sheet's range, never under it" in told
    assert "finer" not in told
    coarse = said(POLYESTER, Asked(100.0, 20.0, scale_step_g=1.0, minutes_needed=40.0))
    assert any("cups of about 40 g of resin (on a finer scale)" in line for line in coarse)
    epoxy = said(EPOXY, Asked(100.0, 20.0, minutes_needed=40.0))
    assert any("Never another ratio." in line for line in epoxy)
    assert "10 min of work fits." in said(POLYESTER, Asked(100.0, 20.0, minutes_needed=10.0))


def test_own_cups_are_surer() -> None:
    """A sheet whose cups are the person's own has the narrower band."""
    own = replace(POLYESTER, value_sources={"gel": "own cups"})
    assert any("In hand: 20 min" in line for line in said(own, Asked(100.0, 20.0)))


def test_minutes_left() -> None:
    """16 in hand, mixed ten minutes ago; and used up at twenty."""
    asked = Asked(100.0, 20.0, weighed_g=1.5, minutes_ago=10.0)
    assert "6 min of them are left." in said(POLYESTER, asked)
    assert "They are used up." in said(POLYESTER, replace(asked, minutes_ago=20.0))


def test_cautions_by_kind() -> None:
    """Peroxide's for catalyst, hardener's for epoxy, the hot cup and the mask for both."""
    catalysed, epoxy = said(POLYESTER, Asked(100.0)), said(EPOXY, Asked(100.0))
    assert {PEROXIDE, NO_PROMOTER, PEROXIDE_DUST, MASK} <= set(catalysed)
    assert {HARDENER, MASK} <= set(epoxy)
    assert not {PEROXIDE, HARDENER} & (set(catalysed) & set(epoxy))
    assert all(any(HOT_CUP in line for line in lines) for lines in (catalysed, epoxy))


@pytest.mark.parametrize("sheet", [POLYESTER, DENSE, EPOXY, GEL_COAT, BLANK])
def test_never_one_word_for_both(sheet: Sheet) -> None:
    """Catalyst and hardener keep apart, and nothing measures out a promoter."""
    lines = said(sheet, Asked(100.0, 22.0, scale_step_g=0.1, weighed_g=1.6))
    other = "catalyst" if sheet.kind == "epoxy" else "hardener"
    assert not any(other in line.lower() for line in lines)
    assert [line for line in lines if "promoter" in line or "accelerator" in line] == (
        [] if sheet.kind == "epoxy" else [NO_PROMOTER]
    )


def test_ends_are_rounded_inwards() -> None:
    """Weighing what is said stays inside: 46.56 to 49.44 g is said as 46.6 to 49.4."""
    lines = said(EPOXY, Asked(30.0))
    assert any("It may be 11.7 to 12.3 g" in line for line in lines), "11.64 to 12.36 g"
    assert any("It may be 46.6 to 49.4 g" in line for line in said(EPOXY, Asked(120.0)))


def test_json_shape() -> None:
    """Grams, millilitres, percent range, scale, minutes with their band, what was weighed."""
    asked = Asked(100.0, 20.0, 0.1, 1.5, minutes_ago=2.0, drops_per_ml=20.0)
    told = mix_json(mix_for(DENSE, asked))
    assert told["percent"] == {"low": 1.0, "aim": 1.5, "high": 2.0, "asked": 1.5}
    assert told["grams"] == {"low": 1.0, "aim": 1.5, "high": 2.0, "asked": 1.5}
    assert told["millilitres"]["aim"] == pytest.approx(1.339)
    assert told["drops"]["aim"] == pytest.approx(26.8)
    assert told["scale"]["plus_minus_pct"] == pytest.approx(6.767)
    assert told["scale"]["holds"] is True
    minutes = told["minutes"]
    assert (minutes["in_hand"], minutes["low"], minutes["middle"], minutes["high"]) == (
        16,
        pytest.approx(16.25),
        pytest.approx(25.0),
        pytest.approx(33.75),
    )
    assert (minutes["band_pct"], minutes["left"], minutes["reason"]) == (35.0, 14, None)
    assert told["weighed"]["state"] == "right"
    assert told["weighed"]["add"] is None
    assert PEROXIDE in told["cautions"]


def test_json_of_blanks() -> None:
    """Null wherever the sheet doesn't say, and the reason for no minutes."""
    told = mix_json(mix_for(BLANK, Asked(100.0, 20.0, 0.1)))
    for key in ("percent", "grams", "millilitres", "drops"):
        assert set(told[key].values()) == {None}
    assert (told["scale"], told["weighed"]) == (None, None)
    assert told["minutes"]["in_hand"] is None
    assert told["minutes"]["reason"] == "No minutes in hand: no dose is chosen."
