"""Sheets: a resin's data, typed in from its maker's printed sheet."""

from pathlib import Path

import click

from monitor.cli.session import Session, json_option, print_json
from monitor.errors import BadInput, SheetError


@click.group("sheet")
def sheet_command() -> None:
    """A resin's data, typed in from its maker's printed sheet."""


@sheet_command.command("list")
@json_option
@click.pass_obj
def sheet_list(session: Session, as_json: bool) -> None:
    """Sheets by name."""
    from monitor.sheets import Shelf

    shop = session.shop(create=True)
    shelf = Shelf(shop.folder, shop.demo)
    rows: list[tuple[str, str, bool]] = []
    for stem in shelf.stems():
        try:
            sheet = shelf.look(stem)
            rows.append((stem, sheet.name, sheet.demo and not shop.demo))
        except SheetError as error:
            rows.append(
                (stem, f"can't be used: layupwatch sheet check {stem} ({error.what})", True)
            )
    if as_json:
        print_json([{"sheet": s, "name": n, "can_judge": not only} for s, n, only in rows])
        return
    for stem, name, only_to_look in rows:
        click.echo(f"{stem}  {name}{'  (to look at only)' if only_to_look else ''}")
    if all(only_to_look for *_, only_to_look in rows):
        click.echo("None of your own yet. Type yours in from its printed sheet: sheet new NAME")


@sheet_command.command("show")
@click.argument("name")
@click.option("--unit", type=click.Choice(["c", "f"]), help="Show it in these degrees.")
@click.pass_obj
def sheet_show(session: Session, name: str, unit: str | None) -> None:
    """A sheet in plain words, and where each value came from."""
    from monitor.sheets import Shelf, describe

    shop = session.shop(create=True)
    sheet = Shelf(shop.folder, shop.demo).look(name)
    if sheet.demo:
        click.echo("This is a demo sheet: its figures are made up.")
    for heading, rows in describe(sheet, "f" if unit == "f" else "c" if unit == "c" else None):
        if not rows:
            continue
        click.echo(f"\n{heading}")
        for row in rows:
            origin = f"  [{row.origin}]" if row.origin else ""
            words = f"{row.words}: " if row.words else ""
            click.echo(f"  {words}{row.said}{origin}")


@sheet_command.command("check")
@click.argument("name")
@json_option
@click.pass_obj
def sheet_check(session: Session, name: str, as_json: bool) -> None:
    """Every problem of a sheet at once: by name, or by the path of a .toml file."""
    from monitor.sheets import Shelf, describe, load_sheet

    path = Path(name)
    try:
        if path.suffix == ".toml":
            sheet = load_sheet(path)
        else:
            shop = session.shop(create=True)
            sheet = Shelf(shop.folder, shop.demo).look(name)
    except SheetError as error:
        if as_json:
            print_json({"sheet": name, "usable": False, "problems": list(error.problems)})
            raise SystemExit(error.exit_code) from None
        raise
    rows = [row for _, rows in describe(sheet) for row in rows if row.key]
    blank = [row for row in rows if not row.origin and "doesn't say" in row.said]
    if as_json:
        print_json(
            {
                "sheet": sheet.name,
                "usable": True,
                "problems": [],
                "values": len(rows) - len(blank),
                "left_out": [row.key for row in blank],
            }
        )
        return
    click.echo(f"{sheet.name} can be used: {len(rows) - len(blank)} values read.")
    if blank:
        left = ", ".join(row.words for row in blank)
        click.echo(f'Left out, so answered with "your sheet doesn\'t say": {left}.')


@sheet_command.command("new")
@click.argument("name")
@click.pass_obj
def sheet_new(session: Session, name: str) -> None:
    """Type in a sheet, question by question. An empty answer is a blank; blanks are honest."""
    from monitor.sheets import Shelf
    from monitor.sheets.questions import Question, ask, compose

    shop = session.shop(create=True)
    shelf = Shelf(shop.folder, shop.demo)
    if name in shelf.stems():
        raise BadInput(f"There is already a sheet called {name}.", "Choose another name.")

    def prompt(question: Question, unit_words: str) -> str:
        about = ", ".join(words for words in (unit_words, question.hint) if words)
        answer: str = click.prompt(
            f"{question.words}{f' ({about})' if about else ''}",
            default="",
            show_default=False,
            prompt_suffix=" ",
        )
        return answer

    path = shelf.add(name, compose(ask(prompt, click.echo)))
    click.echo(f"Kept as {path}.")
    click.echo(f"Check it against the printed sheet once more: sheet show {name}")
