"""A backup a night, proved by opening it; the newest few stay."""

import shutil
import tempfile
from datetime import datetime, time, timedelta, tzinfo
from pathlib import Path

from monitor.errors import BadInput, HostError, StoreError
from monitor.store import Store
from monitor.store.proof import prove

NIGHT = time(3)
"""When a backup falls due, in the shop's own time; the first look after it makes one."""
_NAME = "layupwatch-{:%Y-%m-%d}.db"
_PATTERN = "layupwatch-????-??-??.db"


def nightly(folder: Path) -> tuple[Path, ...]:
    """Those there are, newest first."""
    return tuple(sorted(folder.glob(_PATTERN), reverse=True))


def due(folder: Path, now: datetime, zone: tzinfo) -> Path | None:
    """What the backup to be made now is called; None: there is one for this night."""
    local = now.astimezone(zone)
    night = local.date() if local.time() >= NIGHT else local.date() - timedelta(days=1)
    wanted = folder / _NAME.format(night)
    # One of a later date is there where the clock was set back: it serves.
    return None if any(path.name >= wanted.name for path in nightly(folder)) else wanted


def make_backup(store: Store, target: Path) -> None:
    """A whole copy, written beside its name first and proved. Raises StoreError, HostError."""
    partial = target.with_name(f".{target.name}-partial")
    try:
        target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        partial.unlink(missing_ok=True)
        store.copy_to(partial)
        try:
            found = prove(partial)
            if found.problems:
                raise StoreError(
                    f"The backup {target} came out damaged: {found.problems[0]}.",
                    "Check the database: layupwatch check. The earlier backups are kept.",
                )
            partial.replace(target)
        finally:
            partial.unlink(missing_ok=True)
    except OSError as fault:
        raise HostError(
            f"The backup {target} can't be made: {fault.strerror}.",
            "Check that its folder can be written and its disk has room; [backup] in shop.toml.",
        ) from fault


def thin_out(folder: Path, keep: int) -> None:
    """Only the newest `keep` of the nightly ones stay; others' files are left alone."""
    for path in nightly(folder)[keep:]:
        path.unlink(missing_ok=True)


def restore(store: Store, file: Path) -> int:
    """Everything in a backup into a store that holds nothing yet; how many readings.

    Raises BadInput for a store that holds something and a file that isn't a backup of ours,
    StoreError for a damaged or a newer one.
    """
    found = prove(file)
    if found.problems:
        raise StoreError(f"{file} is damaged: {found.problems[0]}.", "Take an earlier backup.")
    if not store.is_empty():
        raise BadInput(
            f"The database {store.database.name} is in use already.",
            "Move it away, or name another one as `database` in shop.toml; then restore again.",
        )
    with tempfile.TemporaryDirectory(prefix="layupwatch-") as folder:
        # A copy, for an older one is brought up to date first.
        copy = Path(folder) / "backup.db"
        shutil.copyfile(file, copy)
        with Store.open(copy) as backup:
            return store.take_all_from(backup)
