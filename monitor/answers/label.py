"""The strip of tape for a part: when each cup was mixed, not before, not after."""

from collections.abc import Iterator
from datetime import datetime, timedelta, tzinfo

from monitor.answers.dated import Dated
from monitor.answers.ready import headline
from monitor.answers.record_batch import name_said
from monitor.answers.record_views import Bound, Label, LabelBatch
from monitor.answers.wording import (
    GUESS_STEP_S,
    MINUTE_S,
    STAGE_WORDS,
    VERDICT_WORDS,
    careful,
)
from monitor.overview import BatchView, LayupView
from monitor.records import Assessment, Stage, StageAnswer, Verdict
from monitor.times import iso_utc

SURE = {"measured": "", "guess": " (a guess)", "latest": " (at the very latest)"}

WAITED_FOR = (Verdict.NOT_YET, Verdict.TEST_IT, Verdict.READY)


def label_of(seen: LayupView, at: datetime, *, zone: tzinfo, demo: bool) -> Label:
    """The label of a part as it stood at `at`."""
    begun = min([batch.batch.mixed_at for batch in seen.batches] or [at])
    dated = Dated.between(zone, begun, at)
    return Label(
        seen.layup.number,
        seen.layup.what,
        tuple(_batch(seen, batch, dated) for batch in seen.batches),
        dated.at(at),
        demo,
        seen.layup.safety,
    )


def _batch(seen: LayupView, batch: BatchView, dated: Dated) -> LabelBatch:
    a, logged = batch.worked.assessment, batch.batch
    # What was sanded before this cup was mixed was another one.
    marks = tuple(
        mark
        for mark in seen.marks
        if mark.batch_id in (None, logged.id) and mark.at >= logged.mixed_at
    )
    waited = headline(a, marks, safety=seen.layup.safety)
    about = "about " if logged.give_or_take > timedelta(0) else ""
    return LabelBatch(
        f"{seen.layup.number}/{logged.name}",
        name_said(logged),
        logged.mixed_at,
        about + dated.at(logged.mixed_at),
        tuple(_bounds(batch, waited, dated)),
        tuple(_notes(a, waited)),
    )


def _bounds(batch: BatchView, waited: StageAnswer | None, dated: Dated) -> Iterator[Bound]:
    """The next opening at its late edge, and each window still open at its early one."""
    a = batch.worked.assessment
    if waited is not None and waited.verdict in WAITED_FOR:
        yield _not_before(a, waited, dated)
    for stage in (Stage.KNIFE_TRIM, Stage.RECOAT):
        answer = a.stage(stage)
        if answer.needs is not None and answer.verdict in WAITED_FOR:
            yield _not_after(batch, answer, dated)


def _not_before(a: Assessment, answer: StageAnswer, dated: Dated) -> Bound:
    words = STAGE_WORDS[answer.stage]
    if answer.opens.late is not None:
        at = careful(answer.opens.late, MINUTE_S, later=True)
        return Bound("not before", answer.stage, words, at, dated.at(at), "measured")
    told = a.forecast.stage(answer.stage)
    if told is None or told.opens.late is None:
        return Bound("not before", answer.stage, words, None, None, "measured")
    at = careful(told.opens.late, GUESS_STEP_S, later=True)
    return Bound("not before", answer.stage, words, at, dated.at(at), "guess")


def _not_after(batch: BatchView, answer: StageAnswer, dated: Dated) -> Bound:
    """When a window shuts: measured, or guessed, and never later than the sheet's plain hours."""
    a, words = batch.worked.assessment, STAGE_WORDS[answer.stage]
    if answer.shuts is not None and answer.shuts.early is not None:
        at = careful(answer.shuts.early, MINUTE_S, later=False)
        return Bound("not after", answer.stage, words, at, dated.at(at), "measured")
    limit = None
    if answer.stage is Stage.RECOAT and batch.sheet.recoat_max_hours is not None:
        earliest = a.mixed_at - batch.batch.give_or_take
        limit = earliest + timedelta(hours=batch.sheet.recoat_max_hours)
    told = a.forecast.stage(answer.stage)
    shuts = None if told is None or told.shuts is None else told.shuts.early
    if shuts is None or (limit is not None and limit < shuts):
        when = None if limit is None else dated.at(limit)
        return Bound(
            "not after", answer.stage, words, limit, when, "measured" if limit is None else "latest"
        )
    at = careful(shuts, GUESS_STEP_S, later=False)
    return Bound("not after", answer.stage, words, at, dated.at(at), "guess")


def _notes(a: Assessment, waited: StageAnswer | None) -> Iterator[str]:
    """What no time says: a mix that won't cure, a stage nobody can tell of, a shut surface."""
    if waited is not None and waited.verdict not in WAITED_FOR:
        yield f"{VERDICT_WORDS[waited.verdict]}. {waited.reason}"
    wont_cure = waited is not None and waited.verdict is Verdict.WONT_CURE
    if a.bond_line.state == "mechanical" and not wont_cure:
        yield "Next layer: sand first."


def label_lines(label: Label) -> Iterator[str]:
    """The label as plain lines, to copy onto tape by hand."""
    yield f"{label.number}  {label.what}"
    for batch in label.batches:
        yield f"{batch.what}, mixed {batch.mixed}"
        for bound in batch.bounds:
            yield f"  {bound.words}, {bound.bound} {bound.when or '________'}{SURE[bound.sure]}"
        for note in batch.notes:
            yield f"  {note}"
    if not label.batches:
        yield "Nothing mixed yet."


def label_json(label: Label, address: str) -> dict[str, object]:
    """The label for scripts; a time is null where nobody can say."""
    return {
        "layup": label.number,
        "what": label.what,
        "address": address,
        "batches": [
            {
                "batch": batch.address,
                "mixed_at": iso_utc(batch.mixed_at),
                "times": [
                    {
                        "bound": bound.bound.replace(" ", "-"),
                        "stage": bound.stage,
                        "at": bound.at and iso_utc(bound.at),
                        "sure": bound.sure,
                    }
                    for bound in batch.bounds
                ],
                "notes": list(batch.notes),
            }
            for batch in label.batches
        ],
    }
