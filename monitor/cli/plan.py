"""Before mixing: can I start, and until when."""

from datetime import timedelta

import click

from monitor.cli.ask import stage_named
from monitor.cli.session import Session, json_option, print_json
from monitor.errors import BadInput


@click.command("plan")
@click.argument("sheet")
@click.option("--stage", required=True, help="What it is to reach before the cold: flip, sand …")
@click.option("--sensor", help="The sensor where you will work; needed where there are several.")
@click.option("--heat", metavar='"21 from 18:00 to 22:00"', help="What if a heater held that.")
@json_option
@click.pass_obj
def plan_command(
    session: Session, sheet: str, stage: str, sensor: str | None, heat: str | None, as_json: bool
) -> None:
    """The latest time to mix for a stage, if tonight is like last night.

    plan my-resin --stage flip
    """
    from monitor.answers.plan import parse_heat, plan_for, plan_json, plan_lines
    from monitor.cli.files import chosen_sensor
    from monitor.sheets import Shelf

    with session.open() as at:
        judged_by = Shelf(at.shop.folder, at.shop.demo).load(sheet)
        beside = chosen_sensor(at.store.book.sensors(), sensor)
        readings = at.store.readings.between(beside.id, at.now - timedelta(days=2), at.now)
        if len(readings) == 0:
            raise BadInput(
                f"{beside.name} has said nothing for two days.",
                "Leave a sensor where you will work, and ask again tomorrow.",
            )
        what_if = parse_heat(heat, at.now, at.shop.zone, at.shop.unit) if heat else None
        plan = plan_for(
            judged_by,
            stage_named(stage),
            readings,
            at.now,
            at.shop.zone,
            at.shop.unit,
            what_if,
        )
        if as_json:
            print_json(plan_json(plan))
            return
        for line in plan_lines(plan, at.shop.zone, at.shop.unit):
            click.echo(line)
