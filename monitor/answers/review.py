"""Why it stayed tacky: a review made from the record, put in words, and kept."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

from monitor.answers.review_asked import QUESTIONS, answer_words
from monitor.answers.review_facts import facts_of
from monitor.answers.wording import BOND_WORDS, guess_said
from monitor.cautions import MASK
from monitor.overview import LayupView
from monitor.records import KeptReview, Stage
from monitor.review import review
from monitor.review.parts.facts import Facts
from monitor.review.parts.finding import Cleared, Evidence, Finding, Review
from monitor.review.parts.symptoms import Answers, Thumbnail
from monitor.store import Store
from monitor.times import iso_utc, said, said_lasting
from monitor.units import Unit


@dataclass(frozen=True, slots=True)
class Reviewed:
    """A review with the record it was read from."""

    seen: LayupView
    facts: Facts
    review: Review


@dataclass(frozen=True, slots=True)
class Block:
    """A few lines under a heading; an empty heading stands alone."""

    heading: str
    lines: tuple[str, ...]


def review_of(
    store: Store, seen: LayupView, answers: Answers, batch: str | None, now: datetime, unit: Unit
) -> Reviewed:
    """The review of a layup as it stands. Raises BadInput where it has no such batch."""
    facts = facts_of(store, seen, answers, batch, now, unit)
    return Reviewed(seen, facts, review(facts))


def keep(store: Store, reviewed: Reviewed, zone: tzinfo) -> KeptReview:
    """Keep a review as it was given, its times with their own day."""
    facts, found = reviewed.facts, reviewed.review
    layup = reviewed.seen.layup
    own = {f"{layup.number}/{b.batch.name}": b.batch.id for b in reviewed.seen.batches}
    return store.book.keep_review(
        layup.id,
        own[facts.last.address],
        facts.now,
        answers=answer_words(facts.answers),
        findings=(f"{f.id}={f.strength or 'no-cause'}" for f in found.findings),
        lines=review_lines(reviewed, zone, lasting=True),
        give_up_by=found.give_up_by,
    )


def review_blocks(reviewed: Reviewed, zone: tzinfo, *, lasting: bool = False) -> tuple[Block, ...]:
    """The review in words, ready to be laid out; `lasting` times carry their own day."""
    words = _Words(reviewed, zone, lasting)
    return tuple(words.blocks())


def review_lines(reviewed: Reviewed, zone: tzinfo, *, lasting: bool = False) -> Iterator[str]:
    """The same as lines of plain text."""
    for number, block in enumerate(review_blocks(reviewed, zone, lasting=lasting)):
        if number:
            yield ""
        if block.heading:
            yield block.heading
        yield from (f"  {line}" if block.heading else line for line in block.lines)


def kept_blocks(kept: KeptReview) -> tuple[Block, ...]:
    """A kept review laid out again, as it was given."""
    groups: list[list[str]] = [[]]
    for line in kept.lines:
        if line:
            groups[-1].append(line)
        else:
            groups.append([])
    return tuple(_block(group) for group in groups if group)


def _block(group: list[str]) -> Block:
    """The lines under a heading are set in by two."""
    if len(group) == 1:
        return Block("", tuple(group))
    return Block(group[0], tuple(line.removeprefix("  ") for line in group[1:]))


class _Words:
    def __init__(self, reviewed: Reviewed, zone: tzinfo, lasting: bool) -> None:
        self._facts, self._review = reviewed.facts, reviewed.review
        self._layup, self._zone, self._lasting = reviewed.seen.layup, zone, lasting

    def blocks(self) -> Iterator[Block]:
        facts, found = self._facts, self._review
        yield Block(
            "",
            (f"Part {self._layup.number}, {self._layup.what}: why is {facts.last.address} tacky?",),
        )
        for number, finding in enumerate(found.findings, start=1):
            yield self._finding(number, finding)
        if not found.findings:
            yield Block(
                "Nothing in the record explains it",
                ("Decide by the witness tab: thumbnail, then 10 cm of 80 grit.",),
            )
        if found.cleared:
            yield Block("Not the cause", tuple(self._cleared(c) for c in found.cleared))
        if held := (*found.held, *self._would_decide()):
            yield Block("How sure this is", held)
        yield Block("Before you go on", tuple(self._closing()))

    def _finding(self, number: int, finding: Finding) -> Block:
        sure = "" if finding.strength is None else f": {finding.strength}"
        against = tuple(f"Against: {self._told(e)}." for e in finding.speaks_against)
        return Block(
            f"{number}. {finding.name}{sure}",
            (
                *(f"For: {self._told(e)}." for e in finding.speaks_for),
                *(against or ("Against: nothing recorded.",)),
                f"Do: {finding.do}{self._beside(finding)}",
                f"Don't: {finding.do_not}",
                f"To tell it apart: {finding.split_by}",
            ),
        )

    def _beside(self, finding: Finding) -> str:
        """What the count adds: the bond line for air tack, the time ahead for a green part."""
        a = self._facts.last.assessment
        if finding.id == "normal-air-tack":
            bond = a.bond_line
            return f" Bond line: {BOND_WORDS[bond.state]}. {bond.reason}"
        stage = Stage.SEALED if self._facts.waxed else Stage.SAND
        told = a.forecast.stage(stage) or a.forecast.stage(Stage.SAND)
        if finding.id != "still-green" or told is None or told.opens.late is None:
            return ""
        when = guess_said(told.opens.late, self._zone, a.now, later=True)
        return f" Expected after {when}, a guess ({a.forecast.basis})."

    def _told(self, evidence: Evidence) -> str:
        if evidence.source == "answer" or evidence.since is None:
            return evidence.said
        when = self._when(evidence.since)
        if evidence.until is not None and evidence.until != evidence.since:
            when += f" to {self._when(evidence.until)}"
        return f"{evidence.said} ({when})"

    def _cleared(self, cleared: Cleared) -> str:
        return f"{cleared.what.capitalize()}: {self._told(cleared.evidence)}."

    def _would_decide(self) -> Iterator[str]:
        """The unanswered questions that would tell more, where nothing is sure."""
        if any(finding.strength == "strong" for finding in self._review.findings):
            return
        open_ = [q for q in QUESTIONS[:5] if getattr(self._facts.answers, q.name) is None]
        if open_:
            yield "What would decide it: " + " ".join(question.words for question in open_)

    def _closing(self) -> Iterator[str]:
        deadline = self._when(self._review.give_up_by)
        if self._facts.answers.thumbnail is Thumbnail.NONE:
            yield (
                "No mark, so nothing to rescue. Should it dent after all: rescue no later than "
                f"{deadline}. If the thumbnail still dents then, take it off."
            )
        elif self._review.given_up:
            yield (
                f"The time to give up was {deadline}. If the thumbnail still dents, take it off."
            )
        else:
            yield (
                f"Rescue no later than {deadline}. If the thumbnail still dents then, take it off."
            )
        which = "This is a safety part" if self._layup.safety else "Structural or safety part"
        yield f"{which}: do not rely on rescue; ask the maker."
        free = "amine" if self._facts.last.epoxy else "styrene"
        yield f"Wear gloves; soft resin is still free {free}. {MASK}"
        yield from dict.fromkeys(c for f in self._review.findings for c in f.cautions)
        yield "The count is time and warmth, not hardness, and the maker's sheet stands above it."

    def _when(self, moment: datetime) -> str:
        if self._lasting:
            return said_lasting(moment, self._zone)
        return said(moment, self._zone, self._facts.now)


def review_json(reviewed: Reviewed) -> dict[str, Any]:
    """The object of `review --json`."""
    facts, found = reviewed.facts, reviewed.review
    return {
        "layup": reviewed.seen.layup.number,
        "batch": facts.last.address,
        "reviewed_at": iso_utc(facts.now),
        "answers": dict(text.split("=") for text in answer_words(facts.answers)),
        "findings": [
            {
                "id": finding.id,
                "name": finding.name,
                "strength": finding.strength,
                "for": [_evidence_json(e) for e in finding.speaks_for],
                "against": [_evidence_json(e) for e in finding.speaks_against],
                "do": finding.do,
                "do_not": finding.do_not,
                "split_by": finding.split_by,
            }
            for finding in found.findings
        ],
        "cleared": [
            {"what": cleared.what, **_evidence_json(cleared.evidence)} for cleared in found.cleared
        ],
        "held": list(found.held),
        "give_up_by": iso_utc(found.give_up_by),
        "given_up": found.given_up,
    }


def _evidence_json(evidence: Evidence) -> dict[str, Any]:
    return {
        "fact": evidence.said,
        "source": evidence.source,
        "from": evidence.since and iso_utc(evidence.since),
        "to": evidence.until and iso_utc(evidence.until),
    }
