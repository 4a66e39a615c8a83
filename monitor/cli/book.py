"""Writing into the book: layups, batches, stays, marks, corrections."""

from datetime import timedelta

import click

from monitor.answers.entry import entry_cautions
from monitor.answers.log import correction_value
from monitor.answers.off_mix import off_mix_line
from monitor.answers.withdrawn import withdrawn
from monitor.answers.wording import NEARNESS_WORDS, batch_said
from monitor.cli.session import Open, Session, json_option, print_json, say
from monitor.cure.mixing import Weighed
from monitor.logbook import parse_address
from monitor.overview import overview, view
from monitor.records import Channel, MarkKind, Nearness, Particulars, Stay
from monitor.store import entry_id
from monitor.times import iso_utc, parse_length, said

CHANNELS = click.Choice([channel.value for channel in Channel])
HELD = timedelta(minutes=15)
"""The first reading stands for so long before it."""

NEARNESSES = click.Choice([nearness.value for nearness in Nearness])


@click.group("layup")
def layup_command() -> None:
    """Parts, called by the number on their masking tape."""


@layup_command.command("add")
@click.argument("number", type=int)
@click.argument("what")
@click.option("--sheet", required=True, help="The resin's sheet, by name: see `sheet list`.")
@click.option("--on", type=click.Choice(["hull"]), help="It is on a hull, not on a bench.")
@click.option("--safety", is_flag=True, help="Lives or the boat hang on it: no load is blessed.")
@click.option("--boat", help="For its printed record; else shop.toml's, as the next two.")
@click.option("--place", help="Where it is laid up.")
@click.option("--person", help="Who lays it up.")
@click.option("--laminate", help='Cloth, mat, core and plies: "2 light cloth, 12 mm honeycomb".')
@json_option
@click.pass_obj
def layup_add(
    session: Session,
    number: int,
    what: str,
    sheet: str,
    on: str | None,
    safety: bool,
    boat: str | None,
    place: str | None,
    person: str | None,
    laminate: str | None,
    as_json: bool,
) -> None:
    """Start a part: layup add 3 "hatch lid" --sheet my-resin."""
    with session.open(create=True) as at:
        layup = at.book().add_layup(
            number,
            what,
            sheet,
            on=on,
            safety=safety,
            now=at.now,
            particulars=Particulars(boat, place, person, laminate),
        )
        if as_json:
            print_json({"id": entry_id(layup), "layup": number, "what": layup.what})
            return
        say(f"Part {number}: {layup.what}, judged by {sheet}. ({entry_id(layup)})")
        say(f"Next: batch add {number}/skin-a --resin-g … --catalyst-g …")


@layup_command.command("end")
@click.argument("number", type=int)
@click.pass_obj
def layup_end(session: Session, number: int) -> None:
    """The part is done with; its number is free for another."""
    with session.open(create=True) as at:
        layup = at.book().end_layup(number, at.now)
        say(f"Part {number} ended: {layup.what}. Its record stays.")


@layup_command.command("list")
@click.option("--all", "every", is_flag=True, help="Ended ones too.")
@json_option
@click.pass_obj
def layup_list(session: Session, every: bool, as_json: bool) -> None:
    """Open parts."""
    with session.open() as at:
        layups = at.store.book.layups(open_only=not every)
        if as_json:
            print_json(
                [
                    {
                        "id": entry_id(layup),
                        "layup": layup.number,
                        "what": layup.what,
                        "ended_at": layup.ended_at and iso_utc(layup.ended_at),
                    }
                    for layup in layups
                ]
            )
            return
        if not layups:
            say('No part is open. Start one: layup add 1 "what it is" --sheet NAME')
        for layup in layups:
            ended = (
                f", ended {said(layup.ended_at, at.shop.zone, at.now)}" if layup.ended_at else ""
            )
            say(f"{layup.number:>4}  {layup.what}{ended}")


@layup_command.command("show")
@click.argument("number", type=int)
@json_option
@click.pass_obj
def layup_show(session: Session, number: int, as_json: bool) -> None:
    """Everything logged of a part, with the name each entry is corrected by."""
    from monitor.answers.log import layup_json, layup_lines

    with session.open() as at:
        layup = at.store.book.layup(number)
        if as_json:
            print_json(layup_json(at.store, layup))
            return
        for line in layup_lines(at.store, layup, at.shop.zone, at.now):
            say(line)


