"""The words and shapes of the answers, in one place for terminal, page and alert."""

import math
from datetime import datetime, timedelta, tzinfo

from monitor.records import (
    Assessment,
    Batch,
    BondLine,
    Gap,
    GapReason,
    Nearness,
    Role,
    Stage,
    StageAnswer,
    StageForecast,
    Verdict,
)
from monitor.times import from_unix, length_said, said
from monitor.units import Unit, f_degrees_from_c_degrees

VERDICT_WORDS = {
    Verdict.READY: "READY BY THE COUNT",
    Verdict.DUE: "SHOULD HAVE KICKED",
    Verdict.TEST_IT: "TEST IT",
    Verdict.NOT_YET: "NOT YET",
    Verdict.SHUT: "SHUT",
    Verdict.CANT_TELL: "CAN'T TELL",
    Verdict.WONT_CURE: "WON'T CURE RIGHT",
}

VERDICT_SHAPES = {
    Verdict.READY: "■",
    Verdict.DUE: "◆",
    Verdict.TEST_IT: "◧",
    Verdict.NOT_YET: "□",
    Verdict.SHUT: "✕",
    Verdict.CANT_TELL: "?",
    Verdict.WONT_CURE: "▲",
}

STAGE_WORDS = {
    Stage.GEL: "gel",
    Stage.KNIFE_TRIM: "knife trim",
    Stage.RECOAT: "recoat without sanding",
    Stage.SEALED: "sealed",
    Stage.FLIP: "flip",
    Stage.SAND: "sand",
    Stage.PROPS_OFF: "props and clamps off",
    Stage.LOAD: "load",
    Stage.FULL: "full cure",
}

ABOUT = frozenset({Stage.GEL, Stage.KNIFE_TRIM})
"""Stages whose sheet figures are good to 35 % in time until the person has timed two of their own.
Common practice, no source."""

TOUCH_TESTS = {
    Stage.KNIFE_TRIM: "try a corner: it should cut like leather, not string",
    Stage.RECOAT: "a gloved finger should stick and come away clean",
    Stage.SEALED: "a dry finger should slide, not drag",
    Stage.FLIP: "press a corner: it should spring back, with no mark",
    Stage.SAND: "thumbnail on the witness tab, then 10 cm of 80 grit: dust, not gum",
    Stage.PROPS_OFF: "thumbnail on the squeezed-out edge: no mark",
    Stage.LOAD: "thumbnail on the squeezed-out edge: no mark",
    Stage.FULL: "thumbnail: no mark, and no smell left",
}
"""What to do with a hand before believing a count. Common practice, no source."""

WITHOUT_A_KNIFE = (
    "Back the edge with a batten, then saw or sand it: lifting a set fray pulls the skin off its "
    "core."
)
"""For cloth whose knife window has shut. Common practice, no source."""

ROLE_WORDS = {
    Role.SKIN_A: "skin A",
    Role.SKIN_B: "skin B",
    Role.MAT_EDGE: "mat edge",
    Role.FILLET: "fillet",
    Role.PLAIN_COAT: "plain coat",
    Role.WAX_COAT: "wax coat",
    Role.PATCH: "patch",
    Role.OTHER: "batch",
}

NEARNESS_WORDS = {
    Nearness.PROBE: "on the part",
    Nearness.BESIDE: "beside the part",
    Nearness.SAME_SPACE: "in the same space",
}

GAP_WORDS: dict[GapReason, str] = {
    "silent": "no reading",
    "suspect": "suspect readings",
    "carried": "carried from one sensor to the next",
    "before-first": "no reading yet",
    "after-last": "no reading since",
}

BOND_WORDS = {
    "chemical": "CHEMICAL",
    "mechanical": "MECHANICAL, sand first",
    "cant-tell": "CAN'T TELL",
}

COUNT_IS_NOT_HARDNESS = (
    "The count is time and warmth, not hardness: do the touch test. "
    "The maker's sheet and local rules stand above it."
)


def batch_said(batch: Batch, zone: tzinfo, now: datetime) -> str:
    """`skin A, mixed 10:20 Sat`, with how sure the mixing time is."""
    name = ROLE_WORDS[batch.role]
    number = batch.name.removeprefix(batch.role.value)
    words = f"{name} {number[1:]}" if number else name
    words += f", mixed {said(batch.mixed_at, zone, now)}"
    if batch.give_or_take > timedelta(0):
        words += f" (remembered ± {length_said(batch.give_or_take.total_seconds())})"
    return words


