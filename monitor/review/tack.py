"""Tack that is as it should be, or will be: air at the surface, and not there yet."""

from monitor.records import MarkKind, Stage
from monitor.review.parts.evidence import (
    below_floor,
    count_is_past,
    count_is_short,
    mark_said,
    mix_was_right,
    mix_was_wrong,
    reached,
    warmth_was_right,
    warmth_was_wrong,
)
from monitor.review.parts.facts import Facts
from monitor.review.parts.finding import Cause, Finding
from monitor.review.parts.symptoms import (
    EVEN,
    HARD_BELOW,
    Grit,
    LastCoat,
    Looks,
    Smell,
    Thumbnail,
    Where,
    fits,
)
from monitor.review.parts.weigh import symptoms, weigh

AIR_TACK = Cause(
    "normal-air-tack",
    "Normal air tack",
    "Nothing is wrong below. Where the bond line is chemical and clean, laminate or coat on it; "
    "else scrape or sand the film off, or wipe once and sand. Seal the last coat with wax or film.",
    "strip it, add catalyst, coat again in hope, or call it a failed cure.",
    "10 cm of 80 grit: gum for two strokes and then dust is air tack; gum to the end is not.",
)

STILL_GREEN = Cause(
    "still-green",
    "Still green: early, not wrong",
    "Wait for the sand stage to be ready, and try the witness tab first.",
    "sand now, which clogs and tears the fibres, or add anything.",
    "Thumbnail again on the witness tab after a few warm hours: green gets harder, "
    "a wrong mix doesn't.",
)

FILM_WRINKLES = Cause(
    "film-wrinkles",
    "Air under the film",
    "Treat it as air tack: lift the film, scrape or sand the tacky places. Next time a smooth, "
    "clean polyester film, rolled out flat.",
    "lay another film over it.",
    "Look where the film lay flat: hard there and tacky in the wrinkles means air got in.",
    at_most="fair",
)


def normal_air_tack(facts: Facts) -> Finding | None:
    """Hard under an unwaxed, air-inhibited face that is past its sand stage. Common practice, no
    source."""
    last = facts.last
    if last.epoxy or last.sheet.air_inhibited is False or facts.waxed:
        return None
    shown = fits(
        facts.answers,
        where=(Where.ALL_OVER,),
        grit=(Grit.DUST, Grit.DUST_AFTER),
        last_coat=(LastCoat.UNWAXED,),
        smell=(Smell.NONE, Smell.STYRENE),
        looks=(Looks.PLAIN,),
    )
    hard = facts.answers.thumbnail is Thumbnail.NONE
    if not (shown and hard) or reached(last, Stage.SAND) is False:
        return None
    past = count_is_past(last, Stage.SAND, facts.unit)
    return weigh(
        AIR_TACK,
        symptoms(facts, "thumbnail", "grit", "last_coat"),
        (past, warmth_was_right(last, facts.unit), mix_was_right(last)),
        (mix_was_wrong(last), warmth_was_wrong(last, facts.unit)),
        # Without a sand figure nothing says that it had its time.
        at_most="strong" if past is not None else "fair",
    )


def still_green(facts: Facts) -> Finding | None:
    """Short of the stage that ends its tack, and nothing else against it. Common practice, no
    source."""
    last = facts.last
    stage = Stage.SEALED if facts.waxed and Stage.SEALED in last.sheet.needs else Stage.SAND
    early = last.needs(Stage.FLIP) is not None and not reached(last, Stage.FLIP)
    thumbnail = (*HARD_BELOW, Thumbnail.DENT) if early else HARD_BELOW
    shown = fits(
        facts.answers,
        where=EVEN,
        thumbnail=thumbnail,
        looks=(Looks.PLAIN,),
    )
    parked = below_floor(last, facts.unit, 1.0) is not None
    if not shown or parked or reached(last, stage) is not False:
        return None
    return weigh(
        STILL_GREEN,
        symptoms(facts, "thumbnail", "grit"),
        (
            count_is_short(last, stage, facts.unit),
            warmth_was_right(last, facts.unit),
            mix_was_right(last),
        ),
        (mix_was_wrong(last), warmth_was_wrong(last, facts.unit)),
    )


def film_wrinkles(facts: Facts) -> Finding | None:
    """Tacky only where a film or bag let air in. Common practice, no source."""
    if facts.last.epoxy or facts.answers.where is not Where.UNDER_FILM:
        return None
    covered = [mark_said(mark) for mark in facts.last.marked(MarkKind.COVERED)]
    return weigh(
        FILM_WRINKLES,
        symptoms(facts, "where", "last_coat"),
        covered[:1],
        (mix_was_wrong(facts.last),),
    )
