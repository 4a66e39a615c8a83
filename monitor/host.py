"""What the machine itself does to a watch: it sleeps, or it doesn't know the time."""

from datetime import UTC, datetime
from pathlib import Path

BUILT = datetime(2026, 11, 1, tzinfo=UTC)
"""No clock of a machine that runs this can be right and before it."""

_SLEEP = "etc/systemd/system/sleep.target"
_SYNCED = ("run/systemd/timesync/synchronized", "run/chrony/chronyd.pid", "run/ntpd.pid")


def sleeps(root: Path = Path("/")) -> tuple[str, str] | None:
    """What is wrong and what to do where the machine may fall asleep and stop listening.

    One with a battery or a lid does by itself, unless its sleep is turned off.
    """
    portable = any((root / "sys/class/power_supply").glob("BAT*")) or any(
        (root / "proc/acpi/button/lid").glob("*")
    )
    if not portable or _turned_off(root / _SLEEP):
        return None
    return (
        "This machine may fall asleep when its lid shuts or nobody types, and hear nothing then.",
        "Turn its sleep off: sudo systemctl mask sleep.target suspend.target.",
    )


def clock_doubt(
    now: datetime, newest: datetime | None, root: Path = Path("/")
) -> tuple[str, str] | None:
    """What is wrong and what to do where the machine's clock can't be believed.

    `newest`: the newest reading that was stored before. Times of day are not to be acted on then.
    """
    remedy = "Set it: sudo timedatectl set-time 'YYYY-MM-DD HH:MM', or let it find its network."
    if now < BUILT:
        return f"This machine's clock says {now:%Y-%m-%d}: it has lost the time.", remedy
    if newest is not None and now < newest:
        return (
            f"This machine's clock is behind the newest reading, of {newest:%Y-%m-%d %H:%M} UTC.",
            remedy,
        )
    keeps_time = any((root / "dev").glob("rtc*"))
    # Without a service manager this is no machine of its own, and its host keeps the time.
    booted = (root / "run/systemd/system").exists()
    if booted and not keeps_time and not any((root / mark).exists() for mark in _SYNCED):
        return (
            "This machine keeps no time while it is off, and nothing has set its clock since.",
            remedy,
        )
    return None


def _turned_off(target: Path) -> bool:
    """Masked: a link to nothing in its place."""
    try:
        return str(target.readlink()) == "/dev/null"
    except OSError:
        return False
