"""Water and solvents: dew, damp glass, blush, rain, a rag too early."""

from datetime import datetime

from monitor.cautions import HEAT
from monitor.records import MarkKind, Role, Stage
from monitor.review.parts.evidence import (
    damp_spell,
    mark_said,
    notes_with,
    wet_spell,
)
from monitor.review.parts.facts import COATS, BatchFacts, Facts, Weather
from monitor.review.parts.finding import Cause, Evidence, Finding
from monitor.review.parts.symptoms import (
    HARD_BELOW,
    SPREAD_OUT,
    Looks,
    Rag,
    Smell,
    Thumbnail,
    answer_said,
    fits,
)
from monitor.review.parts.weigh import symptoms, weigh

DEW = Cause(
    "dew-on-green",
    "Dew on a green coat",
    "Dry it, warm it, and wait for the full count; then sand the milk off, and coat again if it "
    "goes through.",
    "wipe it with solvent while it is green, or polish it.",
    "Sand a small spot: milky on top and clear below is dew, milky all through is damp inside.",
    cautions=(HEAT,),
)

DAMP_INSIDE = Cause(
    "damp-inside",
    "Damp glass or core",
    "Cut it out, dry the stock, and do it again.",
    "coat over it.",
    "Cut one white spot open: white to the bottom means the fibres were damp.",
    at_most="fair",
)

BLUSH = Cause(
    "blush",
    "Blush on the epoxy",
    "Warm water and a pad, dry it with clean paper, then sand and coat again.",
    "use acetone alone, or sand first: that grinds it in.",
    "Wet a spot and rub: blush turns soapy and washes off, soft epoxy stays.",
)

WATER = Cause(
    "water-on-green",
    "Water on a green face",
    "Dry it, warm it, and wait for the full count; then sand the face off, and coat again if it "
    "goes through.",
    "wipe it with solvent while it is green.",
    "Look where it stayed covered: hard there means it was the water.",
    at_most="fair",
    cautions=(HEAT,),
)

SOLVENT = Cause(
    "solvent-on-green",
    "A solvent softened it",
    "Air and warmth for a day, then test it again.",
    "wipe it again.",
    "Test a spot that was never wiped: hard there means it was the rag.",
    at_most="fair",
    cautions=(HEAT,),
)

DAMP_WORDS = ("damp", "wet core", "wet mat", "wet cloth", "wet glass")


def dew_on_green(facts: Facts) -> Finding | None:
    """Too near the dew point before it sealed or gelled. Common practice; that a surface should
    keep 3 °C above the dew point is ISO 8502-4's rule, from memory."""
    last = facts.last
    shown = fits(facts.answers, where=SPREAD_OUT, looks=(Looks.MILKY, Looks.PLAIN))
    damp = damp_spell(last.open_, last.sheet.dew_spread_min_c, facts.unit)
    if last.epoxy or not shown or damp is None:
        return None
    plain, milky = facts.answers.looks is Looks.PLAIN, facts.answers.looks is Looks.MILKY
    covered = last.marked(MarkKind.COVERED, before=damp.since)[:1]
    return weigh(
        DEW,
        symptoms(facts, "looks", "where") if not plain else symptoms(facts, "where"),
        (damp, wet_spell(last.open_, facts.unit), _still_open(last)),
        (
            Evidence(answer_said(Looks.PLAIN), "answer", facts.now) if plain else None,
            *(mark_said(mark) for mark in covered),
        ),
        # A coat shows the dew it took; on a laminate only its milk does.
        at_most="strong" if milky or last.role in COATS else "fair",
    )


def damp_inside(facts: Facts) -> Finding | None:
    """White fibres, and damp when it was laid. Common practice, no source."""
    if facts.answers.looks is not Looks.WHITE_INSIDE:
        return None
    last = facts.last
    rained = last.marked(MarkKind.RAINED, before=last.assessment.stage(Stage.GEL).opens.late)[:1]
    mats = [batch for batch in facts.batches if batch.role is Role.MAT_EDGE]
    humid, dry = _humidity(last.early, last.sheet.humidity_max_pct)
    return weigh(
        DAMP_INSIDE,
        symptoms(facts, "looks", "where"),
        (
            humid,
            notes_with(facts, DAMP_WORDS),
            *(mark_said(mark) for mark in rained),
            *(Evidence(f"{m.address} is mat, which holds damp", "book", m.mixed_at) for m in mats),
        ),
        (dry,),
    )


