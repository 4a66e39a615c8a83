"""What the machine itself does to a watch, each in a made-up root."""

import os
import shutil
import subprocess
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from monitor.errors import BadInput
from monitor.host import BUILT, Timekeeper, give_back_memory, set_by_network, sleeps
from tests.soak.weighing import held_mib

NOW = BUILT + timedelta(days=30)


def made(root: Path, *files: str) -> Path:
    for name in files:
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch()
    return root


@pytest.mark.parametrize("sign", ["sys/class/power_supply/BAT0", "proc/acpi/button/lid/LID0"])
def test_a_laptop_may_fall_asleep(tmp_path: Path, sign: str) -> None:
    """One with a battery or a lid, until its sleep is turned off."""
    root = made(tmp_path, sign)
    warned = sleeps(root)
    assert warned is not None
    assert "systemctl mask sleep.target" in warned[1]
    mask = root / "etc/systemd/system/sleep.target"
    mask.parent.mkdir(parents=True)
    mask.symlink_to("/dev/null")
    assert sleeps(root) is None


def test_a_small_board_stays_awake(tmp_path: Path) -> None:
    """No battery, no lid: nothing to warn of. A link to something is no mask."""
    assert sleeps(tmp_path) is None
    root = made(tmp_path, "sys/class/power_supply/BAT0", "elsewhere")
    target = root / "etc/systemd/system/sleep.target"
    target.parent.mkdir(parents=True)
    target.symlink_to(root / "elsewhere")
    assert sleeps(root) is not None


def timekeeper(tmp_path: Path, *files: str, boot: str = "first") -> Timekeeper:
    """Of a shop folder, on a machine that was started the boot-th time."""
    root = made(tmp_path / "root", *files)
    told = root / "proc/sys/kernel/random/boot_id"
    told.parent.mkdir(parents=True, exist_ok=True)
    told.write_text(f"{boot}\n")
    (tmp_path / "shop").mkdir(exist_ok=True)
    return Timekeeper(tmp_path / "shop", root)


BOARD = "run/systemd/system/x"
"""A machine of its own, without a clock that a battery keeps."""


def test_a_clock_that_keeps_time(tmp_path: Path) -> None:
    """With its own battery, or a guest of another machine, or set since by the network."""
    with_battery = timekeeper(tmp_path / "a", BOARD, "dev/rtc0")
    assert with_battery.doubt(NOW, None, synced=False) is None
    assert with_battery.doubt(NOW, NOW + timedelta(minutes=1), synced=False) is None
    assert timekeeper(tmp_path / "b").doubt(NOW, None, synced=False) is None
    assert timekeeper(tmp_path / "c", BOARD).doubt(NOW, None, synced=True) is None


@pytest.mark.parametrize(
    ("now", "newest", "files", "words"),
    [
        (NOW, NOW + timedelta(minutes=3), (BOARD, "dev/rtc0"), "behind the newest reading"),
        (NOW, None, (BOARD,), "keeps no time while it is off"),
    ],
)
def test_a_clock_that_cannot_be_believed(
    tmp_path: Path, now: datetime, newest: datetime | None, files: tuple[str, ...], words: str
) -> None:
    """What is wrong, how to set it; a person's word puts it at rest until the next start."""
    watch = timekeeper(tmp_path, *files)
    doubt = watch.doubt(now, newest, synced=False)
    assert doubt is not None
    assert words in doubt.what
    assert "timedatectl set-time" in doubt.remedy
    assert "clock right" in doubt.remedy
    beside = timekeeper(tmp_path, *files)
    assert beside.written_down() == doubt
    beside.confirm()
    assert watch.doubt(now, newest, synced=False) is None
    assert watch.written_down() is None
    started_again = timekeeper(tmp_path, *files, boot="second")
    assert started_again.doubt(now, newest, synced=False) == doubt


def test_a_time_before_this_was_written_can_t_be_confirmed(tmp_path: Path) -> None:
    """Neither by a person nor by a network."""
    watch = timekeeper(tmp_path, BOARD)
    for synced in (False, True):
        doubt = watch.doubt(BUILT - timedelta(days=1), None, synced=synced)
        assert doubt is not None
        assert "it has lost the time" in doubt.what
        assert not doubt.can_be_right
    with pytest.raises(BadInput, match="it has lost the time"):
        watch.confirm()
    assert watch.doubt(BUILT - timedelta(days=1), None, synced=False) is not None


@pytest.mark.parametrize(("by", "said"), [(200, "on by 3 h 20 min"), (-7, "back by 0 h 7 min")])
def test_a_clock_that_was_set_waits_for_somebody_s_word(tmp_path: Path, by: int, said: str) -> None:
    """What was confirmed before is asked again; a network's word is as good, and lasts."""
    watch = timekeeper(tmp_path, BOARD, "dev/rtc0")
    watch.confirm()
    assert watch.doubt(NOW, None, synced=False) is None
    watch.was_set(timedelta(minutes=by), 500.0)
    doubt = watch.doubt(NOW, None, synced=False)
    assert doubt is not None
    assert said in doubt.what
    timekeeper(tmp_path, BOARD, "dev/rtc0").confirm()
    assert watch.doubt(NOW, None, synced=False) is None
    watch.was_set(timedelta(minutes=by), 900.0)
    assert watch.doubt(NOW, None, synced=False) is not None
    assert watch.doubt(NOW, None, synced=True) is None
    # The network has gone again; what it set still runs.
    assert watch.doubt(NOW, None, synced=False) is None


def test_a_disk_that_refuses_hides_no_doubt(tmp_path: Path) -> None:
    """The watch knows; the commands beside it can't."""
    watch = timekeeper(tmp_path, BOARD)
    (tmp_path / "shop").rmdir()
    assert watch.doubt(NOW, None, synced=False) is not None
    assert watch.doubt(NOW, None, synced=True) is None
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop/clock-in-doubt").write_bytes(b"\xff\n\n")
    (tmp_path / "shop/clock-confirmed").write_text("first\nnever\n")
    assert watch.written_down() is None
    assert watch.doubt(NOW, None, synced=False) is not None


def test_a_clock_that_the_service_manager_set(tmp_path: Path) -> None:
    """Its mark is as good as the kernel's word, and stays until the machine is started again."""
    assert set_by_network(made(tmp_path, "run/systemd/timesync/synchronized"))


def test_the_kernel_says_whether_its_clock_is_kept() -> None:
    """As `timedatectl` of the service manager has it, where there is one."""
    if shutil.which("timedatectl") is None or not Path("/run/systemd/system").exists():
        assert isinstance(set_by_network(), bool)
        return
    told = subprocess.run(
        ["timedatectl", "show", "-p", "NTPSynchronized", "--value"],
        capture_output=True,
        text=True,
        check=True,
    )
    mark = Path("/run/systemd/timesync/synchronized")
    assert set_by_network() == (told.stdout.strip() == "yes" or mark.exists())


def test_memory_between_what_is_in_use_goes_back() -> None:
    """Of 100 MB in small pieces one in a thousand is kept, so that no heap can shrink by itself."""
    pieces = [bytes(1_000) for _ in range(100_000)]
    kept = pieces[::1_000]
    full_mib = held_mib(os.getpid())
    pieces.clear()
    give_back_memory()
    assert held_mib(os.getpid()) < full_mib - 50.0
    assert len(kept) == 100
