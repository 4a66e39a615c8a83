"""What is asked about a tacky part, in which order, and the answers as typed or tapped."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime, timedelta
from enum import StrEnum

from monitor.errors import BadInput
from monitor.overview import LayupView
from monitor.records import MarkKind
from monitor.review.parts.symptoms import (
    Answers,
    Cup,
    Grit,
    LastCoat,
    Looks,
    Rag,
    Smell,
    Thumbnail,
    Where,
    answer_said,
)
from monitor.store import Store

SAME_VISIT = timedelta(hours=12)
"""What was answered or marked this long ago is offered again. This project's rule."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer: the word it is typed and kept by, and what it says."""

    word: str
    said: str


@dataclass(frozen=True, slots=True)
class Question:
    """One question. `name` is its field in `Answers`, `flag` its option on the command line."""

    name: str
    flag: str
    words: str
    kinds: type[StrEnum]
    hint: str = ""

    @property
    def choices(self) -> tuple[Choice, ...]:
        return tuple(Choice(answer.value, answer_said(answer)) for answer in self.kinds)


QUESTIONS: tuple[Question, ...] = (
    Question("where", "--where", "Where is it sticky?", Where),
    Question("thumbnail", "--thumbnail", "Press a thumbnail in. What does it do?", Thumbnail),
    Question("grit", "--grit", "Sand 10 cm with 80 grit. What comes off?", Grit),
    Question(
        "rag",
        "--rag",
        "Hold an acetone rag on it for 30 s. What then?",
        Rag,
        "no flame or spark near; sand an unwaxed face first, or everything goes sticky; no use on "
        "epoxy",
    ),
    Question("cup", "--cup", "What became of the leftover cup?", Cup),
    Question("last_coat", "--last-coat", "What was the last coat?", LastCoat),
    Question("smell", "--smell", "What does it smell or feel like?", Smell),
    Question("looks", "--looks", "Anything odd to see?", Looks, "leave it where there is nothing"),
)
"""In the order they are asked; the last is for what only an eye can tell."""

_MARKED: dict[MarkKind, tuple[str, StrEnum]] = {
    MarkKind.THUMBNAIL_NONE: ("thumbnail", Thumbnail.NONE),
    MarkKind.THUMBNAIL_MARK: ("thumbnail", Thumbnail.MARK),
    MarkKind.THUMBNAIL_DENT: ("thumbnail", Thumbnail.DENT),
    MarkKind.THUMBNAIL_WET: ("thumbnail", Thumbnail.WET),
    MarkKind.SANDED_DUST: ("grit", Grit.DUST),
    MarkKind.SANDED_GUM: ("grit", Grit.GUM),
}


def parse_answers(given: Mapping[str, str | None]) -> Answers:
    """The answers by question name; what is missing, empty or `-` is not answered.

    Raises BadInput for a word that is no answer, and where nothing is answered.
    """
    found: dict[str, StrEnum] = {}
    for question in QUESTIONS:
        word = (given.get(question.name) or "-").strip().lower().replace(" ", "-")
        if word == "-":
            continue
        try:
            found[question.name] = question.kinds(word)
        except ValueError:
            words = ", ".join(answer.value for answer in question.kinds)
            raise BadInput(
                f"{word!r} is no answer to {question.flag}.", f"Use one of: {words}."
            ) from None
    if not found:
        flags = ", ".join(question.flag for question in QUESTIONS[:3])
        raise BadInput(
            "Nothing about the tack is answered, so there is nothing to go by.",
            f"Give {flags} and what else you know, or ask in a terminal to be asked.",
        )
    return Answers(**found)  # type: ignore[arg-type]  # each was made by its question's own enum


def answer_words(answers: Answers) -> tuple[str, ...]:
    """`thumbnail=dent` for each that is answered."""
    given = ((field.name, getattr(answers, field.name)) for field in fields(answers))
    return tuple(f"{name}={answer.value}" for name, answer in given if answer is not None)


def offered_answers(store: Store, seen: LayupView, now: datetime) -> dict[str, str]:
    """What was answered or marked in the last hours, by question name, to be confirmed."""
    offered: dict[str, tuple[datetime, str]] = {}
    for kept in store.book.reviews(seen.layup.id):
        for name, _, word in (text.partition("=") for text in kept.answers):
            offered[name] = kept.reviewed_at, word
    for mark in seen.marks:
        if mark.kind in _MARKED:
            name, answer = _MARKED[mark.kind]
            if name not in offered or offered[name][0] < mark.at:
                offered[name] = mark.at, answer.value
    return {name: word for name, (at, word) in offered.items() if now - at <= SAME_VISIT}
