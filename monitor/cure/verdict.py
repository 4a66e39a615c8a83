"""From times to an answer: the verdict on each stage, what overrules it, and why in a sentence."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from monitor.cure.bond import WAXED
from monitor.cure.floor import Below
from monitor.cure.mixing import MixJudgement
from monitor.cure.stages import Counted, StageTimes
from monitor.records import WINDOWS, Edges, Sheet, Stage, StageAnswer, Verdict
from monitor.times import from_unix

COLD_BEFORE_GEL_HOURS = 3.0
"""Longer than this below the floor before gel, and the count can't vouch. This project's rule."""

UNWAXED = "No wax in it: it stays tacky where air reaches it, and never seals."
SILENT_SHEET = "Your sheet doesn't say."
TOO_LONG_SILENT = "Too long without a reading to say more."
PAST = "The careful edge is past it."
OPEN = "Open at the careful edge, and not shut at the warm one."
SHORT = "The careful edge is not there yet."
NOT_EVEN_WARM = "Not even the warm edge is there yet."
LOADS = "Loads: maker's and designer's figures only."
CLOCK_IN_DOUBT = "Nobody has confirmed this machine's clock: what has passed can't be told."
COUNT_DECIDES = frozenset({TOO_LONG_SILENT, PAST, OPEN, SHORT, NOT_EVEN_WARM, LOADS})
"""Reasons that rest on the count, so that its figures are worth showing beside them."""


@dataclass(frozen=True)
class Facts:
    """What can overrule the count, gathered for one batch. Times in Unix seconds.

    `waxed` None: nobody said. `wax_spoiled`, `coat_too_early`: what happened, in a sentence.
    """

    mix: MixJudgement
    hot_at_s: float | None = None
    cold_before_gel_hours: float = 0.0
    hull_unprobed: bool = False
    safety: bool = False
    waxed: bool | None = None
    wax_spoiled: str | None = None
    coat_too_early: str | None = None
    clock_in_doubt: bool = False


def cold_before_gel(below: Below, counted: Counted, now_s: float) -> float:
    """Hours below the floor before the middle count reached gel.

    Valid where the sheet gives gel; 0 where it doesn't. Source: this project's rule.
    """
    gel = counted.times.get(Stage.GEL)
    if gel is None:
        return 0.0
    return below.hours_until(now_s if gel.opens_middle_s is None else gel.opens_middle_s)


def overruled_by(facts: Facts, sheet: Sheet) -> tuple[str, ...]:
    """The names of the facts that overrule the count, the strongest first.

    Valid for any facts. Source: this project's rules.
    """
    names = []
    if facts.mix.state == "outside":
        names.append("mix-outside")
    if facts.clock_in_doubt:
        names.append("clock-in-doubt")
    if facts.hot_at_s is not None:
        names.append("part-too-hot")
    if facts.cold_before_gel_hours > COLD_BEFORE_GEL_HOURS:
        names.append("cold-before-gel")
    if facts.coat_too_early is not None:
        names.append("coated-too-early")
    if facts.wax_spoiled is not None and Stage.SEALED in sheet.needs:
        names.append("wax-spoiled")
    if facts.mix.state in ("not-logged", "off-aim"):
        names.append(f"mix-{facts.mix.state}")
    if facts.hull_unprobed and {Stage.PROPS_OFF, Stage.LOAD} & set(sheet.needs):
        names.append("hull-unprobed")
    if facts.safety and Stage.LOAD in sheet.needs:
        names.append("loads-not-ours")
    return tuple(names)


def answer_stage(stage: Stage, sheet: Sheet, counted: Counted | None, facts: Facts) -> StageAnswer:
    """The answer about one stage, as of the exposure's now.

    Valid for any stage; one the sheet doesn't give is `cant-tell`. Source: this project's rules
    for verdicts and what overrules them.
    """
    kind = _kind(stage)
    needs = sheet.needs.get(stage)
    times = counted.times.get(stage) if counted is not None else None
    if facts.mix.state == "outside":
        verdict, reason = Verdict.WONT_CURE, facts.mix.sentence
    elif stage is Stage.RECOAT and facts.waxed:
        verdict, reason, times = Verdict.SHUT, WAXED, None
    elif stage is Stage.SEALED and needs is not None and facts.waxed is False:
        verdict, reason, times = Verdict.CANT_TELL, UNWAXED, None
    elif needs is None:
        verdict, reason = Verdict.CANT_TELL, SILENT_SHEET
    elif counted is None or times is None:
        verdict, reason = Verdict.CANT_TELL, "Your sheet doesn't give a base to count from."
    else:
        verdict, reason = _by_count(stage, needs, times, counted)
        verdict, reason = _overruled(stage, verdict, reason, times, facts)
    opens, shuts = _edges(times) if needs is not None else (Edges(), None)
    return StageAnswer(
        stage,
        kind,
        needs,
        verdict,
        opens,
        (shuts or Edges()) if kind == "window" else None,
        times.shut_by if times is not None else None,
        reason,
        reason in COUNT_DECIDES,
    )


def _kind(stage: Stage) -> Literal["event", "opening", "window"]:
    if stage is Stage.GEL:
        return "event"
    return "window" if stage in WINDOWS else "opening"


def _edges(times: StageTimes | None) -> tuple[Edges, Edges | None]:
    if times is None:
        return Edges(), None
    return (
        Edges(_at(times.opens_early_s), _at(times.opens_middle_s), _at(times.opens_late_s)),
        Edges(_at(times.shuts_early_s), _at(times.shuts_middle_s)),
    )


def _at(time_s: float | None) -> datetime | None:
    return None if time_s is None else from_unix(time_s)


def _by_count(
    stage: Stage, needs: tuple[float, ...], times: StageTimes, counted: Counted
) -> tuple[Verdict, str]:
    # Edges never lie after now, except where a remembered mixing time puts a shut limit there.
    opened, may_be_open = times.opens_late_s is not None, times.opens_early_s is not None
    if stage in WINDOWS:
        shut = _shut(stage, times, opened)
        if shut is not None:
            return shut
        if counted.open_ended:
            return Verdict.CANT_TELL, TOO_LONG_SILENT
        if opened:
            return Verdict.READY, OPEN
    elif counted.open_ended and not opened:
        return Verdict.CANT_TELL, TOO_LONG_SILENT
    elif opened:
        if stage is Stage.GEL:
            return Verdict.DUE, "Look, and mark it when you see it."
        return Verdict.READY, PAST
    if stage is Stage.GEL:
        return Verdict.NOT_YET, SHORT
    return (Verdict.TEST_IT, SHORT) if may_be_open else (Verdict.NOT_YET, NOT_EVEN_WARM)


def _shut(stage: Stage, times: StageTimes, opened: bool) -> tuple[Verdict, str] | None:
    if times.shuts_early_s is None:
        return None
    by = "by the sheet's plain hours" if times.shut_by == "hours" else "by the count"
    if opened:
        return Verdict.SHUT, f"Shut {by}."
    if stage is Stage.KNIFE_TRIM:
        return Verdict.TEST_IT, "It may be past, it may be wet: try a corner of the witness tab."
    return Verdict.SHUT, f"Shut {by}: sand, once the sand stage is reached."


def _overruled(
    stage: Stage, verdict: Verdict, reason: str, times: StageTimes, facts: Facts
) -> tuple[Verdict, str]:
    """What the count can't see, strongest first. Gel is an event; only the clock touches it."""
    if facts.clock_in_doubt:
        return Verdict.CANT_TELL, CLOCK_IN_DOUBT
    if stage is Stage.GEL:
        return verdict, reason
    opened_s = times.opens_late_s
    if facts.hot_at_s is not None and (opened_s is None or opened_s > facts.hot_at_s):
        return Verdict.CANT_TELL, (
            "It ran hotter than its sheet allows: look for cracks and a brown heart."
        )
    if facts.safety and stage is Stage.LOAD:
        return Verdict.CANT_TELL, LOADS
    if verdict is not Verdict.READY:
        return verdict, reason
    if facts.cold_before_gel_hours > COLD_BEFORE_GEL_HOURS:
        return Verdict.TEST_IT, (
            f"{facts.cold_before_gel_hours:.1f} h below the floor before it gelled: "
            "the count can't say it set."
        )
    if facts.coat_too_early is not None:
        return Verdict.TEST_IT, facts.coat_too_early
    if facts.wax_spoiled is not None and stage is Stage.SEALED:
        return Verdict.TEST_IT, facts.wax_spoiled
    if facts.mix.state in ("not-logged", "off-aim"):
        return Verdict.TEST_IT, facts.mix.sentence
    if facts.hull_unprobed and stage in (Stage.PROPS_OFF, Stage.LOAD):
        return Verdict.TEST_IT, "The hull may be colder than the air: put a probe on it."
    return verdict, reason
