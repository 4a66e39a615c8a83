"""A joint of batches: each stage by its slowest, and the worst flag."""

from dataclasses import dataclass
from datetime import datetime

from monitor.cure.verdict import UNWAXED
from monitor.records import Assessment, Edges, Stage, StageAnswer, Verdict


@dataclass(frozen=True)
class JointStage:
    """One stage of a joint: its worst verdict, and the slowest batch that gives it."""

    stage: Stage
    verdict: Verdict
    slowest: str
    opens: Edges
    shuts: Edges | None
    reason: str


@dataclass(frozen=True)
class Joint:
    stages: tuple[JointStage, ...]
    overruled_by: tuple[str, ...]


def join(batches: tuple[tuple[str, Assessment], ...]) -> Joint | None:
    """A joint of named batches: at each stage the slowest of them and the worst flag.

    None for no batch. A stage counts for the batches whose sheet gives it; one that no sheet gives
    is left out.
    """
    if not batches:
        return None
    stages = []
    for stage in Stage:
        answers = [(name, a.stage(stage)) for name, a in batches]
        given = [(name, answer) for name, answer in answers if answer.needs is not None]
        # A plain coat never seals by itself; the waxed one over it speaks for both.
        sealing = [(name, answer) for name, answer in given if answer.reason != UNWAXED]
        if given:
            stages.append(_joined(stage, sealing or given))
    flags = {flag: None for _, assessment in batches for flag in assessment.overruled_by}
    return Joint(tuple(stages), tuple(flags))


_WORST_LAST = tuple(Verdict)


def _joined(stage: Stage, answers: list[tuple[str, StageAnswer]]) -> JointStage:
    worst = max(answers, key=lambda item: _slowness(item[1]))
    shuts = [answer.shuts for _, answer in answers if answer.shuts is not None]
    return JointStage(
        stage,
        worst[1].verdict,
        worst[0],
        Edges(
            _last([a.opens.early for _, a in answers]),
            _last([a.opens.middle for _, a in answers]),
            _last([a.opens.late for _, a in answers]),
        ),
        Edges(_first([s.early for s in shuts]), _first([s.middle for s in shuts]))
        if shuts
        else None,
        worst[1].reason,
    )


def _slowness(answer: StageAnswer) -> tuple[int, bool, float]:
    late = answer.opens.late
    return (
        _WORST_LAST.index(answer.verdict),
        late is None,
        late.timestamp() if late is not None else 0.0,
    )


def _last(times: list[datetime | None]) -> datetime | None:
    """The last of the times; None while one is still to come."""
    known = [time for time in times if time is not None]
    return max(known) if len(known) == len(times) else None


def _first(times: list[datetime | None]) -> datetime | None:
    known = [time for time in times if time is not None]
    return min(known) if known else None