@click.group("batch")
def batch_command() -> None:
    """Cups of mix, each with its own clock."""


@batch_command.command("add")
@click.argument("address", metavar="NUMBER/ROLE")
@click.option("--sheet", help="Another sheet than the part's.")
@click.option("--resin-g", type=float, help="Resin weighed, g.")
@click.option("--catalyst-g", type=float, help="Catalyst weighed, g (polyester, vinyl ester).")
@click.option("--hardener-g", type=float, help="Hardener weighed, g (epoxy).")
@click.option("--scale-step-g", type=float, help="The scale's smallest step, g.")
@click.option("--mixed-at", metavar="T", help="When it was mixed; now if left out.")
@click.option("--give-or-take", metavar="10m", help="How sure of that you are.")
@click.option("--thickness-mm", type=float, help="Thickness or bead depth, mm.")
@click.option("--waxed", is_flag=True, help="There is wax in it.")
@click.option("--resin-tin", metavar="NO", help="The number of the resin's tin.")
@click.option("--catalyst-tin", metavar="NO", help="The number of the catalyst's or hardener's.")
@click.option("--cup", metavar="NO", help="The number on the cup.")
@click.option("--counts-on", type=CHANNELS, help="The channel it counts on, where it has both.")
@json_option
@click.pass_obj
def batch_add(
    session: Session,
    address: str,
    sheet: str | None,
    resin_g: float | None,
    catalyst_g: float | None,
    hardener_g: float | None,
    scale_step_g: float | None,
    mixed_at: str | None,
    give_or_take: str | None,
    thickness_mm: float | None,
    waxed: bool,
    resin_tin: str | None,
    catalyst_tin: str | None,
    cup: str | None,
    counts_on: str | None,
    as_json: bool,
) -> None:
    """Log a cup: batch add 3/skin-a --resin-g 200 --catalyst-g 3.

    Roles: skin-a, skin-b, mat-edge, fillet, plain-coat, wax-coat, patch, other.
    """
    with session.open(create=True) as at:
        mixed = at.book().add_batch(
            parse_address(address),
            mixed_at=at.moment(mixed_at),
            now=at.now,
            sheet=sheet,
            give_or_take=parse_length(give_or_take) if give_or_take else timedelta(0),
            weighed=Weighed(resin_g, catalyst_g, hardener_g),
            scale_step_g=scale_step_g,
            thickness_mm=thickness_mm,
            waxed=waxed,
            counts_on=Channel(counts_on) if counts_on else None,
            resin_tin=resin_tin,
            catalyst_tin=catalyst_tin,
            cup=cup,
        )
        batch = mixed.batch
        layup = at.store.book.layup(parse_address(address).number)
        cautions = tuple(entry_cautions(view(at.store, layup, at.now), batch))
        weighed = Weighed(resin_g, catalyst_g, hardener_g)
        ago_min = (at.now - batch.mixed_at).total_seconds() / 60.0
        remedy = off_mix_line(mixed.sheet, weighed, ago_min)
        if as_json:
            print_json(
                {
                    "id": entry_id(batch),
                    "batch": str(parse_address(address)),
                    "mixed_at": iso_utc(batch.mixed_at),
                    "mix": mixed.mix.state,
                    "mix_pct": mixed.mix.pct,
                    "sentence": mixed.mix.sentence,
                    "do": remedy,
                    "cautions": list(cautions),
                }
            )
            return
        words = batch_said(batch, at.shop.zone, at.now)
        say(f"Part {parse_address(address).number}: {words}. ({entry_id(batch)})")
        say(mixed.mix.sentence)
        if remedy is not None:
            say(remedy)
            say("Outside the sheet it won't cure right, however long it waits.")
        for caution in cautions:
            say(caution)


