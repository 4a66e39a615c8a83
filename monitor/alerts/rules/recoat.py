"""The last hour in which the next layer joins without sanding."""

from collections.abc import Iterator

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, batch_said, marked
from monitor.alerts.shutting import shuts_at
from monitor.overview import COATS, BatchView, LayupView
from monitor.records import Aloud, MarkKind, Stage, Verdict
from monitor.times import said_lasting

NAME = "recoat-last"
LAST_S = 3600.0


def _find(look: Look) -> Iterator[Due]:
    """While the bond line is chemical, and nothing has gone over it."""
    for view in look.seen.layups:
        for batch in view.batches:
            assessment = batch.worked.assessment
            answer = assessment.stage(Stage.RECOAT)
            opened = answer.opens.late
            if answer.verdict is not Verdict.READY or opened is None or _done_with(view, batch):
                continue
            if assessment.bond_line.state != "chemical":
                continue
            shut = shuts_at(batch, Stage.RECOAT, look)
            if shut is None or not 0.0 < (shut - look.now).total_seconds() <= LAST_S:
                continue
            yield Due(
                NAME,
                f"batch:{batch.batch.id}",
                opened,
                (view.layup.number,),
                f"{batch_said(batch)} takes a next layer without sanding until about "
                f"{said_lasting(shut, look.telling.zone)}.",
                "If one is to go over it, lay it now; after that, sand first.",
                "An hour or less.",
                Aloud.BY_DAY,
            )


def _done_with(view: LayupView, batch: BatchView) -> bool:
    """Whether something lies over it already, or somebody has begun to sand it."""
    own = batch.batch
    if own.waxed or marked(batch, MarkKind.SANDED_DUST, MarkKind.SANDED_GUM):
        return True
    later = [b.batch for b in view.batches if b.batch.mixed_at > own.mixed_at]
    return any(b.role is own.role or b.role in COATS for b in later)


RULE = Rule(_find, NAME, passes=True)
