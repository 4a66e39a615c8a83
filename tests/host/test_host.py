"""What the machine itself does to a watch, each in a made-up root."""

from datetime import timedelta
from pathlib import Path

import pytest

from monitor.host import BUILT, clock_doubt, sleeps

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


def test_a_clock_that_keeps_time(tmp_path: Path) -> None:
    """With its own battery, or set since by the network."""
    assert clock_doubt(NOW, None, made(tmp_path / "a", "dev/rtc0")) is None
    assert clock_doubt(NOW, NOW, made(tmp_path / "a", "dev/rtc0")) is None
    assert clock_doubt(NOW, None, tmp_path / "a guest of another machine") is None
    synced = made(tmp_path / "b", "run/systemd/timesync/synchronized", "run/systemd/system/x")
    assert clock_doubt(NOW, None, synced) is None


@pytest.mark.parametrize(
    ("now", "newest", "files", "words"),
    [
        (BUILT - timedelta(days=1), None, ("dev/rtc0",), "it has lost the time"),
        (NOW, NOW + timedelta(minutes=1), ("dev/rtc0",), "behind the newest reading"),
        (NOW, None, ("run/systemd/system/x",), "keeps no time while it is off"),
    ],
)
def test_a_clock_that_cannot_be_believed(
    tmp_path: Path, now: object, newest: object, files: tuple[str, ...], words: str
) -> None:
    """What is wrong, and how to set it."""
    told = clock_doubt(now, newest, made(tmp_path, *files))  # type: ignore[arg-type] # from a table
    assert told is not None
    assert words in told[0]
    assert "timedatectl set-time" in told[1]