@click.command("stay")
@click.argument("address", metavar="NUMBER[/ROLE]")
@click.argument("sensor")
@click.option("--channel", type=CHANNELS, default="air", show_default=True)
@click.option("--nearness", type=NEARNESSES, help="beside (air) or probe (surface) if left out.")
@click.option("--from", "since", metavar="T", help="Since when; now if left out.")
@click.option("--to", "until", metavar="T", help="Until when; still, if left out.")
@json_option
@click.pass_obj
def stay_command(
    session: Session,
    address: str,
    sensor: str,
    channel: str,
    nearness: str | None,
    since: str | None,
    until: str | None,
    as_json: bool,
) -> None:
    """A part stands beside a sensor: stay 3 shed. A second stay ends the first: a move."""
    with session.open(create=True) as at:
        before = overview(at.store, at.now)
        stay = at.book().add_stay(
            parse_address(address),
            sensor,
            channel=Channel(channel),
            nearness=Nearness(nearness) if nearness else None,
            since=at.moment(since),
            until=at.moment(until) if until else None,
            now=at.now,
        )
        taken_back = list(withdrawn(before, overview(at.store, at.now)))
        if as_json:
            print_json(
                {
                    "id": entry_id(stay),
                    "at": address,
                    "sensor": sensor,
                    "channel": stay.channel.value,
                    "nearness": stay.nearness.value,
                    "from": iso_utc(stay.since),
                    "to": stay.until and iso_utc(stay.until),
                    "withdrawn": taken_back,
                }
            )
            return
        span = f"from {said(stay.since, at.shop.zone, at.now)}"
        if stay.until is not None:
            span += f" to {said(stay.until, at.shop.zone, at.now)}"
        where = NEARNESS_WORDS[stay.nearness]
        say(f"Part {address}: {sensor} {where}, {span}. ({entry_id(stay)})")
        for line in taken_back:
            say(line)
        _say_uncovered(at, stay)


def _say_uncovered(at: Open, stay: Stay) -> None:
    """A batch mixed well before its sensor stood there is half counted: say how to mend it."""
    batches = at.store.book.batches(stay.layup_id)
    mixed = [b.mixed_at for b in batches if stay.batch_id in (None, b.id)]
    others = [s for s in at.store.book.stays(stay.layup_id) if s.id != stay.id]
    if mixed and not others and stay.since - min(mixed) > HELD:
        when = said(min(mixed), at.shop.zone, at.now)
        say(
            f"It was mixed at {when}, before that. If the sensor already stood there: "
            f"correct {entry_id(stay)} since {iso_utc(min(mixed))}"
        )


@click.command("mark")
@click.argument("address", metavar="NUMBER[/ROLE]")
@click.argument("mark", type=click.Choice([kind.value for kind in MarkKind]))
@click.option("--at", "seen_at", metavar="T", help="When; now if left out.")
@click.option("--note", help="In your own words.")
@json_option
@click.pass_obj
def mark_command(
    session: Session, address: str, mark: str, seen_at: str | None, note: str | None, as_json: bool
) -> None:
    """Something seen or done: mark 3 kicked, mark 3/skin-a trimmed-clean --at -10m.

    cup- marks tell of the leftover cup, tab- marks of the witness tab beside the part. A test cup
    is a part of its own: layup add 90 "test cup" --sheet …, then batch add 90/other.
    """
    with session.open(create=True) as at:
        kind = MarkKind(mark)
        entry = at.book().add_mark(
            parse_address(address), kind, at=at.moment(seen_at), note=note, now=at.now
        )
        if as_json:
            print_json({"id": entry_id(entry), "mark": mark, "at": iso_utc(entry.at)})
            return
        when = said(entry.at, at.shop.zone, at.now)
        say(f"Part {address}: {mark} at {when}. ({entry_id(entry)})")


@click.command("correct")
@click.argument("entry", metavar="ID")
@click.argument("field")
@click.argument("value")
@json_option
@click.pass_obj
def correct_command(session: Session, entry: str, field: str, value: str, as_json: bool) -> None:
    """Put an entry right; the old value is kept: correct batch-7 mixed_at 10:15.

    A dash alone (-) empties a field that may be blank. `layup show` names the entries.
    """
    with session.open(create=True) as at:
        typed = correction_value(entry, field, value, at.moment)
        before = overview(at.store, at.now)
        made = at.book().correct(entry, field, typed, at.now)
        taken_back = list(withdrawn(before, overview(at.store, at.now)))
        if as_json:
            print_json(
                {
                    "id": made.entry,
                    "field": made.field,
                    "old": made.old_value,
                    "new": made.new_value,
                    "withdrawn": taken_back,
                }
            )
            return
        say(f"{made.entry}: {made.field} was {made.old_value}, is {made.new_value}.")
        say("Everything is counted anew from it; the old value is kept.")
        for line in taken_back:
            say(line)
