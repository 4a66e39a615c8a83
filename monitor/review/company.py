"""What it lies on or is mixed with: epoxy, old paint and foam, pigment and filler."""

from monitor.cautions import HOT_CUP, PEROXIDE
from monitor.records import Stage
from monitor.review.parts.evidence import (
    count_is_past,
    count_is_short,
    mix_was_wrong,
    notes_with,
)
from monitor.review.parts.facts import BatchFacts, Facts
from monitor.review.parts.finding import Cause, Evidence, Finding
from monitor.review.parts.symptoms import SOFT, SPREAD_OUT, Where, fits
from monitor.review.parts.weigh import symptoms, weigh

AMINE = Cause(
    "amine-at-the-join",
    "Epoxy at the join stops the polyester",
    "Remove the tacky part, wash, sand, let the epoxy reach its full count, and try a test patch.",
    "add catalyst.",
    "Put a dab of the same mix on glass: hard there and tacky at the join means it is the epoxy.",
)

BELOW = Cause(
    "what-lies-below",
    "What lies below stops it or dissolves",
    "Try a test patch, and put a barrier on that the sheet allows.",
    "put more resin over it.",
    "Put a dab of the same mix on glass: hard there and tacky here means it is what lies below.",
    at_most="fair",
)

OVERFILLED = Cause(
    "over-filled",
    "Too much pigment or filler, or a damp one",
    "Try a test patch with less, and with filler that was kept dry.",
    "warm it and hope.",
    "Mix a cup without it: hard in time means it was the filler.",
    at_most="weak",
    cautions=(PEROXIDE, HOT_CUP),
)

BELOW_WORDS = ("paint", "wood", "foam", "sealant", "rubber", "silicone", "varnish", "tape glue")
FILLER_WORDS = ("pigment", "filler", "talc", "silica", "colour paste", "color paste")


def amine_at_the_join(facts: Facts) -> Finding | None:
    """Polyester tacky only where it joins epoxy. Common practice, no source."""
    last = facts.last
    if last.epoxy or facts.answers.where is not Where.AT_JOIN:
        return None
    epoxy = next((batch for batch in facts.batches if batch.epoxy), None)
    told = notes_with(facts, ("epoxy",))
    unwilling = None
    if last.sheet.over_epoxy is False and (epoxy or told):
        unwilling = Evidence("its sheet doesn't allow it over epoxy", "book", last.mixed_at)
    if epoxy is None:
        return weigh(AMINE, symptoms(facts, "where", "smell"), (told, unwilling))
    full = count_is_past(epoxy, Stage.FULL, facts.unit)
    return weigh(
        AMINE,
        symptoms(facts, "where", "smell"),
        (
            count_is_short(epoxy, Stage.FULL, facts.unit),
            mix_was_wrong(epoxy) if _rich(epoxy) else None,
            told,
            unwilling,
        ),
        (full if full and full.since and full.since <= last.mixed_at else None,),
    )


def what_lies_below(facts: Facts) -> Finding | None:
    """Tacky over paint, foam, rubber or the like that somebody noted. Common practice, no
    source."""
    shown = fits(facts.answers, where=(Where.AT_JOIN, Where.PATCHES, Where.ALL_OVER))
    told = notes_with(facts, BELOW_WORDS)
    if not shown or told is None:
        return None
    return weigh(
        BELOW, symptoms(facts, "where", "thumbnail"), (told,), (mix_was_wrong(facts.last),)
    )


def over_filled(facts: Facts) -> Finding | None:
    """Pigment or filler that somebody noted. Common practice, no source."""
    told = notes_with(facts, FILLER_WORDS)
    if told is None or not fits(facts.answers, where=SPREAD_OUT, thumbnail=SOFT):
        return None
    return weigh(
        OVERFILLED, symptoms(facts, "where", "thumbnail"), (told,), (mix_was_wrong(facts.last),)
    )


def _rich(epoxy: BatchFacts) -> bool:
    """More hardener than the ratio asks."""
    ratio = epoxy.sheet.ratio_by_weight
    return (
        ratio is not None
        and epoxy.mix.pct is not None
        and epoxy.mix.pct > 100.0 * ratio[1] / ratio[0]
    )
