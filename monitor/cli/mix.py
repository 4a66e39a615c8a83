"""At the mixing bench: how much goes in, and how long it stays workable."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from monitor.cli.session import Session, json_option, print_json, say
from monitor.errors import BadInput
from monitor.units import c_from_f

if TYPE_CHECKING:
    from monitor.answers.mix import Mix
    from monitor.answers.own_minutes import OwnMinutes

LIKELY_F_FROM_C = 55.0
"""No resin is worked at this many °C; that figure is most likely °F. Judged by eye, no source."""


@click.command("mix")
@click.argument("sheet")
@click.option("--resin-g", type=float, required=True, help="Resin in this cup, g.")
@click.option("--temperature-c", type=float, help="The resin's own temperature, °C.")
@click.option("--temperature-f", type=float, help="The same in °F.")
@click.option("--scale-step-g", type=float, help="The scale's smallest step, g.")
@click.option("--weighed-g", type=float, help="Catalyst or hardener as really weighed, g.")
@click.option("--minutes-ago", type=float, help="How long ago this cup was mixed, minutes.")
@click.option("--minutes-needed", type=float, help="How long your hands need for it, minutes.")
@click.option("--mix-pct", type=float, help="Another dose than the aim, inside the range, %.")
@click.option("--drops-per-ml", type=float, help="Drops that your own dropper gives a millilitre.")
@click.option("--cup", metavar="NO", help="The number on the cup.")
@json_option
@click.pass_obj
def mix_command(
    session: Session,
    sheet: str,
    resin_g: float,
    temperature_c: float | None,
    temperature_f: float | None,
    scale_step_g: float | None,
    weighed_g: float | None,
    minutes_ago: float | None,
    minutes_needed: float | None,
    mix_pct: float | None,
    drops_per_ml: float | None,
    cup: str | None,
    as_json: bool,
) -> None:
    """Catalyst or hardener for a cup: mix my-resin --resin-g 200 --temperature-c 18.

    Grams by the sheet, what your scale can really hold (one step on each of the two weighings,
    added), and the minutes in hand between the cups that the sheet has timed: ± 35 %, or ± 20 %
    where they are your own cups. With --weighed-g it judges what went in, and says what to add
    while it still can be stirred in. A blank on the sheet stays a blank. No figure for promoters
    or accelerators is ever given: those are the maker's.

    Cautions, and where they are from. Peroxide in the eye: International Chemical Safety Card
    1028. Peroxide never meets promoter undiluted: California Title 8, section 5461(g). Dust and
    overspray with peroxide can catch fire: section 5461(c). A pot that runs hot or smokes, and a
    wrong dose that sets itself alight: FAO Fisheries Technical Paper 321, chapter 3. Styrene has
    limits at work (NIOSH Pocket Guide): which mask keeps them is your maker's sheet's to say.
    """
    from monitor.answers.mix import Asked, mix_for, mix_json, mix_lines
    from monitor.sheets import Shelf

    shop = session.shop(create=True)
    judged_by = Shelf(shop.folder, shop.demo).load(sheet)
    answer = mix_for(
        judged_by,
        Asked(
            resin_g,
            _temperature_c(temperature_c, temperature_f),
            scale_step_g,
            weighed_g,
            mix_pct,
            drops_per_ml,
            minutes_ago,
            minutes_needed,
            cup,
        ),
    )
    own = _own(session, sheet, answer)
    if as_json:
        print_json(mix_json(answer, own))
        return
    unit = "f" if temperature_f is not None else "c" if temperature_c is not None else shop.unit
    for line in mix_lines(answer, unit, own):
        say(line)


def _own(session: Session, sheet: str, answer: "Mix") -> "tuple[OwnMinutes, ...]":
    """What this shop's own cups of it did; nothing where nothing was ever logged."""
    from monitor.answers.own_minutes import own_minutes
    from monitor.answers.past import past_jobs
    from monitor.store.faults import AwayStore

    database = session.shop(create=True).database
    if isinstance(database, Path) and not database.exists():
        return ()
    pct = None if answer.dose is None or answer.sheet.kind == "epoxy" else answer.dose.pct
    try:
        with session.open() as at:
            return own_minutes(past_jobs(at.store, sheet, at.now), answer.asked.temperature_c, pct)
    except AwayStore:
        # A cup is weighed without its server too.
        return ()


def _temperature_c(celsius: float | None, fahrenheit: float | None) -> float | None:
    if celsius is not None and fahrenheit is not None:
        raise BadInput("The temperature is given twice.", "Give it in °C or in °F.")
    if fahrenheit is not None:
        return c_from_f(fahrenheit)
    if celsius is not None and celsius > LIKELY_F_FROM_C:
        raise BadInput(
            f"{celsius:g} °C is no temperature to mix at.",
            f"If it is °F, say --temperature-f {celsius:g}.",
        )
    return celsius
