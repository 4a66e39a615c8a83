"""One possible cause: what speaks for it, what against, how strongly, and what to do."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

Strength = Literal["weak", "fair", "strong"]
STRENGTHS: tuple[Strength, ...] = ("weak", "fair", "strong")
"""Weakest first."""

Source = Literal["answer", "book", "sensor"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """One fact with its figure, where it comes from, and when: at `since`, or until `until`.

    `rules_out`: it only says what was in order, and names no cause by itself.
    """

    said: str
    source: Source
    since: datetime | None = None
    until: datetime | None = None
    rules_out: bool = False


@dataclass(frozen=True, slots=True)
class Cause:
    """What is always said of a cause. `at_most`: how sure a record can make it."""

    id: str
    name: str
    do: str
    do_not: str
    split_by: str
    at_most: Strength = "strong"
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """A cause weighed on one record. `strength` None: it names no cause.

    `rescue_h`: hours that are fair to give a rescue before the part is given up.
    """

    id: str
    name: str
    strength: Strength | None
    speaks_for: tuple[Evidence, ...]
    speaks_against: tuple[Evidence, ...]
    do: str
    do_not: str
    split_by: str
    cautions: tuple[str, ...] = ()
    rescue_h: float = 24.0


@dataclass(frozen=True, slots=True)
class Cleared:
    """Something that is not the cause, in words, with the figure that clears it."""

    what: Literal["temperature", "dew", "mix"]
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Review:
    """The whole answer. `held`: why nothing is said stronger than fair."""

    findings: tuple[Finding, ...]
    cleared: tuple[Cleared, ...]
    held: tuple[str, ...]
    give_up_by: datetime
    given_up: bool
    """The time to give up is past."""
