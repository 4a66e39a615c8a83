"""What went into the cup: too little, too much, nothing, unstirred, off its ratio."""

from datetime import timedelta

from monitor.cautions import HEAT, HOT_CUP, PEROXIDE
from monitor.cure.bench import allowed_pct, holds, resolution, room_pct
from monitor.records import MarkKind, Stage
from monitor.review.parts.evidence import (
    count_is_past,
    extreme_said,
    mark_said,
    mix_was_right,
    mix_was_wrong,
    warmth_was_right,
    warmth_was_wrong,
)
from monitor.review.parts.facts import BatchFacts, Facts
from monitor.review.parts.finding import Cause, Evidence, Finding
from monitor.review.parts.symptoms import (
    SOFT,
    UNMARKED,
    Cup,
    Looks,
    Thumbnail,
    Where,
    answer_said,
    fits,
)
from monitor.review.parts.weigh import symptoms, weigh
from monitor.times import length_said

FAST_SHARE = 0.65
"""A kick before this share of the time to gel is fast: the sheet's gel is good to ± 35 %. Common
practice, no source."""

LONG_AGO = timedelta(hours=24)

TOO_LITTLE = Cause(
    "too-little-catalyst",
    "Too little catalyst",
    "Warm it once, evenly, for 24 hours; if the thumbnail still dents it then, take it off.",
    "brush catalyst on, or expect time to fix it.",
    "A test cup from the same tins, weighed well: if that one kicks in time, the dose was short.",
    cautions=(HEAT, PEROXIDE, HOT_CUP),
)

TOO_MUCH = Cause(
    "too-much-catalyst",
    "Too much catalyst",
    "Scratch it: cut back what is brittle or cheesy, and do a structural part again.",
    "think hotter is harder: more catalyst makes it no stronger.",
    "Scratch a corner of the cup: powder and cracks mean too much, rubber means too little.",
)

NOTHING = Cause(
    "nothing-in-the-cup",
    "No catalyst or hardener in that cup",
    "Scrape it off, wipe with solvent, air it well, and do it again.",
    "bury it under a good coat.",
    "Dab a little of it on card in the warm: with nothing in it, it is liquid tomorrow too.",
)

UNSTIRRED = Cause(
    "unstirred",
    "Unstirred mix, or scrapings from the cup's side",
    "Dig the soft patches out to hard, and do them again.",
    "warm it and hope, or skim over it.",
    "Mark the soft patches' edge: sharp and brush-shaped is mixing, fading is cold or thin.",
)

OFF_RATIO = Cause(
    "off-ratio",
    "Off its ratio",
    "Remove it and do it again, both parts weighed.",
    "wait, heat it, or coat over it with a right mix.",
    "Warm the witness tab for two hours: off its ratio it stays rubbery, parked epoxy hardens.",
)


def too_little_catalyst(facts: Facts) -> Finding | None:
    """Soft all over, the cup too, and the dose short, coarse or not written down. Common practice,
    no source."""
    shown = fits(facts.answers, where=(Where.ALL_OVER,), thumbnail=SOFT)
    if not facts.polyester or not shown or facts.answers.thumbnail is None:
        return None
    batch = next((b for b in facts.batches if _under(b)), facts.last)
    short, coarse = _under(batch), _coarse(batch)
    rubbery = facts.answers.cup is Cup.RUBBERY
    if short is None and coarse is None and not (rubbery or batch.mix.state == "not-logged"):
        return None
    return weigh(
        TOO_LITTLE,
        symptoms(facts, "thumbnail", "cup") if rubbery else symptoms(facts, "thumbnail"),
        (
            short,
            coarse,
            warmth_was_right(batch, facts.unit) if short or coarse or rubbery else None,
        ),
        (
            mix_was_right(batch) if coarse is None else None,
            Evidence(answer_said(Cup.HARD), "answer", facts.now)
            if facts.answers.cup is Cup.HARD
            else None,
            # Cold may be a cause beside it, but takes nothing from a dose that was too small.
            warmth_was_wrong(batch, facts.unit) if short is None else None,
        ),
        at_most="strong" if short else "fair",
    )


def too_much_catalyst(facts: Facts) -> Finding | None:
    """Brittle, yellow or cheesy, or a dose over the range that kicked fast. Common practice, no
    source."""
    if not facts.polyester:
        return None
    batch = next((b for b in facts.batches if _over(b)), facts.last)
    over = _over(batch)
    brittle = facts.answers.looks is Looks.BRITTLE
    shown = brittle or fits(
        facts.answers, where=(Where.ALL_OVER, Where.PATCHES), looks=(Looks.PLAIN,)
    )
    if not shown or not (brittle or over):
        return None
    return weigh(
        TOO_MUCH,
        symptoms(facts, "looks") if brittle else symptoms(facts, "where"),
        (over, _kicked_fast(batch), _ran_warm(batch, facts)),
        (mix_was_right(batch),),
        at_most="strong" if over else "fair",
    )


