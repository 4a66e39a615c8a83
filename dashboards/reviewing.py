"""Still sticky: the terminal's questions to press, what they come to, and earlier reviews."""

from collections.abc import Mapping
from dataclasses import dataclass

from starlette.responses import Response
from starlette.routing import Route

from dashboards import entering
from dashboards.office import Asked, Office, back_to
from dashboards.phrases import on_page
from monitor.answers.review import Block, Reviewed, keep, kept_blocks, review_of
from monitor.answers.review_asked import QUESTIONS, Question, offered_answers, parse_answers
from monitor.errors import BadInput
from monitor.overview import view
from monitor.records import KeptReview, Layup
from monitor.times import said

OPEN = "-"
"""What is sent for a question that is left open."""


@dataclass(frozen=True, slots=True)
class QuestionRow:
    """A question, the answer that stands, and whether that is only offered from before."""

    question: Question
    chosen: str
    offered: bool


@dataclass(frozen=True, slots=True)
class Earlier:
    """A review that was kept: its address, when it was given, and what it found."""

    id: int
    when: str
    found: tuple[str, ...]


def routes(office: Office) -> list[Route]:
    pages = _ReviewPages(office)
    return [
        office.route("/layups/{number:int}/review", pages.shown),
        office.route("/layups/{number:int}/review", pages.answered, "POST"),
        office.route("/layups/{number:int}/review/{id:int}", pages.kept),
    ]


def review_made(office: Office, asked: Asked) -> tuple[Reviewed, KeptReview]:
    """A review of what was pressed, and how it was kept. Raises BadInput where nothing was."""
    layup = entering.layup_of(office, asked)
    given = {q.name: asked.typed.text(q.name) for q in QUESTIONS}
    if all(word in (None, OPEN) for word in given.values()):
        raise BadInput(
            "Nothing about the tack is answered, so there is nothing to go by.",
            "Answer the first three, and what else you know.",
        )
    seen = view(office.store, layup, asked.now)
    answers, of = parse_answers(given), asked.typed.text("of")
    told = review_of(office.store, seen, answers, of, asked.now, office.unit)
    return told, keep(office.store, told, office.zone)


def earlier_reviews(office: Office, layup: Layup, asked: Asked) -> tuple[Earlier, ...]:
    """Every review of a part, newest first."""
    return tuple(
        Earlier(
            kept.id,
            said(kept.reviewed_at, office.zone, asked.now),
            tuple(b.heading for b in kept_blocks(kept) if b.heading[:1].isdecimal()),
        )
        for kept in reversed(office.store.book.reviews(layup.id))
    )


class _ReviewPages:
    def __init__(self, office: Office) -> None:
        self._office = office

    def shown(self, asked: Asked) -> Response:
        return self._page(asked, {})

    def answered(self, asked: Asked) -> Response:
        try:
            _, kept = review_made(self._office, asked)
        except BadInput as refusal:
            return self._page(asked, asked.form, refusal)
        return back_to(f"/layups/{asked.path['number']}/review/{kept.id}")

    def kept(self, asked: Asked) -> Response:
        office = self._office
        layup = entering.layup_of(office, asked)
        found = next(
            (r for r in office.store.book.reviews(layup.id) if r.id == asked.path["id"]), None
        )
        if found is None:
            raise BadInput(
                f"Part {layup.number} has no such review.", "Look at those it has: Still sticky."
            )
        blocks = tuple(_on_page(block) for block in kept_blocks(found))
        return office.page(
            "review_kept.html",
            asked.now,
            layup=layup,
            blocks=blocks,
            when=said(found.reviewed_at, office.zone, asked.now),
        )

    def _page(
        self, asked: Asked, given: Mapping[str, str], refusal: BadInput | None = None
    ) -> Response:
        office = self._office
        layup = entering.layup_of(office, asked)
        batches = office.store.book.batches(layup.id)
        return office.page(
            "review.html",
            asked.now,
            status=200 if refusal is None else 400,
            layup=layup,
            rows=self._rows(layup, given, asked),
            open=OPEN,
            batches=batches if len(batches) > 1 else (),
            of=given.get("of", ""),
            nothing_mixed=not batches,
            marked=self._marked(layup, asked),
            trouble=refusal and BadInput(on_page(refusal.what), on_page(refusal.remedy)),
            earlier=earlier_reviews(office, layup, asked),
        )

    def _marked(self, layup: Layup, asked: Asked) -> int | None:
        """The mark that led here, if one did."""
        just = asked.query.get("just", "")
        marks = self._office.store.book.marks(layup.id)
        return next((mark.id for mark in marks if str(mark.id) == just), None)

    def _rows(
        self, layup: Layup, given: Mapping[str, str], asked: Asked
    ) -> tuple[QuestionRow, ...]:
        office = self._office
        if given:
            return tuple(QuestionRow(q, given.get(q.name, OPEN), False) for q in QUESTIONS)
        seen = view(office.store, layup, asked.now)
        offered = offered_answers(office.store, seen, asked.now)
        return tuple(
            QuestionRow(q, offered.get(q.name, OPEN), q.name in offered) for q in QUESTIONS
        )


def _on_page(block: Block) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Its heading, and each line with the word before its colon apart."""
    return block.heading, tuple(_apart(line) for line in block.lines)


def _apart(line: str) -> tuple[str, str]:
    word, colon, rest = line.partition(": ")
    return (f"{word}:", rest) if colon and word in _BEFORE else ("", line)


_BEFORE = ("For", "Against", "Do", "Don't", "To tell it apart")
