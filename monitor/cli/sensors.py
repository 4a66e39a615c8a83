"""Sensors by name: where they are plugged in, and how they are doing."""

from typing import TYPE_CHECKING

import click

from monitor.cli.session import Open, Session, json_option, print_json, say
from monitor.records import Flags, Reply, Sensor, SuspectKind, SuspectSpan
from monitor.store import entry_id
from monitor.times import iso_utc, length_said, said
from monitor.units import Unit, temperature_said

if TYPE_CHECKING:
    from monitor.trust.asked import Asked


@click.group("sensor")
def sensor_command() -> None:
    """Sensors by name: where they are plugged in, and what they last said."""


@sensor_command.command("add")
@click.argument("name")
@click.argument("port")
@click.option("--unit", type=click.Choice(["c", "f"]), help="The degrees its lines are in.")
@click.option("--format", "line_format", help="How its lines are written, where it must be told.")
@json_option
@click.pass_obj
def sensor_add(
    session: Session,
    name: str,
    port: str,
    unit: str | None,
    line_format: str | None,
    as_json: bool,
) -> None:
    """Name what is plugged in: sensor add shed /dev/ttyUSB0.

    The port need not be there yet. A name that is known is plugged in there from now on.
    """
    from monitor.errors import BadInput
    from monitor.sensing.formats import FORMATS
    from monitor.wires import is_fed

    names = [form.name for form in FORMATS]
    if line_format is not None and line_format not in names:
        raise BadInput(
            f"{line_format!r} is not a format.", f"Use one of {', '.join(names)}, or leave it out."
        )
    with session.open(create=True) as at:
        degrees: Unit | None = "f" if unit == "f" else "c" if unit == "c" else None
        sensor = at.book().add_sensor(name, port, unit=degrees, form=line_format, now=at.now)
        if as_json:
            print_json({"id": entry_id(sensor), "sensor": name, "port": port})
            return
        say(f"Sensor {name} at {port}. ({entry_id(sensor)})")
        if is_fed(port):
            say("What it says comes by what shop.toml describes: look at sensor list.")
        else:
            say(f"A running watch picks it up by itself. What it says: listen {port}")


@sensor_command.command("list")
@json_option
@click.pass_obj
def sensor_list(session: Session, as_json: bool) -> None:
    """Sensors, and how old their last reading is."""
    with session.open() as at:
        rows = [(s, at.store.readings.latest(s.id)) for s in at.store.book.sensors()]
        if as_json:
            from monitor.answers.asjson import sensor_json

            print_json([sensor_json(sensor, latest) for sensor, latest in rows])
            return
        if not rows:
            say("No sensor yet. See what is plugged in: ports. Then: sensor add NAME PORT")
        for sensor, latest in rows:
            if latest is None:
                say(f"{sensor.name} at {sensor.plugged_in}: never heard.")
                continue
            age = length_said((at.now - latest.at).total_seconds())
            values = [
                f"{word}{temperature_said(value, at.shop.unit)}"
                for word, value in (("", latest.temperature_c), ("surface ", latest.surface_c))
                if value is not None
            ]
            if latest.humidity_pct is not None:
                values.append(f"{latest.humidity_pct:.0f} %")
            doubt = "" if latest.flags == Flags() else f" (suspect: {latest.flags.text()})"
            say(f"{sensor.name} at {sensor.plugged_in}: {', '.join(values)}, {age} ago{doubt}.")
            for line in (*_checked(at, sensor), *_asked(at, sensor)):
                say(f"  {line}")


@sensor_command.command("answer")
@click.argument("name")
@click.argument("answer", type=click.Choice([reply.value for reply in Reply]))
@click.option("--at", "when", metavar="T", help="When it was over; now if left out.")
@json_option
@click.pass_obj
def sensor_answer(
    session: Session, name: str, answer: str, when: str | None, as_json: bool
) -> None:
    """Answer what a sensor is doubted for: it is so (yes), it is over, or it was true (no).

    The readings are kept either way. `no` counts them again, `over` counts them from then on.
    """
    from monitor.errors import BadInput

    with session.open() as at:
        sensor = at.store.book.sensor(name)
        spans = at.store.suspects.spans(sensor.id)
        if not spans:
            raise BadInput(f"Nothing is doubted of {name}.", "See the sensors with sensor list.")
        span = next((s for s in reversed(spans) if s.reply is None), spans[-1])
        replied = at.store.suspects.reply(span.id, Reply(answer), at.moment(when))
        if as_json:
            print_json(
                {
                    "sensor": name,
                    "doubt": replied.kind,
                    "since": iso_utc(replied.since),
                    "until": replied.until and iso_utc(replied.until),
                    "answer": answer,
                }
            )
            return
        since = said(replied.since, at.shop.zone, at.now)
        counted = _COUNTED[Reply(answer)] if replied.kind.flags else "Kept."
        say(f"{name}, {replied.kind} since {since}: {answer}. {counted}")
        if replied.kind is SuspectKind.MOVED and replied.reply is Reply.YES:
            for line in _left_behind(at, replied):
                say(line)


