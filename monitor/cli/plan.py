"""Before mixing: can I start, and until when."""

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import click

from monitor.cli.ask import stage_named
from monitor.cli.session import Open, Session, json_option, print_json, say
from monitor.errors import BadInput
from monitor.records import Role, Stage

if TYPE_CHECKING:
    from monitor.answers.plan import Task
    from monitor.records import Readings, Sheet

LOOKED_BACK = timedelta(days=2)


@click.command("plan")
@click.argument("sheet")
@click.option("--stage", help="What it is to reach before the cold: flip, sand …")
@click.option("--for", "address", metavar="NUMBER/ROLE", help="The batch you are about to mix.")
@click.option("--sensor", help="The sensor where you will work; needed where there are several.")
@click.option("--heat", metavar='"21 from 18:00 to 22:00"', help="What if a heater held that.")
@json_option
@click.pass_obj
def plan_command(
    session: Session,
    sheet: str,
    stage: str | None,
    address: str | None,
    sensor: str | None,
    heat: str | None,
    as_json: bool,
) -> None:
    """Can I start now, and the latest time to mix, if tonight is like last night.

    plan my-resin --stage flip; before a coat or a bond, over what is there:
    plan my-gel-coat --for 3/wax-coat
    """
    from monitor.answers.here import here_in
    from monitor.answers.plan import parse_heat, plan_for, plan_json, plan_lines
    from monitor.answers.start import start_json, start_said
    from monitor.sheets import Shelf

    with session.open() as at:
        judged_by = Shelf(at.shop.folder, at.shop.demo).load(sheet)
        task, role = _task(at, address, judged_by)
        if stage is None and role is None:
            raise BadInput(
                "Plan for what?", "Give --stage flip, or the batch: --for 3/skin-a, 3/wax-coat."
            )
        goal = stage_named(stage) if stage else _usual_goal(judged_by, role)
        what_if = parse_heat(heat, at.now, at.shop.zone, at.shop.unit) if heat else None
        zone, unit = at.shop.zone, at.shop.unit
        try:
            readings = _readings(at, address, sensor)
            if task is not None and task.here.air_c is None:
                here = here_in(readings, at.now, on_hull=task.here.on_hull)
                task = replace(task, here=here)
            plan = plan_for(judged_by, goal, readings, at.now, zone, unit, what_if, task=task)
        except BadInput as fault:
            if task is None:
                raise
            # Whether to start over what is there can be told where no night can be planned by.
            start = start_said(
                judged_by, task.here, task.below, None, zone, unit, at.now,
                waxed=task.waxed,
            )  # fmt: skip
            if as_json:
                print_json(
                    {"sheet": judged_by.name, "start": start_json(start), "no_plan": fault.what}
                )
                return
            for line in (*start.lines, f"Nothing is planned ahead: {fault.what}"):
                say(line)
            return
        if as_json:
            print_json(plan_json(plan))
            return
        for line in plan_lines(plan, zone, unit):
            say(line)


def _usual_goal(sheet: "Sheet", role: Role | None) -> Stage:
    """What a batch is first to reach, where nobody says: sealed for a wax coat, else flip."""
    if role is Role.WAX_COAT:
        return Stage.SEALED
    return next((s for s in (Stage.FLIP, Stage.SAND) if s in sheet.needs), Stage.FLIP)


def _task(at: Open, address: str | None, judged_by: "Sheet") -> "tuple[Task | None, Role | None]":
    """The batch about to be mixed: what its part's sensors say, and what lies under it."""
    from monitor.answers.here import here_of
    from monitor.answers.plan import Task
    from monitor.answers.under import under
    from monitor.logbook import parse_address
    from monitor.overview import view

    if address is None:
        return None, None
    asked = parse_address(address)
    if asked.role is None:
        raise BadInput(
            f"{address} names a part, not what you will mix.",
            f"Say which: {asked.number}/skin-a, {asked.number}/wax-coat …",
        )
    seen = view(at.store, at.store.book.layup(asked.number), at.now)
    below = under(seen, asked.role, judged_by, at.shop.zone, at.shop.unit)
    return Task(here_of(seen, at.now), below, asked.role is Role.WAX_COAT), asked.role


def _readings(at: Open, address: str | None, sensor: str | None) -> "Readings":
    """The last two days of the place: by name, else where the part stands, else the only sensor."""
    from monitor.cli.files import chosen_sensor
    from monitor.logbook import parse_address

    sensors = at.store.book.sensors()
    if sensor is None and address is not None:
        layup = at.store.book.layup(parse_address(address).number)
        here = [
            stay.sensor_id
            for stay in at.store.book.stays(layup.id)
            if stay.since <= at.now and (stay.until is None or stay.until > at.now)
        ]
        sensor = next((known.name for known in sensors if known.id in here[-1:]), None)
    beside = chosen_sensor(sensors, sensor)
    readings = at.store.readings.between(beside.id, at.now - LOOKED_BACK, at.now)
    if len(readings) == 0:
        raise BadInput(
            f"{beside.name} has said nothing for two days.",
            "Leave a sensor where you will work, and ask again tomorrow.",
        )
    return readings
