"""Backups by night, one watch to a folder, and a damaged database mended while it runs."""

import os
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from monitor.errors import HostError
from monitor.records import Reading
from monitor.store.proof import prove
from monitor.upkeep import Upkeep
from monitor.upkeep.backups import due, nightly
from monitor.upkeep.holder import FILE, held
from monitor.writer import Writer
from tests.scenarios.shop import ShopAtHand

MORNING = datetime(2026, 5, 2, 6, tzinfo=UTC)
ROOT = Path(__file__).parents[2]


def test_a_backup_a_night(shop: ShopAtHand) -> None:
    """One at the first look after 03:00, none before the next; each is whole; seven stay."""
    shop.store.book.add_sensor("shed", "/dev/shed")
    for hours in range(0, 24 * 9, 6):
        now = MORNING + timedelta(hours=hours)
        Upkeep(shop.shop, shop.store, lambda now=now: now).tend()
    names = [path.name for path in nightly(shop.shop.backups)]
    assert names[0] == "layupwatch-2026-05-10.db"
    assert len(names) == 7
    assert sorted(path.name for path in shop.shop.backups.iterdir()) == sorted(names)
    assert prove(nightly(shop.shop.backups)[0]).problems == ()
    assert shop.store.health.troubles() == ()


@pytest.mark.parametrize(
    ("now", "name"),
    [
        ("2026-05-02T02:59Z", "layupwatch-2026-05-01.db"),
        ("2026-05-02T03:00Z", "layupwatch-2026-05-02.db"),
    ],
)
def test_the_night_begins_at_three(tmp_path: Path, now: str, name: str) -> None:
    """In the shop's zone; where the machine was off, the first look makes it."""
    wanted = due(tmp_path, datetime.fromisoformat(now), UTC)
    assert wanted is not None
    assert wanted.name == name
    wanted.touch()
    assert due(tmp_path, datetime.fromisoformat(now), UTC) is None


def test_others_files_stay(shop: ShopAtHand) -> None:
    """What a person put among the backups is never thinned out."""
    shop.shop.backups.mkdir()
    own = shop.shop.backups / "before-the-big-job.db"
    own.write_text("x")
    for day in range(12):
        now = MORNING + timedelta(days=day)
        Upkeep(shop.shop, shop.store, lambda now=now: now).tend()
    assert own.exists()


def test_a_backup_that_can_not_be_made_is_told(shop: ShopAtHand) -> None:
    """On the page; and it goes away when one is made again."""
    shop.shop.backups.write_text("a file in the folder's place")
    upkeep = Upkeep(shop.shop, shop.store, lambda: MORNING)
    upkeep.tend()
    ((what, remedy),) = shop.store.health.troubles()
    assert "can't be made" in what
    assert "[backup]" in remedy
    shop.shop.backups.unlink()
    upkeep.tend()
    assert shop.store.health.troubles() == ()


def test_the_second_is_told_who_holds_it(tmp_path: Path) -> None:
    """Process, host and since when; a hold that was let go is clean, a killed one is seen."""
    with held(tmp_path, MORNING) as first:
        assert not first.cut_off
        with pytest.raises(HostError) as told, held(tmp_path, MORNING):
            pass
        assert f"process {os.getpid()} on " in told.value.what
        assert "since 2026-05-02T06:00:00Z" in told.value.what
    with held(tmp_path, MORNING) as second:
        assert not second.cut_off
    code = (
        "import os, sys; from datetime import *; from pathlib import Path;"
        "from monitor.upkeep.holder import held\n"
        "with held(Path(sys.argv[1]), datetime.now(UTC)): os._exit(9)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=False,
    )
    assert done.returncode == 9
    assert (tmp_path / FILE).read_text().startswith("process ")
    with held(tmp_path, MORNING) as third:
        assert third.cut_off


def test_a_damaged_database_is_mended_while_it_runs(shop: ShopAtHand) -> None:
    """The writer meets the damage, sets the file aside, and goes on; nothing that came is lost."""
    sensor = shop.store.book.add_sensor("shed", "/dev/shed")
    before = [
        Reading(MORNING + timedelta(seconds=n), 20.0, 50.0, raw="x" * 99) for n in range(9000)
    ]
    shop.store.readings.add(sensor.id, before)
    upkeep = Upkeep(shop.shop, shop.store, lambda: MORNING)
    upkeep.tend()
    path = shop.store.database.file
    assert path is not None
    with shop.store.database.reading() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    shop.store.database.drop_connections()
    spoilt = bytearray(path.read_bytes())
    spoilt[len(spoilt) // 3 :] = b"\xa5" * (len(spoilt) - len(spoilt) // 3)
    path.write_bytes(spoilt)
    writer = Writer(shop.store, None, upkeep)
    writer.start()
    for n in range(20):
        writer.put(sensor.id, Reading(MORNING + timedelta(days=1, seconds=n), 21.0, 50.0))
    end = time.monotonic() + 30
    while not any("aside" in what for what, _ in shop.store.health.troubles()):
        assert time.monotonic() < end, "it was not mended"
        time.sleep(0.02)
    writer.stop()
    assert shop.store.readings.count(sensor.id) == 9020
    assert shop.store.problems() == ()
    (aside,) = path.parent.glob("*damaged*.db")
    assert aside.read_bytes() == bytes(spoilt)
    ((what, _),) = shop.store.health.troubles()
    assert "9000 readings" in what
