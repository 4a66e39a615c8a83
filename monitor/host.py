"""What the machine itself does to a watch: it sleeps, or it doesn't know the time."""

import ctypes
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from monitor.errors import BadInput, HostError

BUILT = datetime(2026, 1, 1, tzinfo=UTC)
"""No clock of a machine that runs this can be right and before it."""

BEHIND = timedelta(minutes=2)
"""A clock this little behind the newest reading has only been put right."""

_SLEEP = "etc/systemd/system/sleep.target"
_SYNCED = "run/systemd/timesync/synchronized"
_BOOT = "proc/sys/kernel/random/boot_id"
_CONFIRMED, _IN_DOUBT = "clock-confirmed", "clock-in-doubt"
_CAN_BE = "can be right"

_ARENAS = -8
"""M_ARENA_MAX of glibc's malloc.h."""
_MAX_ERROR_AT = 24
_UNSYNCED_US = 16_000_000
"""Where struct timex of 64-bit Linux has `maxerror`, and from what on the kernel's clock was set by
nothing: adjtimex(2), from memory; the same bound as the service manager's own."""


@dataclass(frozen=True, slots=True)
class ClockDoubt:
    """Why a clock can't be believed, and what to do. `can_be_right`: a person may confirm it."""

    what: str
    remedy: str
    can_be_right: bool

    def lines(self) -> tuple[str, str]:
        return self.what, self.remedy


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


def share_heaps() -> None:
    """Let all threads take their memory from two heaps, where the C library keeps one for each.

    What a page once took is then there for the next one, whichever thread makes it.
    """
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).mallopt(_ARENAS, 2)


def give_back_memory() -> None:
    """Whole pages between what is in use, back to the system: they are what grows in a watch."""
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).malloc_trim(0)


def set_by_network(root: Path = Path("/")) -> bool:
    """Whether something that knows the time keeps this machine's clock, or has set it since.

    As its kernel has it, and the service manager's own.
    """
    if (root / _SYNCED).exists():
        return True
    told = ctypes.create_string_buffer(512)
    with suppress(OSError, AttributeError):
        if ctypes.CDLL(None).adjtimex(told) >= 0:
            return int.from_bytes(told.raw[_MAX_ERROR_AT:][:8], "little") < _UNSYNCED_US
    return False


class Timekeeper:
    """Whether this machine's clock is to be believed, and what somebody said of it.

    Both lie in the shop folder, so that the commands beside a watch know too, and are good until
    the machine is started again, or its clock is set.
    """

    def __init__(self, folder: Path, root: Path = Path("/")) -> None:
        self._root = root
        self._confirmed, self._in_doubt = folder / _CONFIRMED, folder / _IN_DOUBT
        self._set: tuple[timedelta, float] | None = None

    def was_set(self, by: timedelta, steady_s: float) -> None:
        """The clock was set while the watch went on, `steady_s` seconds after its machine began."""
        self._set = by, steady_s

    def doubt(self, now: datetime, newest: datetime | None, *, synced: bool) -> ClockDoubt | None:
        """Ask it often. `newest`: the newest reading in store. `synced`: the network set it."""
        found = self._found(now, newest, synced)
        # A disk that refuses is told of by whoever stores; the watch itself knows all the same.
        with suppress(OSError):
            self._write_down(found)
            if synced and now >= BUILT and not self._is_confirmed():
                self._confirm(self._since_s)
        return found

    def written_down(self) -> ClockDoubt | None:
        """What the watch of this shop doubts of this machine's clock."""
        told = _lines(self._in_doubt)
        if len(told) != 5 or told[0] != self._boot():
            return None
        return ClockDoubt(told[2], told[3], told[4] == _CAN_BE)

    def confirm(self) -> None:
        """Somebody looked at it, and it is right.

        Raises BadInput for a time that can't be, HostError where the disk refuses.
        """
        doubt = self.written_down()
        if doubt is not None and not doubt.can_be_right:
            raise BadInput(doubt.what, doubt.remedy)
        doubted = _lines(self._in_doubt)
        try:
            self._confirm(_number(doubted[1]) if len(doubted) > 1 else self._since_s)
            self._in_doubt.unlink(missing_ok=True)
        except OSError as fault:
            raise HostError(
                f"The shop folder can't be written ({fault.strerror}).",
                "Make room, or make it writable; then say it again.",
            ) from None

    @property
    def _since_s(self) -> float:
        return 0.0 if self._set is None else self._set[1]

    def _found(self, now: datetime, newest: datetime | None, synced: bool) -> ClockDoubt | None:
        remedy = "Set it: sudo timedatectl set-time 'YYYY-MM-DD HH:MM', or let it find its network."
        if now < BUILT:
            what = f"This machine's clock says {now:%Y-%m-%d}: it has lost the time."
            return ClockDoubt(what, remedy, can_be_right=False)
        if synced or self._is_confirmed():
            return None
        remedy += " If it is right, say so: layupwatch clock right."
        why = self._why(now, newest)
        return None if why is None else ClockDoubt(why, remedy, can_be_right=True)

    def _why(self, now: datetime, newest: datetime | None) -> str | None:
        if self._set is not None:
            minutes = round(abs(self._set[0]) / timedelta(minutes=1))
            way = "on" if self._set[0] > timedelta(0) else "back"
            return f"This machine's clock was set {way} by {minutes // 60} h {minutes % 60} min."
        if newest is not None and now < newest - BEHIND:
            return (
                f"This machine's clock is behind the newest reading, of {newest:%Y-%m-%d %H:%M} "
                "UTC."
            )
        # Without a service manager this is no machine of its own, and its host keeps the time.
        booted = (self._root / "run/systemd/system").exists()
        if booted and not any((self._root / "dev").glob("rtc*")):
            return "This machine keeps no time while it is off, and nothing has set it since."
        return None

    def _confirm(self, since_s: float) -> None:
        _put(self._confirmed, self._boot(), repr(since_s))

    def _is_confirmed(self) -> bool:
        told = _lines(self._confirmed)
        return len(told) == 2 and told[0] == self._boot() and _number(told[1]) >= self._since_s

    def _write_down(self, doubt: ClockDoubt | None) -> None:
        if doubt is None:
            self._in_doubt.unlink(missing_ok=True)
            return
        word = _CAN_BE if doubt.can_be_right else "lost"
        told = [self._boot(), repr(self._since_s), *doubt.lines(), word]
        if told != _lines(self._in_doubt):
            _put(self._in_doubt, *told)

    def _boot(self) -> str:
        return "".join(_lines(self._root / _BOOT)) or "unknown"


def _put(path: Path, *lines: str) -> None:
    beside = path.with_name(f"{path.name}.new")
    beside.write_text("\n".join(lines) + "\n", encoding="utf-8")
    beside.chmod(0o600)
    beside.replace(path)


def _lines(path: Path) -> list[str]:
    try:
        return path.read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return []


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return -1.0


def _turned_off(target: Path) -> bool:
    """Masked: a link to nothing in its place."""
    try:
        return str(target.readlink()) == "/dev/null"
    except OSError:
        return False