@sensor_command.command("ask")
@click.argument("name")
@click.option("--answer", metavar="WORD", help="The answer, without being asked.")
@json_option
@click.pass_obj
def sensor_ask(session: Session, name: str, answer: str | None, as_json: bool) -> None:
    """Ask what only you can say of its lines: °C or °F, which value is which, the decimal point.

    Each is asked once and remembered, and holds for what comes from then on.
    """
    from monitor.config import FILE
    from monitor.trust.asked import questions, settle
    from monitor.wires import is_fed

    with session.open() as at:
        sensor = at.store.book.sensor(name)
        open_ones = questions(at.store, sensor, at.now)
        if answer is None and as_json:
            print_json([_question_json(one) for one in open_ones])
            return
        if answer is None and not open_ones:
            say(f"Nothing is to be asked of {name}.")
            if is_fed(sensor.port):
                say("Its unit, times and names stand in shop.toml.")
            return
        word = _answered_here(open_ones[0]) if answer is None else answer
        told = at.shop.wires.columns_of(name)
        done = settle(at.store, at.shop.folder / FILE, told, sensor, word, at.now)
        if as_json:
            print_json({"sensor": name, "answer": word, "done": done})
        else:
            say(done)


def _answered_here(asked: "Asked") -> str:
    for line in (asked.fact, f"  {asked.line}"):
        say(line)
    for choice in asked.choices:
        say(f"  {choice.word}: {choice.says}")
    word: str = click.prompt("Which", type=click.Choice([c.word for c in asked.choices]))
    return word


def _question_json(asked: "Asked") -> dict[str, object]:
    return {
        "about": asked.about,
        "fact": asked.fact,
        "line": asked.line,
        "answers": {choice.word: choice.says for choice in asked.choices},
    }


_COUNTED = {
    Reply.YES: "It stays out of the count.",
    Reply.OVER: "From then on it counts again.",
    Reply.NO: "It counts as it was read.",
}


def _checked(at: Open, sensor: Sensor) -> list[str]:
    """How long ago its humidity was held against a salt."""
    from monitor.trust.jar import age_of

    age = age_of(at.store, sensor, at.now)
    if age is None:
        return []
    off = (age.check.read_pct or 0.0) - (age.check.true_pct or 0.0)
    when = said(age.check.checked_at, at.shop.zone, at.now)
    batches = "1 batch" if age.jobs == 1 else f"{age.jobs} batches"
    told = f"Held against salt at {when}: {off:+.1f} %. {batches} mixed beside it since."
    return [told + (f" Time to do it again: salt-jar {sensor.name}" if age.due else "")]


def _asked(at: Open, sensor: Sensor) -> list[str]:
    """What is doubted of a sensor, and what to do, a line each."""
    from monitor.alerts.doubted import asks, said_of
    from monitor.trust.asked import questions

    spans = [s for s in at.store.suspects.spans(sensor.id) if asks(s, at.now)]
    doubts = [line for s in spans for line in said_of(s, sensor, (), at.shop.zone)]
    return doubts + [
        f"{one.fact} Say which: sensor ask {sensor.name}"
        for one in questions(at.store, sensor, at.now)
    ]


def _left_behind(at: Open, span: SuspectSpan) -> list[str]:
    """How to end the stays of the parts that didn't go with the sensor."""
    return [
        f"If part {layup.number} stayed behind: "
        f"correct {entry_id(stay)} until {iso_utc(span.since)}"
        for layup in at.store.book.layups(open_only=True)
        for stay in at.store.book.stays(layup.id)
        if stay.sensor_id == span.sensor_id and stay.until is None and stay.since < span.since
    ]
