"""Why it isn't ready, and what would change that: the question asked most, answered in words."""

from dataclasses import dataclass

from monitor.answers.views import BatchNow, PartNow
from monitor.answers.wording import STAGE_WORDS, TOUCH_TESTS, counted, reason_said
from monitor.cure.law import opening_law
from monitor.cure.steady import hours_at
from monitor.overview import BatchView, LayupView
from monitor.records import Stage, StageAnswer, Verdict
from monitor.times import length_said
from monitor.units import Unit, temperature_said

_NO_WAITING = (
    "No waiting and no warmth: it has to come off and be laid up anew, or be asked of the maker."
)


@dataclass(frozen=True, slots=True)
class Change:
    """One batch that isn't ready: for what, why, and what would change the answer."""

    address: str
    stage: str
    why: str
    change: str


def changes_of(view: LayupView, told: PartNow, unit: Unit) -> tuple[Change, ...]:
    """For each batch the stage it is asked about: that of its headline, or the next after it.

    Nothing of a batch whose every stage is reached.
    """
    pairs = zip(view.batches, told.batches, strict=True)
    waiting = ((batch, now, _waits_for(now)) for batch, now in pairs)
    return tuple(
        _change(batch, now, answer, unit) for batch, now, answer in waiting if answer is not None
    )


def _waits_for(now: BatchNow) -> StageAnswer | None:
    if now.stage is None:
        return None
    stages = tuple(Stage)
    ahead = (now.assessment.stage(stage) for stage in stages[stages.index(now.stage) :])
    waited = (a for a in ahead if a.needs is not None and a.verdict is not Verdict.READY)
    return next((a for a in waited if a.stage is now.stage or a.kind == "opening"), None)


def _change(batch: BatchView, now: BatchNow, answer: StageAnswer, unit: Unit) -> Change:
    return Change(
        now.address,
        STAGE_WORDS[answer.stage],
        reason_said(answer, now.assessment, unit),
        _would_change(batch, answer, unit),
    )


def _would_change(batch: BatchView, answer: StageAnswer, unit: Unit) -> str:
    if answer.verdict is Verdict.NOT_YET:
        return _warmth(batch, answer, unit)
    if answer.verdict is Verdict.TEST_IT:
        test = TOUCH_TESTS.get(answer.stage)
        hand = "Your hand" if test is None else f"Your hand: {test}"
        return f"{hand}. {_surer(batch)}".rstrip()
    if answer.verdict is Verdict.SHUT:
        return "Sanding: once the sand stage is reached, sand dull all over, then go on."
    if answer.verdict is Verdict.WONT_CURE:
        return _NO_WAITING
    return _known(batch, answer)


def _warmth(batch: BatchView, answer: StageAnswer, unit: Unit) -> str:
    """`66 °C·h more at the careful edge: 6 h at 15.0 °C, or 2 h 38 min at 30.0 °C.`"""
    a, law = batch.worked.assessment, opening_law(batch.sheet)
    if law is None or answer.needs is None:
        return "Time and warmth."
    missing = max(answer.needs[0] - a.count.low, 0.0)
    sign = "equivalent hours" if a.unit == "eq_h" else "°F·h" if unit == "f" else "°C·h"
    words = f"{counted(missing, a, unit):.0f} {sign} more at the careful edge"
    told = []
    for held_c in batch.sheet.working_c or ():
        hours = hours_at(law, held_c - (a.band_c or 0.0), missing)
        if hours is not None:
            told.append(f"{length_said(hours * 3600)} at {temperature_said(held_c, unit)}")
    return f"{words}: {', or '.join(told)}." if told else f"{words}."


def _surer(batch: BatchView) -> str:
    """What would let the count say more, where it is the count that is unsure."""
    a = batch.worked.assessment
    if "mix-not-logged" in a.overruled_by:
        return "Or log what you weighed into the cup: then the count can speak for itself."
    if a.unmeasured_hours > 0:
        return (
            "Or readings for the time nobody measured, from a logger's file; or your word, if you "
            "saw it warm (mark seen-warm)."
        )
    return ""


def _known(batch: BatchView, answer: StageAnswer) -> str:
    """Nothing can be told: what has to be known first."""
    a = batch.worked.assessment
    if answer.needs is None:
        return "The figure from your maker's sheet, typed into yours."
    if not batch.counted:
        return "A sensor beside it: log where it stands (stay)."
    if "part-too-hot" in a.overruled_by:
        return "No count: what your eye and a tap find in it."
    if a.readings.last is None or any(gap.why == "after-last" for gap in a.gaps):
        return "A reading: look at the sensor, its plug and its port."
    return "A figure that is missing: see the reason beside each stage."


__all__ = ["Change", "changes_of"]
