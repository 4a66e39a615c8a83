"""Short forms of the long runs; each module here has the long one as its command."""

import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from tests.soak.cuts import cut_often
from tests.soak.disk import Disk, built_shim, shimmed
from tests.soak.fulldisk import through_the_shim
from tests.soak.kills import ROOT, kill_often
from tests.soak.week import gone_through

FINE: tuple[tuple[str, ...], ...] = ((), (), ())


def test_a_kill_loses_nothing(tmp_path: Path) -> None:
    """kill -9 in the middle of steady writing, five times over in one file."""
    outcome = kill_often(str(tmp_path / "shop.db"), 5, seed=3)
    assert (outcome.lost, outcome.doubled, outcome.problems) == FINE
    assert outcome.committed > 50


def test_a_kill_loses_nothing_on_a_server(emptied: str) -> None:
    """The same with the database on a server."""
    outcome = kill_often(emptied, 5, seed=4)
    assert (outcome.lost, outcome.doubled, outcome.problems) == FINE
    assert outcome.committed > 50


def test_a_power_cut_loses_nothing(tmp_path: Path) -> None:
    """What was not synced is gone, or there in parts: what was said to be stored is whole."""
    outcome = cut_often(tmp_path, 6, seed=3)
    assert (outcome.lost, outcome.doubled, outcome.problems) == FINE
    assert outcome.committed > 50


@pytest.mark.parametrize(("letter", "word"), [("f", "full"), ("r", "failed|not written|can't")])
def test_a_disk_that_takes_nothing(tmp_path: Path, letter: str, word: str) -> None:
    """Full, or read-only: told, collected on, and stored to the last reading afterwards.

    Meanwhile what is stored can be read.
    """
    outcome = through_the_shim(tmp_path, letter)
    assert "can be read)" in outcome.told
    assert any(part in outcome.told for part in word.split("|"))
    assert outcome.fine, outcome


def test_the_disk_loses_what_was_not_synced(tmp_path: Path) -> None:
    """The model is strict: without a sync of file and folder a program's bytes are gone."""
    shop, log = tmp_path / "shop", tmp_path / "log"
    shop.mkdir()
    code = """
import os, sys
from pathlib import Path
folder = Path(sys.argv[1])
for name, file_too, folder_too in (("a", 1, 1), ("b", 0, 1), ("c", 1, 0)):
    handle = os.open(folder / name, os.O_WRONLY | os.O_CREAT)
    os.write(handle, b"safe")
    if file_too: os.fsync(handle)
    os.write(handle, b" and not")
    if folder_too:
        inside = os.open(folder, os.O_RDONLY); os.fsync(inside); os.close(inside)
"""
    env = {**os.environ, **shimmed(built_shim(tmp_path), shop, log)}
    subprocess.run([sys.executable, "-c", code, str(shop)], check=True, cwd=ROOT, env=env)
    disk = Disk(shop)
    disk.read(log)
    disk.cut(None)
    assert {path.name: path.read_bytes() for path in shop.iterdir()} == {"a": b"safe", "b": b""}
    disk = Disk(shop)
    disk.read(log)
    disk.cut(random.Random(1))
    assert (shop / "a").read_bytes().startswith(b"safe")


def test_some_hours_of_a_week(tmp_path: Path) -> None:
    """All that befalls a watch in a week, in its first seven hours."""
    outcome = gone_through(tmp_path, 0.3)
    assert outcome.fine, outcome
    assert outcome.said > 9_000
    assert outcome.rang > 0
    assert outcome.backups == 2
