"""Backups, and whether a database or a backup is whole."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from monitor.cli.session import Session, json_option, now_utc, print_json, say, store_of
from monitor.errors import BadInput, MonitorError, StoreError

if TYPE_CHECKING:
    from monitor.store.proof import Proof

FILE = click.Path(path_type=Path, dir_okay=False)


@click.command("backup")
@click.argument("file", type=FILE)
@click.pass_obj
def backup_command(session: Session, file: Path) -> None:
    """Copy everything that is stored into FILE while the watch goes on, and prove the copy.

    backup stick.db
    """
    from monitor.store.proof import prove
    from monitor.upkeep.backups import make_backup

    if file.exists():
        raise BadInput(f"{file} is there already.", "Give the backup a new name.")
    with session.open() as at:
        make_backup(at.store, file)
    found = prove(file)
    say(f"{file} is whole: {found.readings} readings, {found.layups} layups.")


@click.command("restore")
@click.argument("file", type=FILE)
@click.pass_obj
def restore_command(session: Session, file: Path) -> None:
    """Fill the shop's empty database, a file or a server's, with everything in a backup FILE.

    restore stick.db
    """
    from monitor.upkeep.backups import restore
    from monitor.upkeep.holder import held

    shop = session.shop(create=True)
    with held(shop.folder, now_utc()), store_of(shop) as store:
        count = restore(store, file)
        say(f"{count} readings and everything in the book of {file} are in the shop again.")
        unread = [sensor.name for sensor in store.book.sensors() if sensor.owner is None]
        if unread and store.database.owner is not None:
            say(
                f"No machine reads {', '.join(unread)} yet. Where one is plugged in: "
                "layupwatch sensor add NAME PORT."
            )


@click.command("check")
@click.argument("file", type=FILE, required=False)
@click.option("--mend", is_flag=True, help="Set a damaged database aside and rescue what can be.")
@json_option
@click.pass_obj
def check_command(session: Session, file: Path | None, mend: bool, as_json: bool) -> None:
    """Read all of the shop's database, or of a backup FILE, and say whether it is whole.

    check stick.db
    """
    if mend:
        if file is not None:
            raise BadInput("Only the shop's own database is mended.", "Leave FILE out with --mend.")
        _mend(session)
    name, found = _proved(session, file)
    if as_json:
        print_json({"database": name, **_as_json(found)})
    if found.problems:
        shown = "; ".join(found.problems[:3])
        raise StoreError(f"{name} is damaged: {shown}.", _WHAT_NOW if file is None else _ANOTHER)
    if not as_json:
        _say(name, found)


_WHAT_NOW = "Stop the watch, then: layupwatch check --mend. It sets the file aside first."
_ANOTHER = "Take another backup; keep this one until you have."


def _proved(session: Session, file: Path | None) -> "tuple[str, Proof]":
    from monitor.store.proof import prove
    from monitor.store.upkeep import prove_store

    if file is not None:
        return str(file), prove(file)
    shop = session.shop()
    if isinstance(shop.database, Path):
        return str(shop.database), prove(shop.database)
    with store_of(shop) as store:
        return store.database.name, prove_store(store.database)


def _as_json(found: "Proof") -> dict[str, object]:
    from monitor.times import iso_utc

    return {
        "whole": not found.problems,
        "problems": found.problems,
        "readings": found.readings,
        "first": None if found.first_at is None else iso_utc(found.first_at),
        "last": None if found.last_at is None else iso_utc(found.last_at),
        "layups": found.layups,
        "newer": found.newer,
    }


def _say(name: str, found: "Proof") -> None:
    from monitor.times import iso_utc

    say(f"{name} is whole: all of it was read.")
    span = ""
    if found.first_at is not None and found.last_at is not None:
        span = f", {iso_utc(found.first_at)} to {iso_utc(found.last_at)}"
    say(f"{found.readings} readings{span}. {found.layups} layups.")
    if found.newer:
        say("A newer version of this program wrote it; this one can't open it.")
    if found.warning is not None:
        say(found.warning)


def _mend(session: Session) -> None:
    from monitor.cli.watching import mend
    from monitor.upkeep.holder import held

    try:
        if not _proved(session, None)[1].problems:
            return
    except MonitorError as fault:
        say(fault.what, err=True)
    shop = session.shop()
    with held(shop.folder, now_utc()):
        mend(shop)
