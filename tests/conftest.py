"""What tests of every group may ask for."""

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
import time_machine

from monitor.cli import main
from monitor.config import make_shop
from tests.scenarios import at
from tests.scenarios.shop import ShopAtHand, open_demo_shop
from tests.scenarios.terminal import NOW, Layupwatch, Said


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[ShopAtHand]:
    """An empty demo shop with a real database, closed afterwards."""
    at_hand = open_demo_shop(tmp_path / "shop")
    yield at_hand
    at_hand.store.close()


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
