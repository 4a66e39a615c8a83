"""How sure: the symptom, how many recorded facts agree, and what speaks against."""

from collections.abc import Iterable, Sequence
from enum import StrEnum

from monitor.review.parts.facts import Facts
from monitor.review.parts.finding import STRENGTHS, Cause, Evidence, Finding, Strength
from monitor.review.parts.symptoms import answer_said


def weaker(one: Strength, other: Strength) -> Strength:
    """The weaker of two. Valid for any. Source: their order."""
    return STRENGTHS[min(STRENGTHS.index(one), STRENGTHS.index(other))]


def strength_of(facts: int, against: int) -> Strength | None:
    """How sure a symptom with so many recorded facts for it and so many against it is.

    Strong: two facts agree and nothing speaks against. Fair: one fact more for than against.
    Weak: the symptom only, or as much against. None: more against than for. Valid for counts
    from 0. Source: this project's rule.
    """
    if against > facts:
        return None
    if facts >= 2 and against == 0:
        return "strong"
    return "fair" if facts > against else "weak"


def symptoms(facts: Facts, *names: str) -> tuple[Evidence, ...]:
    """The answers to those questions as evidence. Valid for any names of `Answers`.

    Source: the person.
    """
    given: list[StrEnum | None] = [getattr(facts.answers, name) for name in names]
    return tuple(Evidence(answer_said(g), "answer", facts.now) for g in given if g is not None)


def weigh(
    cause: Cause,
    shown: Sequence[Evidence],
    speaks_for: Iterable[Evidence | None],
    speaks_against: Iterable[Evidence | None] = (),
    at_most: Strength = "strong",
) -> Finding | None:
    """A cause with its evidence, as sure as the rule allows. None: more speaks against it.

    `shown` is the symptom; None among the rest is passed over. Valid for any evidence. Source:
    `strength_of`.
    """
    known = tuple(e for e in speaks_for if e is not None)
    against = tuple(e for e in speaks_against if e is not None)
    strength = strength_of(len(known), len(against))
    if strength is None:
        return None
    return Finding(
        cause.id,
        cause.name,
        weaker(weaker(strength, cause.at_most), at_most),
        (*shown, *known),
        against,
        cause.do,
        cause.do_not,
        cause.split_by,
        cause.cautions,
    )
