"""A sensor whose parts have all reached their last stage can go home."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime, timedelta

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look
from monitor.overview import BatchView
from monitor.records import Aloud, Stage, Verdict
from monitor.times import said_lasting

NAME = "sensor-away"
NEWS_FOR = timedelta(days=2)

_LAST = (Stage.FULL, Stage.LOAD, Stage.PROPS_OFF, Stage.SAND)


def _find(look: Look) -> Iterator[Due]:
    beside: dict[str, list[tuple[int, BatchView]]] = defaultdict(list)
    for near in look.watched:
        beside[near.sensor].append((near.part, near.batch))
    for sensor, batches in beside.items():
        reached = [_finished(batch) for _, batch in batches]
        since = [moment for moment in reached if moment is not None]
        if len(since) < len(reached) or look.now - max(since) > NEWS_FOR:
            continue
        parts = tuple(sorted({part for part, _ in batches}))
        number = parts[0]
        yield Due(
            NAME,
            sensor,
            max(since),
            parts,
            f"Past the last stage of the sheet by the count since "
            f"{said_lasting(max(since), look.telling.zone)}.",
            f"You can take {sensor} away: layup end {number}.",
            "There is no hurry.",
            Aloud.BY_DAY,
        )


def _finished(batch: BatchView) -> datetime | None:
    """When the sheet's last stage was reached at its careful edge."""
    for stage in _LAST:
        answer = batch.worked.assessment.stage(stage)
        if answer.needs is not None:
            return answer.opens.late if answer.verdict is Verdict.READY else None
    return None


RULE = Rule(_find, NAME, passes=True)
