"""What the command line said, and how it is called in tests."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import orjson

NOW = "2026-05-03T08:00:00Z"


@dataclass(frozen=True)
class Said:
    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return orjson.loads(self.out)

    @property
    def two_lines(self) -> tuple[str, str]:
        """What is wrong and what to do: exactly two lines, and nothing on standard output."""
        assert self.out == ""
        what, remedy = self.err.splitlines()
        return what, remedy


Layupwatch = Callable[..., Said]
