"""The knife window: that it opens, and its last ten minutes."""

from collections.abc import Iterator
from datetime import datetime

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, batch_said, marked
from monitor.alerts.shutting import shuts_at
from monitor.overview import BatchView
from monitor.records import Alert, Aloud, MarkKind, Stage, Verdict
from monitor.times import said_lasting

OPENS_NAME, LAST_NAME = "knife-opens", "knife-last"
LAST_S = 600.0

_TRIMMED = (MarkKind.TRIMMED_SOFT, MarkKind.TRIMMED_CLEAN, MarkKind.TRIMMED_HARD)


def _opens(look: Look) -> Iterator[Due]:
    """From the late edge of its opening until ten minutes before it shuts."""
    for part, batch, opened, shut in _open_ones(look):
        if shut is not None and (shut - look.now).total_seconds() <= LAST_S:
            continue
        until = "" if shut is None else f"By the count it shuts about {_at(shut, look)}."
        yield Due(
            OPENS_NAME,
            f"batch:{batch.batch.id}",
            opened,
            (part,),
            f"{batch_said(batch)} takes the knife since {_at(opened, look)}.",
            "Trim it green.",
            until or "Nobody can say when that shuts.",
            Aloud.BY_DAY,
        )


def _last(look: Look) -> Iterator[Due]:
    for part, batch, opened, shut in _open_ones(look):
        if shut is None or not 0.0 < (shut - look.now).total_seconds() <= LAST_S:
            continue
        yield Due(
            LAST_NAME,
            f"batch:{batch.batch.id}",
            opened,
            (part,),
            f"{batch_said(batch)}'s knife window shuts about {_at(shut, look)}.",
            "Trim it now; after that it is for the saw or the sander.",
            "Ten minutes or less.",
            Aloud.BY_DAY,
        )


def _open_ones(look: Look) -> Iterator[tuple[int, BatchView, datetime, datetime | None]]:
    for view in look.seen.layups:
        for batch in view.batches:
            answer = batch.worked.assessment.stage(Stage.KNIFE_TRIM)
            opened = answer.opens.late
            if answer.verdict is not Verdict.READY or opened is None or marked(batch, *_TRIMMED):
                continue
            yield view.layup.number, batch, opened, shuts_at(batch, Stage.KNIFE_TRIM, look)


def _takes_back(look: Look, alert: Alert) -> str | None:
    """A window that had not opened after all, once something in the book was put right."""
    for view in look.seen.layups:
        for batch in view.batches:
            answer = batch.worked.assessment.stage(Stage.KNIFE_TRIM)
            if alert.key == f"batch:{batch.batch.id}" and answer.verdict is Verdict.NOT_YET:
                return f"{batch_said(batch)}'s knife window has not opened yet."
    return None


def _at(moment: datetime, look: Look) -> str:
    return said_lasting(moment, look.telling.zone)


OPENS = Rule(_opens, OPENS_NAME, _takes_back, passes=True)
LAST = Rule(_last, LAST_NAME, _takes_back, passes=True)
