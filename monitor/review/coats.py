"""Coats: one over another too early, or too thin to set."""

from monitor.records import MarkKind
from monitor.review.parts.evidence import mark_said, mix_was_wrong, warmth_was_right
from monitor.review.parts.facts import COATS, BatchFacts, CoatUnder, Facts
from monitor.review.parts.finding import Cause, Evidence, Finding
from monitor.review.parts.symptoms import SOFT, SPREAD_OUT, Looks, Thumbnail, Where, fits
from monitor.review.parts.weigh import symptoms, weigh
from monitor.times import length_said

TOO_EARLY = Cause(
    "coat-too-early",
    "Coated too early: the coat below was soft",
    "Let it harden fully, sand to sound, and coat again.",
    "fill the wrinkles with more gel coat.",
    "Cut one wrinkle open: soft below and lifted means the coat below was too young.",
)

THIN_FILM = Cause(
    "thin-film",
    "A film too thin to set",
    "Sand it back and coat again to the sheet's wet film, with no fan or wind on it.",
    "thin the next coat more.",
    "Look at a run or a thick corner of the same coat: hard there means the rest was too thin.",
    at_most="fair",
)


def coat_too_early(facts: Facts) -> Finding | None:
    """The coat below had not opened for another. Common practice, no source."""
    under = facts.last.under
    looks = facts.answers.looks
    shown = looks is Looks.WRINKLED or (
        fits(facts.answers, where=SPREAD_OUT, thumbnail=tuple(Thumbnail))
        if looks is None
        else looks is Looks.PLAIN and fits(facts.answers, thumbnail=SOFT)
    )
    if not shown or under is None or under.waxed or under.needs is None:
        return None
    young = under.count_then.low < under.needs
    if not young and facts.answers.looks is not Looks.WRINKLED:
        return None
    return weigh(
        TOO_EARLY,
        symptoms(facts, "looks", "thumbnail"),
        (
            _count_then(facts.last, under) if young else None,
            _too_soon(facts.last, under) if young else None,
            _thin(facts.last.sheet.wet_film_mm, under),
        ),
        (_count_then(facts.last, under) if not young else None,),
    )


def thin_film(facts: Facts) -> Finding | None:
    """Soft at edges and thin spots, where a thin wet film lost its styrene. Common practice, no
    source."""
    last = facts.last
    soft = facts.answers.thumbnail is not Thumbnail.NONE
    if last.epoxy or facts.answers.where is not Where.EDGES or not soft:
        return None
    film = last.sheet.wet_film_mm
    thin = thick_enough = None
    if film is not None and last.thickness_mm is not None and last.role in COATS:
        told = Evidence(
            f"{last.address}: {last.thickness_mm:g} mm wet, the sheet asks {film[0]:g} to "
            f"{film[1]:g} mm",
            "book",
            last.mixed_at,
        )
        thin, thick_enough = (told, None) if last.thickness_mm < film[0] else (None, told)
    wind = last.marked(MarkKind.UNCOVERED)[:1]
    fine = warmth_was_right(last, facts.unit) if thin or wind else None
    return weigh(
        THIN_FILM,
        symptoms(facts, "where", "thumbnail"),
        (thin, *(mark_said(mark) for mark in wind), fine),
        (thick_enough, mix_was_wrong(last)),
    )


def _count_then(over: BatchFacts, under: CoatUnder) -> Evidence:
    count, needs = under.count_then, under.needs or 0.0
    return Evidence(
        f"{under.address} stood at a count of {count.low:.0f} of {needs:.0f} at the careful edge "
        f"when {over.address} went on",
        "sensor",
        over.mixed_at,
    )


def _too_soon(over: BatchFacts, under: CoatUnder) -> Evidence:
    after = length_said((over.mixed_at - under.mixed_at).total_seconds())
    if under.opens.late is None:
        return Evidence(f"it was {after} old, and had not opened", "book", over.mixed_at)
    short = length_said((under.opens.late - over.mixed_at).total_seconds())
    return Evidence(
        f"it was {after} old; it opened {short} later", "book", over.mixed_at, under.opens.late
    )


def _thin(film: tuple[float, float] | None, under: CoatUnder) -> Evidence | None:
    if film is None or under.thickness_mm is None or under.thickness_mm >= film[0]:
        return None
    return Evidence(
        f"{under.address}: {under.thickness_mm:g} mm wet, the sheet asks {film[0]:g} to "
        f"{film[1]:g} mm",
        "book",
        under.mixed_at,
    )
