"""The command line called in this process, at a moment of our choosing."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import orjson
import pytest
import time_machine

from monitor.cli import main
from monitor.config import make_shop
from tests.scenarios import at

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


@pytest.fixture
def layupwatch(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Layupwatch:
    """`layupwatch("ready", "3", now=…)` in a demo shop whose zone is UTC."""
    folder = tmp_path / "shop"
    make_shop(folder, zone="UTC", demo=True)
    monkeypatch.setenv("LAYUPWATCH_SHOP", str(folder))

    def call(*arguments: object, now: str | datetime = NOW) -> Said:
        capsys.readouterr()
        moment = at(now) if isinstance(now, str) else now
        with time_machine.travel(moment, tick=False), pytest.raises(SystemExit) as ended:
            main([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        code = ended.value.code
        assert isinstance(code, int)
        return Said(code, captured.out, captured.err)

    return call
