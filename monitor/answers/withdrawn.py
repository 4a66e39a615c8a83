"""What was said and no longer holds, once an entry is put right: withdrawn in words."""

from collections.abc import Iterator

from monitor.answers.wording import STAGE_WORDS, VERDICT_WORDS
from monitor.overview import LayupView, Overview
from monitor.records import Stage, Verdict


def withdrawn(before: Overview, after: Overview) -> Iterator[str]:
    """Each "ready" of before that is none any more, a sentence each."""
    now = {view.layup.id: view for view in after.layups}
    for view in before.layups:
        if view.layup.id in now:
            yield from _of_part(view, now[view.layup.id])


def _of_part(before: LayupView, after: LayupView) -> Iterator[str]:
    verdicts = _verdicts(after)
    for (batch, stage), verdict in _verdicts(before).items():
        new = verdicts.get((batch, stage))
        if verdict is Verdict.READY and new is not None and new is not Verdict.READY:
            name = next(b.batch.name for b in before.batches if b.batch.id == batch)
            yield (
                f"Withdrawn: {before.layup.number}/{name}, {STAGE_WORDS[stage]} was "
                f"{VERDICT_WORDS[verdict]}; it is {VERDICT_WORDS[new]}."
            )


def _verdicts(view: LayupView) -> dict[tuple[int, Stage], Verdict]:
    return {
        (batch.batch.id, answer.stage): answer.verdict
        for batch in view.batches
        for answer in batch.worked.assessment.stages
    }
