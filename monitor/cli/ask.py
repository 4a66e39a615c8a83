"""Asking: is it ready, what does a file say, how near is the dew."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from monitor.cli.session import Open, Session, json_option, now_utc, print_json, say
from monitor.errors import BadInput
from monitor.records import Channel, Nearness, Stage, Verdict
from monitor.times import parse_instant, zone_named

if TYPE_CHECKING:
    from monitor.csvfile import FileRead
    from monitor.overview import BatchView, LayupView

STAGES = [stage.value.replace("_", "-") for stage in Stage]
EXIT_CODE = click.option(
    "--exit-code", is_flag=True, help="Exit with 1 where the answer is anything but ready."
)


def stage_named(text: str) -> Stage:
    """A stage as typed: props-off or props_off."""
    try:
        return Stage(text.replace("-", "_"))
    except ValueError:
        raise BadInput(f"{text!r} is not a stage.", f"Use one of: {', '.join(STAGES)}.") from None


@click.command("ready")
@click.argument("address", metavar="NUMBER[/ROLE][+NUMBER[/ROLE]]")
@click.argument("stage", required=False)
@EXIT_CODE
@json_option
@click.pass_obj
def ready_command(
    session: Session, address: str, stage: str | None, exit_code: bool, as_json: bool
) -> int:
    """Is it ready? ready 3, ready 3/skin-a sand, and for a joint of two parts: ready 3+4 load."""
    from monitor.answers.asjson import joint_json, ready_json
    from monitor.answers.past import past_of
    from monitor.answers.ready import awaits_a_coat, headline
    from monitor.answers.report import joint_lines, ready_lines
    from monitor.answers.wording import COUNT_IS_NOT_HARDNESS
    from monitor.assess import join

    only = stage_named(stage) if stage else None
    with session.open() as at:
        asked = [_asked(at, text) for text in address.split("+")]
        named = tuple(
            (f"{seen.layup.number}/{b.batch.name}", b.worked.assessment)
            for seen, batches in asked
            for b in batches
        )
        joint = join(named) if len(asked) > 1 else None
        if as_json:
            told = [ready_json(seen, [b.batch.name for b in batches]) for seen, batches in asked]
            print_json(told[0] if len(told) == 1 else {"layups": told, "joint": joint_json(joint)})
        else:
            for seen, batches in asked:
                for line in ready_lines(
                    seen, at.shop.zone, at.shop.unit, batches, only, now=at.now
                ):
                    say(line)
                for batch in batches:
                    for line in past_of(at.store, batch, at.shop.zone, at.shop.unit, at.now):
                        say(line)
                say()
            for line in joint_lines("The joint", joint, only) if joint is not None else ():
                say(line)
            say(COUNT_IS_NOT_HARDNESS)
        answers = [
            b.worked.assessment.stage(only)
            if only is not None
            else headline(
                b.worked.assessment,
                b.case.marks,
                safety=seen.layup.safety,
                next_coat=awaits_a_coat(b),
            )
            for seen, batches in asked
            for b in batches
        ]
    ready = bool(answers) and all(a is not None and a.verdict is Verdict.READY for a in answers)
    return 1 if exit_code and not ready else 0


def _asked(at: Open, text: str) -> "tuple[LayupView, tuple[BatchView, ...]]":
    """A part as it stands, and those of its batches that were asked about."""
    from monitor.logbook import parse_address
    from monitor.overview import view

    asked = parse_address(text)
    seen = view(at.store, at.store.book.layup(asked.number), at.now)
    batches = tuple(b for b in seen.batches if asked.batch in (None, b.batch.name))
    if asked.batch is not None and not batches:
        names = ", ".join(f"{asked.number}/{b.batch.name}" for b in seen.batches)
        raise BadInput(
            f"Part {asked.number} has no batch {asked.batch}.",
            f"It has: {names}." if names else f"Log it first: batch add {asked}.",
        )
    return seen, batches


@click.command("assess")
@click.argument("readings", metavar="READINGS.csv", type=click.Path(path_type=Path))
@click.option("--sheet", required=True, type=click.Path(path_type=Path), help="A sheet's file.")
@click.option("--mixed-at", required=True, metavar="T", help="When it was mixed.")
@click.option("--now", "until", metavar="T", help="As of when; now if left out.")
@click.option("--nearness", type=click.Choice([n.value for n in Nearness]), default="beside")
@click.option("--mix-pct", type=float, help="Catalyst or hardener, % of the resin's weight.")
@click.option("--channel", type=click.Choice([c.value for c in Channel]), default="air")
@click.option("--zone", metavar="Z", help="The zone of times without an offset.")
@EXIT_CODE
@json_option
def assess_command(
    readings: Path,
    sheet: Path,
    mixed_at: str,
    until: str | None,
    nearness: str,
    mix_pct: float | None,
    channel: str,
    zone: str | None,
    exit_code: bool,
    as_json: bool,
) -> int:
    """Count and verdicts from a readings file alone, no shop needed.

    The file's first line is time,temperature_c,humidity_pct.
    """
    from datetime import UTC

    from monitor.answers.asjson import assessment_json
    from monitor.answers.report import assessment_lines
    from monitor.answers.wording import COUNT_IS_NOT_HARDNESS
    from monitor.assess import Case, assess
    from monitor.csvfile import read_readings
    from monitor.cure.beside import StayRead, trace_of
    from monitor.cure.mixing import Weighed
    from monitor.cure.outlook import outlook
    from monitor.sheets import load_sheet

    local = zone_named(zone) if zone else None
    clock = now_utc()
    judged_by = load_sheet(sheet)
    mixed = parse_instant(mixed_at, now=clock, zone=local)
    now = clock if until is None else parse_instant(until, now=clock, zone=local)
    if mixed > now:
        raise BadInput(
            "It would be mixed after the moment you ask about.", "Give --mixed-at before --now."
        )
    file = read_readings(readings, local)
    stay = StayRead(file.readings, Channel(channel), Nearness(nearness))
    trace = trace_of(stay)
    ahead = outlook(trace.time_s, trace.temperature_c, now.timestamp())
    case = Case(
        judged_by,
        mixed,
        Weighed(mix_pct=mix_pct),
        counted=(stay,),
        watched=(stay,),
        outlook=ahead,
    )
    answer = assess(case, now)
    if as_json:
        print_json(assessment_json(answer))
    else:
        shown = local or UTC
        if judged_by.demo:
            say("This is a demo sheet: its figures are made up.")
        say(f"{file.rows} rows read from {readings.name}{_remarks(file)}.")
        for line in assessment_lines(answer, shown, "c"):
            say(line)
        say(COUNT_IS_NOT_HARDNESS)
    sand = answer.stage(Stage.SAND).verdict
    return 1 if exit_code and sand is not Verdict.READY else 0


def _remarks(file: "FileRead") -> str:
    words = ""
    if file.out_of_order:
        words += ", not in time order, put in order"
    if file.repeated:
        words += f", {file.repeated} with a time already there left out"
    if file.flagged:
        words += f", {file.flagged} with suspect values"
    return words


@click.command("air")
@click.option("--temperature-c", type=float, required=True, help="Air, °C.")
@click.option("--humidity-pct", type=float, required=True, help="Relative humidity, %.")
@click.option("--surface-c", type=float, help="The surface, °C; the air's if left out.")
@json_option
def air_command(
    temperature_c: float, humidity_pct: float, surface_c: float | None, as_json: bool
) -> None:
    """Dew point, and how far a surface is above it."""
    import numpy as np

    from monitor.air import OVER, VALID_C, dew_point_c, spread_c

    dew = float(dew_point_c(temperature_c, humidity_pct))
    if not np.isfinite(dew):
        raise BadInput(
            f"No dew point for {temperature_c:g} °C and {humidity_pct:g} %.",
            f"Give {VALID_C[0]:g} to {VALID_C[1]:g} °C, and humidity over 0 and up to 100 %.",
        )
    surface = temperature_c if surface_c is None else surface_c
    spread = float(spread_c(surface, dew))
    if as_json:
        print_json({"dew_point_c": round(dew, 3), "over": OVER, "spread_c": round(spread, 3)})
        return
    over = f", over {OVER} (frost would come a little warmer)" if dew < 0 else f", over {OVER}"
    say(f"Dew point {dew:.1f} °C{over}.")
    if surface_c is None:
        say(f"The air is {spread:.1f} °C above it.")
        say("Can't tell of a surface: a hull may be colder than the air. Put a probe on it,")
        say("and ask again with --surface-c.")
    elif spread <= 0:
        say("The surface is WET: don't bond, don't coat.")
    else:
        say(f"The surface is {spread:.1f} °C above it; hold that against your sheet.")