def blush(facts: Facts) -> Finding | None:
    """A greasy film on epoxy that is hard below, after a cool damp night. Common practice, no
    source."""
    last = facts.last
    shown = fits(
        facts.answers,
        thumbnail=HARD_BELOW,
        smell=(Smell.GREASY, Smell.AMINE),
        looks=(Looks.PLAIN, Looks.MILKY),
    )
    greasy = facts.answers.smell is Smell.GREASY or facts.answers.looks is Looks.MILKY
    if not last.epoxy or not shown or not greasy:
        return None
    damp = damp_spell(last.green, last.sheet.dew_spread_min_c, facts.unit)
    humid, dry = _humidity(last.green, last.sheet.humidity_max_pct)
    return weigh(
        BLUSH,
        symptoms(facts, "smell", "looks", "thumbnail"),
        (damp, wet_spell(last.green, facts.unit) if damp else None, humid),
        (dry if damp is None else None,),
    )


def water_on_green(facts: Facts) -> Finding | None:
    """Rain or a wash before the face could take it. Common practice, no source."""
    shown = fits(facts.answers, where=SPREAD_OUT, looks=(Looks.MILKY, Looks.PLAIN))
    wet = [m for m in facts.last.marked(MarkKind.RAINED, MarkKind.WASHED) if m.at <= facts.now]
    if not shown or not wet:
        return None
    early, late = _green_when(facts.last, wet[0].at)
    return weigh(
        WATER,
        symptoms(facts, "where", "looks"),
        (mark_said(wet[0]) if early else None, early),
        (late,),
    )


def solvent_on_green(facts: Facts) -> Finding | None:
    """Wiped with a solvent before it could take it. Common practice, no source."""
    shown = fits(facts.answers, where=SPREAD_OUT, rag=(Rag.STICKY,))
    wiped = facts.last.marked(MarkKind.WIPED)
    if not shown or not wiped or facts.answers.looks is Looks.WRINKLED:
        return None
    early, late = _green_when(facts.last, wiped[0].at)
    return weigh(
        SOLVENT,
        symptoms(facts, "where", "rag"),
        (mark_said(wiped[0]) if early else None, early),
        (late, _hard_now(facts)),
    )


def _hard_now(facts: Facts) -> Evidence | None:
    if facts.answers.thumbnail is not Thumbnail.NONE:
        return None
    return Evidence(answer_said(Thumbnail.NONE), "answer", facts.now)


def _still_open(batch: BatchFacts) -> Evidence | None:
    """The careful edge was not sealed, or gelled, when the damp came."""
    stage = Stage.SEALED if batch.waxed and Stage.SEALED in batch.sheet.needs else Stage.GEL
    if stage not in batch.sheet.needs:
        return None
    late = batch.assessment.stage(stage).opens.late
    done = "sealed" if stage is Stage.SEALED else "gelled"
    if late is None:
        return Evidence(f"not {done} by then", "sensor", batch.assessment.now)
    return Evidence(f"{done} only later, at the careful edge", "sensor", late)


def _green_when(batch: BatchFacts, at: datetime) -> tuple[Evidence | None, Evidence | None]:
    """Whether a moment lay before the face could take water or a rag, as evidence either way."""
    stage = Stage.SEALED if batch.waxed and Stage.SEALED in batch.sheet.needs else Stage.SAND
    needs = batch.sheet.needs.get(stage)
    if needs is None:
        return None, None
    late = batch.assessment.stage(stage).opens.late
    done = "sealed" if stage is Stage.SEALED else "ready to sand"
    if late is None:
        return Evidence(f"not yet {done} by the count", "sensor", batch.assessment.now), None
    told = Evidence(f"{done} by the count", "sensor", late)
    return (told, None) if late > at else (None, told)


def _humidity(weather: Weather, limit_pct: float | None) -> tuple[Evidence | None, Evidence | None]:
    """Above the sheet's most humidity, or never: as evidence for and against."""
    most = weather.most_humid
    if most is None or limit_pct is None:
        return None, None
    told = Evidence(
        f"humidity {most.value:.0f} % at the most, the sheet allows {limit_pct:g} %",
        "sensor",
        most.at,
    )
    return (told, None) if most.value > limit_pct else (None, told)
