"""Sheets: a resin's data, typed in from its maker's printed sheet."""

from pathlib import Path

import click

from monitor.cli.session import Session, json_option, print_json, say
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
        say(f"{stem}  {name}{'  (to look at only)' if only_to_look else ''}")
    if all(only_to_look for *_, only_to_look in rows):
        say("None of your own yet. Type yours in from its printed sheet: sheet new NAME")


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
        say("This is a demo sheet: its figures are made up.")
    for heading, rows in describe(sheet, "f" if unit == "f" else "c" if unit == "c" else None):
        if not rows:
            continue
        say()
        say(heading)
        for row in rows:
            origin = f"  [{row.origin}]" if row.origin else ""
            words = f"{row.words}: " if row.words else ""
            say(f"  {words}{row.said}{origin}")


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
    say(f"{sheet.name} can be used: {len(rows) - len(blank)} values read.")
    if blank:
        left = ", ".join(row.words for row in blank)
        say(f'Left out, so answered with "your sheet doesn\'t say": {left}.')


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

    path = shelf.add(name, compose(ask(prompt, say)))
    say(f"Kept as {path}.")
    say(f"Check it against the printed sheet once more: sheet show {name}")


@sheet_command.command("fit")
@click.argument("name")
@click.option(
    "--cups",
    "file",
    metavar="FILE.csv",
    type=click.Path(path_type=Path),
    help="Headings temperature_c (or temperature_f), minutes, catalyst_pct, cup_g.",
)
@click.option(
    "--cup",
    "typed",
    metavar="T,PCT,MIN[,G]",
    multiple=True,
    help="One cup: degrees, % catalyst (- for epoxy), minutes to gel, grams. Give it for each.",
)
@click.option("--mix-pct", type=float, help="Fit the cups at this dose.")
@click.option("--cup-g", type=float, help="Fit the cups of this size.")
@click.option("--unit", type=click.Choice(["c", "f"]), help="Degrees of --cup and of the answer.")
@json_option
@click.pass_obj
def sheet_fit_command(
    session: Session,
    name: str,
    file: Path | None,
    typed: tuple[str, ...],
    mix_pct: float | None,
    cup_g: float | None,
    unit: str | None,
    as_json: bool,
) -> None:
    """The base of the count from cups you timed to gel. It only prints; the sheet stays as it is.

    The method is the annex of ASTM C1074: the rate constant K, here 1 over the minutes to gel,
    against temperature meets zero at the datum temperature (our base); the slope of ln K against
    1/kelvin gives the apparent activation energy (our warmth), which equivalent age counts with.
    It takes cups of one dose and one size at three temperatures or more; what doesn't fit is left
    out and named. Without --cup or --cups the sheet's own gel rows are used.

    Trial cups get hot: outside on bare ground only while one can still be held; otherwise keep
    clear. Goggles with peroxide. The maker's sheet stands above any figure found here.
    """
    from monitor.answers.cups import cup_typed, cups_in_csv
    from monitor.answers.fit import fit_json, fit_lines, sheet_fit
    from monitor.sheets import Shelf
    from monitor.units import Unit

    shop = session.shop(create=True)
    sheet = Shelf(shop.folder, shop.demo).look(name)
    degrees: Unit = "f" if unit == "f" else "c" if unit == "c" else sheet.unit
    cups = tuple(cup_typed(text, sheet, degrees) for text in typed)
    if file is not None:
        cups += cups_in_csv(_text_of(file), sheet, file.name)
    found = sheet_fit(sheet, cups, mix_pct=mix_pct, cup_g=cup_g)
    if as_json:
        print_json(fit_json(found))
        return
    for line in fit_lines(found, degrees):
        say(line)


def _text_of(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise BadInput(f"There is no file {file}.", "Check the name.") from None
    except (OSError, UnicodeDecodeError) as fault:
        raise BadInput(f"{file} can't be read: {fault}.", "Check the file.") from None
