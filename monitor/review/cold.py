"""Cold: parked and to be woken, or set so cold that warmth comes too late."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

from monitor.cautions import HEAT
from monitor.cure.law import opening_law
from monitor.cure.steady import hours_at
from monitor.cure.verdict import COLD_BEFORE_GEL_HOURS
from monitor.records import MarkKind, Stage
from monitor.review.parts.evidence import (
    below_floor,
    count_is_past,
    count_is_short,
    mark_said,
    mix_was_right,
    mix_was_wrong,
    reached,
)
from monitor.review.parts.facts import BatchFacts, Facts
from monitor.review.parts.finding import Cause, Evidence, Finding
from monitor.review.parts.symptoms import (
    EVEN,
    SOFT,
    Cup,
    Looks,
    Smell,
    Thumbnail,
    answer_said,
    fits,
)
from monitor.review.parts.weigh import symptoms, weigh
from monitor.times import length_said
from monitor.units import temperature_said

WARM_H = 12.0
"""A rescue with warmth gets this long at the least. Common practice, no source."""

LONGEST_H = 48.0
LATE = timedelta(hours=48)
"""After two days warmth helps less. Common practice, no source."""

WARM_C = 25.0

PARKED = Cause(
    "cold-parked",
    "Cold, thin and parked",
    "Even warmth of 25 to 35 °C (77 to 95 °F), never above what the sheet allows, under a tent, "
    "for 8 to 12 hours; then try the witness tab again.",
    "put a hotter mix on top, use an open flame, or hold a heat gun on one spot.",
    "Warm the witness tab alone for two hours: parked resin goes on hardening, a wrong mix stays.",
    cautions=(HEAT,),
)

STYRENE_LOST = Cause(
    "styrene-lost",
    "Styrene lost before it set",
    "Scrape or grind back to hard, and do it again in the warm.",
    "wait longer, or paint over it.",
    "A warmed spot that still dents after 12 hours at 25 °C (77 °F) has set for good.",
    at_most="fair",
)

EPOXY_PARKED = Cause(
    "epoxy-parked",
    "Epoxy parked in the cold",
    "Warm all of it above 20 to 25 °C (68 to 77 °F), within the sheet, for the sheet's own hours.",
    "add hardener, or coat over it.",
    "Warm the witness tab for two hours: parked epoxy hardens, one off its ratio stays rubbery.",
    cautions=(HEAT,),
)


def cold_parked(facts: Facts) -> Finding | None:
    """Soft, short of its count, after hours below the floor. Common practice, no source."""
    last = facts.last
    shown = fits(facts.answers, where=EVEN, thumbnail=SOFT)
    cold = below_floor(last, facts.unit, COLD_BEFORE_GEL_HOURS)
    if last.epoxy or not shown or cold is None or facts.answers.looks is Looks.WRINKLED:
        return None
    rubbery = facts.answers.cup is Cup.RUBBERY
    return _with_warm_hours(
        weigh(
            PARKED,
            symptoms(facts, "thumbnail") + (symptoms(facts, "cup") if not rubbery else ()),
            (cold, count_is_short(last, Stage.SAND, facts.unit), mix_was_right(last)),
            (
                mix_was_wrong(last),
                Evidence(answer_said(Cup.RUBBERY), "answer", facts.now) if rubbery else None,
                count_is_past(last, Stage.SAND, facts.unit),
            ),
            at_most="strong" if facts.now - last.mixed_at <= LATE else "fair",
        ),
        last,
    )


def styrene_lost(facts: Facts) -> Finding | None:
    """Long below the floor before it gelled, and still soft. Common practice, no source."""
    last = facts.last
    shown = fits(facts.answers, where=EVEN, thumbnail=SOFT, smell=(Smell.NONE, Smell.STYRENE))
    if last.epoxy or not shown or last.cold_before_gel_h <= COLD_BEFORE_GEL_HOURS:
        return None
    return weigh(
        STYRENE_LOST,
        symptoms(facts, "thumbnail", "smell"),
        (
            _cold_before_gel(last, facts),
            count_is_past(last, Stage.FLIP, facts.unit),
            *_in_the_wind(last),
        ),
        (mix_was_wrong(last), _not_warmed(last, facts)),
    )


def epoxy_parked(facts: Facts) -> Finding | None:
    """Firm but it dents, cool, short of its count, at the right ratio. Common practice, no
    source."""
    last = facts.last
    shown = fits(
        facts.answers,
        where=EVEN,
        thumbnail=(Thumbnail.MARK, Thumbnail.DENT),
    )
    if not last.epoxy or not shown or reached(last, Stage.SAND) is not False:
        return None
    cold = below_floor(last, facts.unit, 1.0) or _near_floor(last, facts)
    if cold is None:
        return None
    return _with_warm_hours(
        weigh(
            EPOXY_PARKED,
            symptoms(facts, "thumbnail"),
            (cold, count_is_short(last, Stage.SAND, facts.unit), mix_was_right(last)),
            (mix_was_wrong(last),),
        ),
        last,
    )


def _near_floor(batch: BatchFacts, facts: Facts) -> Evidence | None:
    """Colder than the sheet's working range, if not below its floor."""
    range_c, coldest = batch.sheet.working_c, batch.green.coldest
    if range_c is None or coldest is None or coldest.value >= range_c[0]:
        return None
    return Evidence(
        f"down to {temperature_said(coldest.value, facts.unit)}, the sheet asks "
        f"{temperature_said(range_c[0], facts.unit)}",
        "sensor",
        coldest.at,
    )


def _cold_before_gel(batch: BatchFacts, facts: Facts) -> Evidence:
    gelled = batch.assessment.stage(Stage.GEL).opens.middle
    how = "before it could gel" if gelled is not None else "and not gelled by the count"
    return Evidence(
        f"{length_said(batch.cold_before_gel_h * 3600)} below the floor {how}",
        "sensor",
        batch.mixed_at,
        gelled or facts.now,
    )


def _not_warmed(batch: BatchFacts, facts: Facts) -> Evidence | None:
    """It has not had its warmth yet, so it may still come."""
    return count_is_short(batch, Stage.FLIP, facts.unit)


def _in_the_wind(batch: BatchFacts) -> Iterator[Evidence]:
    yield from (mark_said(mark) for mark in batch.marked(MarkKind.UNCOVERED)[:1])


def _with_warm_hours(found: Finding | None, batch: BatchFacts) -> Finding | None:
    """The hours that the missing count takes at 25 °C, twelve at the least."""
    law, needs = opening_law(batch.sheet), batch.needs(Stage.SAND)
    if found is None or law is None or needs is None:
        return None if found is None else replace(found, rescue_h=WARM_H)
    band_c = batch.assessment.band_c or 0.0
    missing = max(needs - batch.assessment.count.low, 0.0)
    hours = hours_at(law, WARM_C - band_c, missing) or 0.0
    return replace(found, rescue_h=min(max(hours, WARM_H), LONGEST_H))
