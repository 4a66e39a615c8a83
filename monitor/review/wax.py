"""Wax: too cold or too hot to rise, left out, or in the joint."""

from monitor.cautions import HEAT
from monitor.records import MarkKind
from monitor.review.parts.evidence import extreme_said, inside, mark_said, range_said
from monitor.review.parts.facts import BatchFacts, Facts
from monitor.review.parts.finding import Cause, Evidence, Finding
from monitor.review.parts.symptoms import (
    HARD_BELOW,
    SPREAD_OUT,
    UNMARKED,
    LastCoat,
    Looks,
    Where,
    fits,
)
from monitor.review.parts.weigh import symptoms, weigh
from monitor.units import Unit

TOO_COLD = Cause(
    "wax-too-cold",
    "The wax did not rise: too cold",
    "Warm it. If nothing changes in a day: wash, sand through the film, and coat again, waxed, "
    "inside the wax's range.",
    "put another waxed coat straight on top.",
    "Rub a warm palm on it for a minute: a film that turns dull is wax coming up.",
    cautions=(HEAT,),
)

TOO_HOT = Cause(
    "wax-too-hot",
    "The wax stayed dissolved: too hot",
    "Shade it, let it cool, and wait. If it stays tacky: wash, sand through the film, and coat "
    "again, waxed, inside the wax's range.",
    "put another waxed coat straight on top.",
    "Cool a corner in the shade until evening: if the film comes up there, it was the heat.",
    at_most="fair",
)

LEFT_OUT = Cause(
    "wax-left-out",
    "Wax left out, or not stirred in from a cold bottle",
    "Still green: film or PVA over it. Else wash, sand, and put a waxed coat on.",
    "wait for it: without wax it stays tacky where air reaches it.",
    "Look at the bottle: flakes at the bottom mean the wax stayed there.",
    at_most="fair",
)

AT_THE_JOINT = Cause(
    "wax-at-the-joint",
    "Wax at the joint",
    "Strip the top coat, wash, sand dull all over, and do it again.",
    "glue the sheets back down with more coat.",
    "Lift an edge: a shiny, slippery face below is wax.",
)


def _waxed_and_sticky(facts: Facts) -> bool:
    return (
        not facts.last.epoxy
        and facts.waxed
        and fits(
            facts.answers,
            where=(Where.ALL_OVER,),
            thumbnail=HARD_BELOW,
            looks=UNMARKED,
        )
    )


def wax_too_cold(facts: Facts) -> Finding | None:
    """A waxed coat put on below the wax's range, or that fell below it in its first hours. Common
    practice, no source."""
    range_c = facts.last.sheet.wax_temperature_c
    if not _waxed_and_sticky(facts) or range_c is None:
        return None
    at_coating = _at_coating(facts.last, range_c, facts.unit)
    coldest = facts.last.early.coldest
    later = None
    if coldest is not None and coldest.value < range_c[0]:
        later = extreme_said(coldest, "the coldest of its first three hours", facts.unit)
    if at_coating is None and later is None:
        return None
    shown = symptoms(facts, "where", "thumbnail", "last_coat")
    return weigh(TOO_COLD, shown, (at_coating, later), (_seen_sealed(facts.last),))


def wax_too_hot(facts: Facts) -> Finding | None:
    """A waxed coat above the wax's range. Common practice, no source."""
    range_c, warmest = facts.last.sheet.wax_temperature_c, facts.last.open_.warmest
    if not _waxed_and_sticky(facts) or range_c is None:
        return None
    hot = None
    if warmest is not None and warmest.value > range_c[1]:
        hot = extreme_said(
            warmest, f"above the wax's {range_said(range_c, facts.unit)}", facts.unit
        )
    sun = facts.last.marked(MarkKind.SUN)[:1]
    if hot is None and not sun:
        return None
    return weigh(
        TOO_HOT,
        symptoms(facts, "where", "last_coat"),
        (hot, *(mark_said(mark) for mark in sun)),
        (_in_range(facts.last, range_c, facts.unit) if hot is None else None,),
    )


def wax_left_out(facts: Facts) -> Finding | None:
    """Said to be waxed, and none logged; or the wax's range was kept and it is sticky all the same.
    Common practice, no source."""
    last, range_c = facts.last, facts.last.sheet.wax_temperature_c
    if not _waxed_and_sticky(facts) or facts.answers.last_coat is not LastCoat.WAXED:
        return None
    unlogged = None
    if not last.waxed:
        unlogged = Evidence(f"no wax is logged for {last.address}", "book", last.mixed_at)
    kept = None if range_c is None else _in_range(last, range_c, facts.unit)
    cold = None
    if range_c is not None and kept is None:
        cold = _at_coating(last, range_c, facts.unit)
    return weigh(
        LEFT_OUT, symptoms(facts, "where", "thumbnail", "last_coat"), (unlogged, kept), (cold,)
    )


def wax_at_the_joint(facts: Facts) -> Finding | None:
    """A coat over wax that nobody sanded peels. Common practice, no source."""
    last = facts.last
    shown = fits(facts.answers, where=(*SPREAD_OUT, Where.AT_JOIN), looks=(Looks.PEELING,))
    under = last.under
    if not shown or under is None or not under.waxed:
        return None
    sanded = None
    if under.sanded_at is not None:
        sanded = Evidence("sanded before the next coat", "book", under.sanded_at)
    return weigh(
        AT_THE_JOINT,
        symptoms(facts, "looks", "where"),
        (
            Evidence(f"{under.address} below it is waxed", "book", under.mixed_at),
            Evidence("no sanding is logged between them", "book", under.mixed_at, last.mixed_at)
            if sanded is None
            else None,
        ),
        (sanded,),
    )


def _seen_sealed(batch: BatchFacts) -> Evidence | None:
    """It sanded to dust, which a face without its wax doesn't."""
    dusty = batch.marked(MarkKind.SANDED_DUST)[:1]
    return mark_said(dusty[0]) if dusty else None


def _at_coating(batch: BatchFacts, range_c: tuple[float, float], unit: Unit) -> Evidence | None:
    """Below the wax's range (°C) when it was mixed."""
    then = batch.mixed_in
    if then is None or then.value >= range_c[0]:
        return None
    return extreme_said(then, f"below the wax's {range_said(range_c, unit)} when mixed", unit)


def _in_range(batch: BatchFacts, range_c: tuple[float, float], unit: Unit) -> Evidence | None:
    """Inside the wax's range (°C) until it sealed."""
    span = batch.open_
    if not inside(span, range_c) or span.coldest is None or span.warmest is None:
        return None
    told = range_said((span.coldest.value, span.warmest.value), unit)
    return Evidence(
        f"{told} until it sealed, inside the wax's {range_said(range_c, unit)}",
        "sensor",
        span.span.start,
        span.span.end,
    )
