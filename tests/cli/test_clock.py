"""A clock that the watch doubts: every answer waits, and one word puts it at rest."""

from pathlib import Path

import pytest

from monitor.host import Timekeeper
from tests.cli.conftest import Layupwatch
from tests.scenarios import at

MORNING = "2026-05-04T14:00:00Z"


@pytest.fixture
def doubted(rudder: Layupwatch, tmp_path: Path) -> Layupwatch:
    """A watch on this shop has seen its machine's clock set."""
    watch = Timekeeper(tmp_path / "shop")
    watch.was_set(at("2026-05-04T14:00:00Z") - at("2026-05-04T11:00:00Z"), 100.0)
    assert watch.doubt(at(MORNING), None, synced=False) is not None
    return rudder


def test_nothing_is_ready_while_the_clock_is_in_doubt(doubted: Layupwatch) -> None:
    """What it counted is shown; what has passed can't be told. Then one word, and it is ready."""
    said = doubted("ready", "3", "sand", "--exit-code", now=MORNING)
    assert said.code == 1
    assert "CAN'T TELL" in said.out
    assert "Nobody has confirmed this machine's clock" in said.out
    assert "READY" not in said.out
    assert said.err.splitlines()[0] == "This machine's clock was set on by 3 h 0 min."
    assert len(said.err.splitlines()) == 2
    (batch,) = doubted("ready", "3", "--json", now=MORNING).json["batches"]
    assert batch["overruled_by"] == ["clock-in-doubt"]
    assert {stage["verdict"] for stage in batch["stages"]} == {"cant-tell"}
    assert batch["forecast"]["stages"] == {}
    assert "clock" in batch["forecast"]["basis"]
    assert batch["bond_line"]["state"] == "cant-tell"
    assert batch["count"]["middle"] > 240.0
    assert doubted("clock", "right", now=MORNING).code == 0
    after = doubted("ready", "3", "sand", "--exit-code", now=MORNING)
    assert (after.code, after.err) == (0, "")


def test_what_the_clock_says(doubted: Layupwatch) -> None:
    """Its time in the shop's zone, and what is doubted of it."""
    said = doubted("clock", now=MORNING)
    assert said.out.splitlines() == [
        "It says 14:00 on Monday 4 May 2026, UTC.",
        "This machine's clock was set on by 3 h 0 min.",
        "Set it: sudo timedatectl set-time 'YYYY-MM-DD HH:MM', or let it find its network. "
        "If it is right, say so: layupwatch clock right.",
    ]
    told = doubted("clock", "--json", now=MORNING).json
    assert (told["now"], told["in_doubt"]["what"]) == (
        "2026-05-04T14:00:00Z",
        "This machine's clock was set on by 3 h 0 min.",
    )
    assert "Kept: it is right." in doubted("clock", "right", now=MORNING).out
    assert "Taken to be right." in doubted("clock", now=MORNING).out
    assert doubted("clock", "--json", now=MORNING).json["in_doubt"] is None


def test_a_time_that_can_t_be_right_can_t_be_confirmed(rudder: Layupwatch, tmp_path: Path) -> None:
    """1970 is not now, whoever says so."""
    Timekeeper(tmp_path / "shop").doubt(at("1970-01-02T00:00:00Z"), None, synced=False)
    said = rudder("clock", "right", now=MORNING)
    assert said.code == 2
    assert said.err.splitlines()[0] == "This machine's clock says 1970-01-02: it has lost the time."
    assert rudder("ready", "3", "sand", "--exit-code", now=MORNING).code == 1
