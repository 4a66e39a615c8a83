"""A sensor held against a jar of salt, or against ice."""

import time
from datetime import datetime

import click

from monitor.cli.session import Open, Session, json_option, now_utc, print_json, say
from monitor.errors import BadInput
from monitor.records import Channel
from monitor.sensing.salts import SALTS, salt_named
from monitor.trust.jar import (
    ICE,
    ICE_APART_C,
    ICE_OFF_C,
    SALT_APART_PCT,
    SALT_OFF_PCT,
    Held,
    held_against_ice,
    held_against_salt,
    keep,
)

LOOK_EVERY_S = 60.0
SALT_HOW = (
    "A wet slush of the salt in a closed jar, the sensor above it and not touching, out of the "
    "sun, 8 to 12 hours at a steady temperature."
)
ICE_HOW = "Crushed ice just covered with water, stirred, the sealed probe deep in it."


@click.command("salt-jar")
@click.argument("sensor")
@click.option(
    "--salt",
    type=click.Choice([salt.name for salt in SALTS]),
    default=SALTS[0].name,
    show_default=True,
    help="What is in the jar. A second salt within a month makes a slope of two offsets.",
)
@click.option("--ice", is_flag=True, help="A sealed probe in ice and water instead of a jar.")
@click.option(
    "--channel", type=click.Choice(["air", "surface"]), help="With --ice: which one; the surface."
)
@click.option("--wait", is_flag=True, help="Look every minute until it has come to rest.")
@click.option("--take", is_flag=True, help="Keep it: from now on readings are put right by it.")
@json_option
@click.pass_obj
def salt_jar_command(
    session: Session,
    sensor: str,
    salt: str,
    ice: bool,
    channel: str | None,
    wait: bool,
    take: bool,
    as_json: bool,
) -> None:
    """How far is a sensor off? salt-jar shed, in a closed jar over wet table salt.

    Nothing that was read is changed: the check is kept with both numbers and its date, and what
    the sensor says from then on is put right as it is read out.
    """
    if channel and not ice:
        raise BadInput("--channel goes with --ice.", "A jar checks the humidity of the air.")
    with session.open() as at:
        beside = at.store.book.sensor(sensor)
        probe = Channel.AIR if channel == "air" else Channel.SURFACE

        def looked(now: datetime) -> Held:
            if ice:
                return held_against_ice(at.store, beside, probe, now)
            return held_against_salt(at.store, beside, salt_named(salt), now)

        now = at.now
        held = looked(now)
        while wait and held.state in ("silent", "too-short", "moving"):
            if not as_json:
                say(_said(sensor, held))
            time.sleep(LOOK_EVERY_S)
            now = now_utc()
            held = looked(now)
        if take and held.state != "at-rest":
            raise BadInput(_said(sensor, held), _HOW_ON[held.state])
        if take:
            keep(at.store, beside, held, now)
        if as_json:
            print_json(_json(sensor, held, kept=take))
            return
        say(_said(sensor, held))
        for number in _parts_beside(at, beside.id):
            say(f"Part {number} is logged beside {sensor} all the while: end that stay.")
        if take:
            say("Kept. What was read stays; from now on it is put right as it is read out.")
        else:
            say(_next(held, ice))


def _parts_beside(at: Open, sensor_id: int) -> list[int]:
    """Open parts that count on what the sensor says of its jar."""
    return [
        layup.number
        for layup in at.store.book.layups(open_only=True)
        if any(
            stay.sensor_id == sensor_id and (stay.until is None or stay.until > at.now)
            for stay in at.store.book.stays(layup.id)
        )
    ]


def _said(sensor: str, held: Held) -> str:
    unit, digits = ("°C", 2) if held.standard == ICE else ("%", 1)
    match held.state:
        case "silent":
            return f"Nothing fresh is heard from {sensor}."
        case "too-short":
            return f"{sensor} has not been heard for long enough yet."
        case "moving":
            least = ICE_APART_C if held.standard == ICE else SALT_APART_PCT
            return (
                f"{sensor} still moves: {held.apart:.{digits}f} {unit}, under {least:g} {unit} is "
                "at rest, and no more than half a degree."
            )
        case _:
            way = "high" if held.off > 0 else "low"
            return (
                f"{sensor} reads {held.read:.{digits}f} {unit} where "
                f"{held.true:.{digits}f} {unit} is true: {abs(held.off):.{digits}f} {unit} {way}."
            )


_HOW_ON = {
    "silent": "Start `layupwatch run`, and leave it running meanwhile.",
    "too-short": "Leave it there, and `layupwatch run` running.",
    "moving": "Leave it there, out of the sun and untouched; or use --wait.",
    "too-far-off": "That is too far to put right: replace it. First make sure of the salt's slush "
    f"(limit {SALT_OFF_PCT:g} %) or of the ice (limit {ICE_OFF_C:g} °C).",
}


def _next(held: Held, ice: bool) -> str:
    if held.state == "at-rest":
        return "To put its readings right by this from now on: the same with --take."
    return f"{_HOW_ON[held.state]} {ICE_HOW if ice else SALT_HOW}"


def _json(sensor: str, held: Held, *, kept: bool) -> dict[str, object]:
    known = held.state not in ("silent", "too-short")
    unit = "c" if held.standard == ICE else "pct"
    return {
        "sensor": sensor,
        "standard": held.standard,
        "state": held.state,
        f"read_{unit}": held.read if known else None,
        f"true_{unit}": held.true if known else None,
        f"off_{unit}": held.off if known else None,
        "temperature_c": held.temperature_c if known else None,
        "kept": kept,
    }
