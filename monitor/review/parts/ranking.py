"""Which findings are told, in which order, and how sure they may be."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from monitor.review.parts.cleared import cleared
from monitor.review.parts.closing import give_up_by
from monitor.review.parts.facts import Facts
from monitor.review.parts.finding import STRENGTHS, Finding, Review
from monitor.review.parts.weigh import weaker
from monitor.times import length_said

MOST = 3
FIRST = "normal-air-tack"


def reviewed(facts: Facts, found: Sequence[Finding]) -> Review:
    """At most three findings, ranked, held to what the record can carry.

    Valid for findings of the same facts, in the registry's order. Source: this project's rules.
    """
    held = tuple(_held(facts))
    silent = [finding for finding in found if finding.strength is None]
    causes = [finding for finding in found if finding.strength is not None]
    if silent:
        causes = [by_book for c in causes if (by_book := _by_the_book(c)) is not None]
    if held:
        causes = [_at_most_fair(cause) for cause in causes]
    told = tuple([*silent, *sorted(causes, key=_weight)][:MOST])
    deadline = give_up_by(facts, told)
    return Review(told, tuple(cleared(facts)), held, deadline, deadline < facts.now)


def _held(facts: Facts) -> Iterator[str]:
    missing_h = facts.unmeasured_early_h()
    if missing_h > 0.0:
        yield (
            f"{length_said(missing_h * 3600)} of the first 6 h were not measured, so nothing is "
            "said stronger than fair."
        )
    for part in ("catalyst", "hardener"):
        unlogged = [
            batch.address
            for batch in facts.batches
            if batch.mix.state == "not-logged" and batch.sheet.second_part == part
        ]
        if unlogged:
            yield (
                f"No {part} amount is logged for {', '.join(unlogged)}, so nothing is said "
                "stronger than fair."
            )


def _by_the_book(finding: Finding) -> Finding | None:
    """What is left of a cause without the sensor. None: hours that nobody measured named it."""
    left = tuple(e for e in finding.speaks_for if e.source != "sensor")
    if not any(e.source == "book" and not e.rules_out for e in left):
        return None
    return replace(finding, speaks_for=left)


def _at_most_fair(finding: Finding) -> Finding:
    strength = finding.strength
    return finding if strength is None else replace(finding, strength=weaker(strength, "fair"))


def _weight(finding: Finding) -> tuple[bool, int, int]:
    """Normal first, then the surest, then the most facts."""
    strength = -1 if finding.strength is None else STRENGTHS.index(finding.strength)
    recorded = [e for e in finding.speaks_for if e.source != "answer"]
    net = len(recorded) - len(finding.speaks_against)
    return finding.id != FIRST, -strength, -net
