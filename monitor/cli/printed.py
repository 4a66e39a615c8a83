"""What goes on paper: a part's record, and the label for its tape."""

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from monitor.cli.session import Open, Session, json_option, print_json, say
from monitor.errors import HostError

if TYPE_CHECKING:
    from datetime import datetime

    from monitor.overview import LayupView

FILE = click.Path(path_type=Path, dir_okay=False)


@click.command("record")
@click.argument("number", type=int)
@click.option("-o", "--output", required=True, type=FILE, metavar="FILE.html", help="Where to.")
@json_option
@click.pass_obj
def record_command(session: Session, number: int, output: Path, as_json: bool) -> None:
    """Write a part's whole record as one page to print: record 3 -o hatch-lid.html."""
    from dashboards.printed.press import record_html
    from monitor.answers.record import record_of

    with session.open() as at:
        seen, moment = _as_it_stood(at, number)
        shop = at.shop
        record = record_of(
            at.store,
            seen,
            moment,
            zone=shop.zone,
            unit=shop.unit,
            demo=shop.demo,
            particulars=shop.particulars,
        )
        _write_whole(output, record_html(record))
    if as_json:
        print_json(
            {
                "layup": number,
                "what": record.what,
                "file": str(output),
                "batches": [batch.address for batch in record.batches],
                "marks": len(record.marks) + len(record.tests),
                "alerts": len(record.alerts),
            }
        )
        return
    say(f"Part {number}: {record.what}, as it stood at {record.stood_at}.")
    say(f"Written to {output}. Open it in a browser and print it on A4 or Letter.")


@click.command("label")
@click.argument("number", type=int)
@click.option("-o", "--output", type=FILE, metavar="FILE.html", help="A page to print.")
@click.option("--plain", is_flag=True, help="For plain paper, with a line to cut along.")
@click.option("--address", metavar="URL", help="Where a phone finds the pages; else shop.toml's.")
@json_option
@click.pass_obj
def label_command(
    session: Session,
    number: int,
    output: Path | None,
    plain: bool,
    address: str | None,
    as_json: bool,
) -> None:
    """The label for a part's tape: its lines, or with -o a page for 62 mm tape."""
    from dashboards.printed.press import label_html, only_here, part_address
    from monitor.answers.label import label_json, label_lines, label_of

    with session.open() as at:
        seen, moment = _as_it_stood(at, number)
        label = label_of(seen, moment, zone=at.shop.zone, demo=at.shop.demo)
        base = address or at.shop.web_address or f"http://127.0.0.1:{at.shop.web_port}"
    page = part_address(base, number)
    if output is not None:
        _write_whole(output, label_html(label, base, "plain" if plain else "tape"))
    if as_json:
        print_json(label_json(label, page) | {"file": None if output is None else str(output)})
        return
    if output is None:
        for line in label_lines(label):
            say(line)
        return
    say(f"Part {number}'s label is written to {output}: open it in a browser and print it.")
    if only_here(base):
        say(
            "Its square opens the pages on this machine only. For a phone, put their address "
            'under [web] in shop.toml: address = "http://shed.local:8417"'
        )


def _as_it_stood(at: Open, number: int) -> "tuple[LayupView, datetime]":
    from monitor.overview import as_it_stood, view

    layup, moment = as_it_stood(at.store, number, at.now)
    return view(at.store, layup, moment), moment


def _write_whole(path: Path, text: str) -> None:
    """All of it or nothing: a file that is there stays whole until the new one is."""
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_text(text, encoding="utf-8")
        part.replace(path)
    except OSError as error:
        with suppress(OSError):
            part.unlink()
        raise HostError(
            f"{path} can't be written ({error.strerror}).",
            "Give -o a file in a folder that is there.",
        ) from None