def nothing_in_the_cup(facts: Facts) -> Finding | None:
    """Liquid or stringy a day later, and no mark or weight says that anything went in. Common
    practice, no source."""
    if facts.answers.thumbnail is not Thumbnail.WET:
        return None
    taps = [b for b in facts.batches if b.marked(MarkKind.CATALYST_IN)]
    bare = [b for b in facts.batches if b not in taps and (taps or not b.second_g)]
    batch = bare[-1] if bare else facts.last
    kicked = batch.marked(MarkKind.KICKED)[:1]
    return weigh(
        NOTHING,
        symptoms(facts, "thumbnail", "where"),
        (
            Evidence(f"{batch.address}: no catalyst-in mark", "book", batch.mixed_at)
            if batch not in taps and (taps or batch.second_g is None)
            else None,
            Evidence(
                f"{taps[-1].address} has one", "book", taps[-1].marked(MarkKind.CATALYST_IN)[0].at
            )
            if taps and batch not in taps
            else None,
            _nothing_weighed(batch),
            _long_past_gel(batch, facts),
        ),
        (
            mix_was_right(batch) if not taps or batch in taps else None,
            mark_said(batch.marked(MarkKind.CATALYST_IN)[0]) if batch in taps else None,
            *(mark_said(mark) for mark in kicked),
        ),
    )


def unstirred(facts: Facts) -> Finding | None:
    """Hard here and soft there, with the weather even and the amounts right. Common practice, no
    source."""
    shown = fits(facts.answers, where=(Where.PATCHES,), thumbnail=SOFT, looks=UNMARKED)
    if not shown or facts.answers.where is None:
        return None
    last = facts.last
    return weigh(
        UNSTIRRED,
        symptoms(facts, "where", "thumbnail"),
        (warmth_was_right(last, facts.unit), mix_was_right(last)),
        (warmth_was_wrong(last, facts.unit), mix_was_wrong(last)),
        at_most="strong" if len(facts.batches) > 1 else "fair",
    )


def off_ratio(facts: Facts) -> Finding | None:
    """Epoxy weighed outside its ratio stays rubbery at any count. Common practice, no source."""
    batch = next((b for b in facts.batches if b.epoxy and mix_was_wrong(b)), None)
    if batch is None or not fits(facts.answers, where=tuple(Where), thumbnail=SOFT):
        return None
    hard_cup = facts.answers.cup is Cup.HARD
    return weigh(
        OFF_RATIO,
        symptoms(facts, "thumbnail", "cup") if not hard_cup else symptoms(facts, "thumbnail"),
        (
            mix_was_wrong(batch),
            count_is_past(batch, Stage.SAND, facts.unit) or warmth_was_right(batch, facts.unit),
        ),
        (Evidence(answer_said(Cup.HARD), "answer", facts.now) if hard_cup else None,),
    )


def _under(batch: BatchFacts) -> Evidence | None:
    """Recorded under the sheet's least. A batch of polyester only."""
    range_pct = batch.sheet.catalyst_pct
    if range_pct is None or batch.mix.pct is None or batch.mix.pct >= range_pct[0]:
        return None
    return mix_was_wrong(batch)


def _over(batch: BatchFacts) -> Evidence | None:
    range_pct = batch.sheet.catalyst_pct
    if range_pct is None or batch.mix.pct is None or batch.mix.pct <= range_pct[1]:
        return None
    return mix_was_wrong(batch)


def _coarse(batch: BatchFacts) -> Evidence | None:
    """A scale whose one step can take the dose under the sheet's least."""
    ends = allowed_pct(batch.sheet)
    if not batch.resin_g or not batch.second_g or not batch.scale_step_g or ends is None:
        return None
    scale = resolution(batch.scale_step_g, batch.resin_g, batch.second_g)
    if batch.mix.state != "right" or holds(scale, room_pct(scale.pct, ends)):
        return None
    low, high = scale.hits_pct
    return Evidence(
        f"{batch.address}: a scale of {batch.scale_step_g:g} g on {batch.second_g:g} g: anything "
        f"from {low:.1f} to {high:.1f} %",
        "book",
        batch.mixed_at,
    )


def _nothing_weighed(batch: BatchFacts) -> Evidence | None:
    if batch.second_g == 0.0:
        return Evidence(f"{batch.address}: 0 g logged", "book", batch.mixed_at)
    return None


def _long_past_gel(batch: BatchFacts, facts: Facts) -> Evidence | None:
    if facts.now - batch.mixed_at < LONG_AGO:
        return None
    return count_is_past(batch, Stage.GEL, facts.unit)


def _kicked_fast(batch: BatchFacts) -> Evidence | None:
    gel = batch.assessment.stage(Stage.GEL).opens.early
    kicked = batch.marked(MarkKind.KICKED)
    if gel is None or not kicked:
        return None
    took, meant = kicked[0].at - batch.mixed_at, gel - batch.mixed_at
    if took > FAST_SHARE * meant:
        return None
    return Evidence(
        f"kicked after {length_said(took.total_seconds())}, not "
        f"{length_said(meant.total_seconds())}",
        "book",
        kicked[0].at,
    )


def _ran_warm(batch: BatchFacts, facts: Facts) -> Evidence | None:
    range_c, warmest = batch.sheet.working_c, batch.early.warmest
    if range_c is None or warmest is None or warmest.value <= range_c[1]:
        return None
    return extreme_said(warmest, "above the sheet's working range", facts.unit)
