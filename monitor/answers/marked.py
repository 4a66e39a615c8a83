"""What a person saw of a stage stands before what the count expects of it."""

from collections.abc import Sequence
from datetime import datetime, tzinfo

from monitor.records import Mark, MarkKind, Stage
from monitor.times import length_said, said

TRIMMED = (MarkKind.TRIMMED_SOFT, MarkKind.TRIMMED_CLEAN, MarkKind.TRIMMED_HARD)

SEEN_OF: dict[Stage, dict[MarkKind, str]] = {
    Stage.GEL: {MarkKind.KICKED: "It kicked", MarkKind.CUP_KICKED: "Its cup kicked"},
    Stage.KNIFE_TRIM: {
        MarkKind.TRIMMED_SOFT: "Trimmed, too soft,",
        MarkKind.TRIMMED_CLEAN: "Trimmed clean",
        MarkKind.TRIMMED_HARD: "Trimmed, too hard,",
    },
    Stage.FLIP: {MarkKind.FLIPPED: "Flipped"},
    Stage.SAND: {
        MarkKind.SANDED_DUST: "Sanded to dust",
        MarkKind.SANDED_GUM: "Sanded, it clogged,",
        MarkKind.TAB_DUST: "Dust on the witness tab",
        MarkKind.TAB_GUM: "Gum on the witness tab",
    },
}
"""The marks that tell of a stage, and how each is said. They move no count and no verdict."""


def newest_of(
    stage: Stage, marks: Sequence[Mark], mixed_at: datetime, now: datetime
) -> Mark | None:
    """The newest mark since mixing that tells of a stage; the part's own before its cup's."""
    kinds = SEEN_OF.get(stage, {})
    told = [m for m in marks if m.kind in kinds and mixed_at <= m.at <= now]
    own = [m for m in told if m.kind is not MarkKind.CUP_KICKED]
    return max(own or told, key=lambda mark: mark.at, default=None)


def marked_said(
    stage: Stage, marks: Sequence[Mark], mixed_at: datetime, zone: tzinfo, now: datetime
) -> str | None:
    """`It kicked at 11:04 today, 44 min after mixing, by your mark.` None: nobody marked it."""
    mark = newest_of(stage, marks, mixed_at, now)
    if mark is None:
        return None
    after = length_said((mark.at - mixed_at).total_seconds())
    words = SEEN_OF[stage][mark.kind]
    return f"{words} at {said(mark.at, zone, now)}, {after} after mixing, by your mark."
