"""The marks as big things to press: their words, and what of a part each one tells of."""

from collections.abc import Sequence
from dataclasses import dataclass

from monitor.records import Mark, MarkKind

MINUTES_AGO = (5, 15, 30, 60)
TAKE_BACK_S = 10
"""How long the mark just made can be taken back with one press; after that it is put right."""


@dataclass(frozen=True, slots=True)
class Press:
    """One mark. `of_cup`: it is seen on a cup or its batch, so the newest one is meant."""

    kind: MarkKind
    words: str
    of_cup: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    heading: str
    presses: tuple[Press, ...]


def _cup(kind: MarkKind, words: str) -> Press:
    return Press(kind, words, of_cup=True)


_CATALYST_IN = _cup(MarkKind.CATALYST_IN, "Catalyst in")
_KICKED = _cup(MarkKind.KICKED, "It kicked")
_TRIMMED = (
    _cup(MarkKind.TRIMMED_SOFT, "Trimmed: soft"),
    _cup(MarkKind.TRIMMED_CLEAN, "Trimmed: clean"),
    _cup(MarkKind.TRIMMED_HARD, "Trimmed: hard"),
)
_FLIPPED = Press(MarkKind.FLIPPED, "Flipped")
_DUST = Press(MarkKind.SANDED_DUST, "Sanded: dust")
_GUM = Press(MarkKind.SANDED_GUM, "Sanded: gum")
_PLAIN = Press(MarkKind.COATED_PLAIN, "Coated: plain")
_WAX = Press(MarkKind.COATED_WAX, "Coated: wax")
_STICKY = Press(MarkKind.STICKY, "Still sticky")

GROUPS = (
    Group(
        "What you did or saw",
        (_CATALYST_IN, _KICKED, *_TRIMMED, _FLIPPED, _DUST, _GUM, _PLAIN, _WAX, _STICKY),
    ),
    Group(
        "Leftover cup and witness tab",
        (
            _cup(MarkKind.CUP_KICKED, "The cup kicked"),
            Press(MarkKind.TAB_DUST, "Tab: dust"),
            Press(MarkKind.TAB_GUM, "Tab: gum"),
        ),
    ),
    Group(
        "Thumbnail",
        (
            Press(MarkKind.THUMBNAIL_NONE, "No mark"),
            Press(MarkKind.THUMBNAIL_MARK, "A mark"),
            Press(MarkKind.THUMBNAIL_DENT, "A dent"),
            Press(MarkKind.THUMBNAIL_WET, "Wet"),
        ),
    ),
    Group(
        "Surface",
        (
            Press(MarkKind.WASHED, "Washed"),
            Press(MarkKind.WIPED, "Wiped with solvent"),
            Press(MarkKind.PEEL_PLY_OFF, "Peel ply off"),
        ),
    ),
    Group(
        "Weather and warmth",
        (
            Press(MarkKind.COVERED, "Covered"),
            Press(MarkKind.UNCOVERED, "Uncovered"),
            Press(MarkKind.HEATER_ON, "Heater on"),
            Press(MarkKind.HEATER_OFF, "Heater off"),
            Press(MarkKind.RAINED, "Rained on"),
            Press(MarkKind.SUN, "Sun on it"),
            Press(MarkKind.SEEN_WARM, "Seen, and warm"),
        ),
    ),
)

PRESSES = {press.kind: press for group in GROUPS for press in group.presses}
"""Every mark but the note, which is written."""


def words_of(kind: MarkKind) -> str:
    """What a mark is called on a page."""
    return PRESSES[kind].words if kind in PRESSES else "Note"


def likely(marks: Sequence[Mark]) -> tuple[Press, ...]:
    """The two marks that most likely come next of a part, by what was marked so far."""
    made = {mark.kind for mark in marks}
    trimmed = made & {press.kind for press in _TRIMMED}
    if MarkKind.SANDED_DUST in made:
        return _PLAIN, _WAX
    if MarkKind.FLIPPED in made or MarkKind.SANDED_GUM in made:
        return _DUST, _GUM
    if trimmed:
        return _FLIPPED, _DUST
    if MarkKind.KICKED in made:
        return _TRIMMED[1], _FLIPPED
    if MarkKind.CATALYST_IN in made:
        return _KICKED, _TRIMMED[1]
    return _CATALYST_IN, _KICKED
