"""Ready by the count: said once for each stage that somebody waits for, at a civil hour."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, marked
from monitor.cure.verdict import CLOCK_IN_DOUBT
from monitor.overview import BatchView, LayupView
from monitor.records import Alert, Aloud, MarkKind, Role, Stage, Verdict
from monitor.times import said_lasting

NAME = "ready"
NEWS_FOR = timedelta(hours=24)
"""Older than this it is no news: whoever comes back after a week looks at the page."""

_TOLD = {
    Stage.FLIP: ("to flip", "First press a thumbnail into the edge: no dent. Then flip it."),
    Stage.SAND: (
        "to sand",
        "First the touch test: thumbnail on the witness tab, then 10 cm of 80 grit: dust, not gum.",
    ),
    Stage.PROPS_OFF: (
        "for props and clamps to come off",
        "First press a thumbnail into the bead: no dent. Then take them off one by one.",
    ),
}
_DONE = {
    Stage.FLIP: (MarkKind.FLIPPED, MarkKind.SANDED_DUST),
    Stage.SAND: (MarkKind.SANDED_DUST,),
    Stage.PROPS_OFF: (),
}


def _find(look: Look) -> Iterator[Due]:
    """The furthest stage that all of a part's batches have reached, unless it is done already."""
    for view in look.seen.layups:
        stage, since = _furthest(view)
        if stage is None or since is None or look.now - since > NEWS_FOR:
            continue
        if _done(view, stage):
            continue
        words, action = _TOLD[stage]
        yield Due(
            NAME,
            f"layup:{view.layup.id}:{stage}",
            since,
            (view.layup.number,),
            f"Ready {words} by the count since {said_lasting(since, look.telling.zone)}.",
            action,
            _shuts_next(view, look),
            Aloud.BY_DAY,
        )


def _furthest(view: LayupView) -> tuple[Stage | None, datetime | None]:
    found: tuple[Stage | None, datetime | None] = (None, None)
    for stage in _TOLD:
        if not _waited_for(view, stage):
            continue
        joined = [s for s in view.joint.stages if s.stage is stage] if view.joint else []
        if joined and joined[0].verdict is Verdict.READY and joined[0].opens.late is not None:
            found = stage, joined[0].opens.late
    return found


def _waited_for(view: LayupView, stage: Stage) -> bool:
    """Skins are flipped where they are no part of a hull; props hold what was glued."""
    roles = {batch.batch.role for batch in view.batches}
    if stage is Stage.FLIP:
        return view.layup.on is None and bool(roles & {Role.SKIN_A, Role.SKIN_B})
    if stage is Stage.PROPS_OFF:
        return Role.FILLET in roles or any(b.sheet.role == "thickened" for b in view.batches)
    return True


def _done(view: LayupView, stage: Stage) -> bool:
    return bool(_DONE[stage]) and all(marked(b, *_DONE[stage]) for b in view.batches)


def _shuts_next(view: LayupView, look: Look) -> str:
    until = [
        b.worked.assessment.bond_line.until
        for b in view.batches
        if b.worked.assessment.bond_line.state == "chemical" and not _covered(view, b)
    ]
    ahead = [moment for moment in until if moment is not None and moment > look.now]
    if not ahead:
        return "It can wait."
    return f"It can wait; a next layer without sanding can't after {_at(min(ahead), look)}."


def _covered(view: LayupView, batch: BatchView) -> bool:
    return any(b.batch.mixed_at > batch.batch.mixed_at for b in view.batches)


def _at(moment: datetime, look: Look) -> str:
    return said_lasting(moment, look.telling.zone)


def _takes_back(look: Look, alert: Alert) -> str | None:
    """Why it is not ready after all, once the record or the book has been put right."""
    for view in look.seen.layups:
        for stage, (words, _) in _TOLD.items():
            if alert.key != f"layup:{view.layup.id}:{stage}" or view.joint is None:
                continue
            joined = next((s for s in view.joint.stages if s.stage is stage), None)
            if joined is None or joined.reason == CLOCK_IN_DOUBT:
                # What was said is no less true for that.
                return None
            if joined.verdict is not Verdict.READY:
                return f"It is not ready {words} by the count. {joined.reason}"
    return None


RULE = Rule(_find, NAME, _takes_back, passes=True)
