"""What a rule says, what it is asked with, and how its end is told."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

from monitor.records import Alert, Aloud
from monitor.times import NIGHT, NightHours
from monitor.units import Unit

if TYPE_CHECKING:
    from monitor.alerts.look import Look


@dataclass(frozen=True, slots=True)
class Due:
    """An alert that holds now. One of a rule and key is open at a time.

    `left` is how much time there is, as a sentence; `action` the one thing to do.
    """

    rule: str
    key: str
    began_at: datetime
    parts: tuple[int, ...]
    fact: str
    action: str
    left: str = ""
    aloud: Aloud = Aloud.PAGE

    @property
    def said(self) -> str:
        """The fact with the time left, as it is kept."""
        return f"{self.fact} {self.left}".rstrip()


@dataclass(frozen=True, slots=True)
class Telling:
    """How the shop wants to read it, and when it sleeps."""

    zone: tzinfo
    unit: Unit
    night: NightHours = NIGHT


@dataclass(frozen=True, slots=True)
class Rule:
    """`find` yields what holds now.

    `takes_back`: why an alert that no longer holds was never so, in words; None: it is simply over.
    `passes`: its end is no news, such as that of a window somebody was told about.
    """

    find: Callable[["Look"], Iterator[Due]]
    name: str
    takes_back: Callable[["Look", Alert], str | None] | None = None
    passes: bool = False