def since_said(answer: StageAnswer, zone: tzinfo, now: datetime) -> str | None:
    """`since 04:54 Sun`. Gel and knife trim are only good to about. None: nothing was reached."""
    when = stage_time(answer)
    if when is None:
        return None
    about = "about " if answer.stage in ABOUT else ""
    minute = careful(when, MINUTE_S, later=answer.verdict is not Verdict.SHUT)
    return f"since {about}{said(min(minute, now), zone, now)}"


def stage_headline(answer: StageAnswer, zone: tzinfo, now: datetime) -> str:
    """`sand: READY BY THE COUNT since 04:54 Sun`."""
    words = f"{STAGE_WORDS[answer.stage]}: {VERDICT_WORDS[answer.verdict]}"
    since = since_said(answer, zone, now)
    return words if since is None else f"{words} {since}"


def counted(value: float, a: Assessment, unit: Unit) -> float:
    """A count in the shop's unit: degree-hours in °F where it works in °F."""
    return f_degrees_from_c_degrees(value) if a.unit == "dh" and unit == "f" else value


def progress_said(answer: StageAnswer, a: Assessment, unit: Unit) -> str:
    """`174 (98 to 206) of 240`, in the shop's unit; `at least 98 of 240` where no more is known."""
    low, *rest = (
        None if value is None else f"{counted(value, a, unit):.0f}"
        for value in (a.count.low, a.count.middle, a.count.high)
    )
    needs = " to ".join(f"{counted(need, a, unit):.0f}" for need in answer.needs or ())
    if None in rest:
        return f"at least {low} of {needs}"
    return f"{rest[0]} ({low} to {rest[1]}) of {needs}"


def reason_said(answer: StageAnswer, a: Assessment, unit: Unit) -> str:
    """Why, with the count behind it where the count decides."""
    if not answer.by_count:
        return answer.reason
    progress = progress_said(answer, a, unit)
    return f"{progress[0].upper()}{progress[1:]}. {answer.reason}"


def stage_time(answer: StageAnswer) -> datetime | None:
    """The measured moment that a verdict rests on: the late edge open, the early edge shut."""
    if answer.verdict in (Verdict.READY, Verdict.DUE):
        return answer.opens.late
    if answer.verdict is Verdict.SHUT and answer.shuts is not None:
        return answer.shuts.early
    if answer.verdict is Verdict.TEST_IT:
        return answer.opens.late or answer.opens.early
    return None


def bond_said(bond: BondLine, zone: tzinfo, now: datetime) -> str:
    """`Bond line: CHEMICAL until 10:20 Mon at the latest. Chemical while it stays clean …`"""
    words = BOND_WORDS[bond.state]
    if bond.state == "chemical" and bond.until is not None:
        words += f" until {said(bond.until, zone, now)} at the latest"
    told = f"Bond line: {words}. {bond.reason}"
    if bond.sanded_at is not None:
        since = f", since then {', '.join(bond.since_sanded)}" if bond.since_sanded else ""
        told += f" Sanded {length_said((now - bond.sanded_at).total_seconds())} ago{since}."
    return told


def vouched_said(gap: Gap, zone: tzinfo, now: datetime) -> str:
    """`; warm until 04:00 today: said, not measured`, where somebody vouches for a gap."""
    if gap.said_until is None:
        return ""
    return f"; warm until {said(gap.said_until, zone, now)}: said, not measured"


MINUTE_S, GUESS_STEP_S = 60.0, 300.0


def careful(moment: datetime, step_s: float, *, later: bool) -> datetime:
    """A moment in whole steps, to the careful side: `later` for what opens."""
    steps = moment.timestamp() / step_s
    # A hair over a whole step is the sum's rounding, not a time of its own.
    whole = math.ceil(steps - 1e-3) if later else math.floor(steps + 1e-3)
    return from_unix(whole * step_s)


def guess_said(moment: datetime, zone: tzinfo, now: datetime, *, later: bool) -> str:
    """A guessed moment to five minutes, to the careful side: `later` for what opens."""
    return f"about {said(careful(moment, GUESS_STEP_S, later=later), zone, now)}"


def expected_said(told: StageForecast, zone: tzinfo, now: datetime) -> str | None:
    """`sand: after about 04:50 Sun (about 01:50 Sun at the earliest); shuts about 11:00 Sun`."""
    words = []
    if told.opens.late is not None:
        early = told.opens.early
        span = ""
        if early is not None:
            span = f" ({guess_said(early, zone, now, later=False)} at the earliest)"
        words.append(f"after {guess_said(told.opens.late, zone, now, later=True)}{span}")
    if told.shuts is not None and told.shuts.early is not None:
        words.append(f"shuts {guess_said(told.shuts.early, zone, now, later=False)}")
    return f"{STAGE_WORDS[told.stage]}: {'; '.join(words)}" if words else None
