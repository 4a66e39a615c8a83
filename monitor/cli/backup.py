"""Backups, and whether a database or a backup is whole."""

from pathlib import Path

import click

from monitor.cli.session import Session, json_option, now_utc, print_json
from monitor.errors import BadInput, MonitorError, StoreError


@click.command("backup")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
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
    click.echo(f"{file} is whole: {found.readings} readings, {found.layups} layups.")


@click.command("check")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), required=False)
@click.option("--mend", is_flag=True, help="Set a damaged database aside and rescue what can be.")
@json_option
@click.pass_obj
def check_command(session: Session, file: Path | None, mend: bool, as_json: bool) -> None:
    """Read all of the shop's database, or of a backup FILE, and say whether it is whole.

    check stick.db
    """
    from monitor.store.proof import prove
    from monitor.times import iso_utc

    shop = session.shop()
    if file is None and not isinstance(shop.database, Path):
        raise BadInput("not yet", "not yet")
    path = file or shop.database
    assert isinstance(path, Path)
    if mend:
        if file is not None:
            raise BadInput(
                "Only the shop's own database is mended in its place.",
                "Leave FILE out with --mend.",
            )
        _mend(session, path)
    found = prove(path)
    if as_json:
        print_json(
            {
                "file": str(path),
                "whole": not found.problems,
                "problems": found.problems,
                "readings": found.readings,
                "first": None if found.first_at is None else iso_utc(found.first_at),
                "last": None if found.last_at is None else iso_utc(found.last_at),
                "layups": found.layups,
                "newer": found.newer,
            }
        )
    if found.problems:
        shown = "; ".join(found.problems[:3])
        raise StoreError(f"{path} is damaged: {shown}.", _WHAT_NOW if file is None else _ANOTHER)
    if as_json:
        return
    click.echo(f"{path} is whole: every page was read.")
    span = ""
    if found.first_at is not None and found.last_at is not None:
        span = f", {iso_utc(found.first_at)} to {iso_utc(found.last_at)}"
    click.echo(f"{found.readings} readings{span}. {found.layups} layups.")
    if found.newer:
        click.echo("A newer version of this program wrote it; this one can't open it.")


_WHAT_NOW = "Stop the watch, then: layupwatch check --mend. It sets the file aside first."
_ANOTHER = "Take another backup; keep this one until you have."


def _mend(session: Session, path: Path) -> None:
    from monitor.cli.watching import mend
    from monitor.store.proof import prove
    from monitor.upkeep.holder import held

    shop = session.shop()
    try:
        if not prove(path).problems:
            return
    except MonitorError as fault:
        click.echo(fault.what, err=True)
    with held(shop.folder, now_utc()):
        mend(shop)
