"""Before mixing, answered for page and programs alike: what was asked, and what is told."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo
from typing import Any

from dashboards.habits import habits
from dashboards.office import Office, Typed
from monitor.answers.here import here_in, here_of
from monitor.answers.plan import Plan, Task, parse_heat, plan_for, plan_json, plan_lines
from monitor.answers.start import StartSaid, start_json, start_said
from monitor.answers.under import under
from monitor.cure.plan import Heat
from monitor.errors import BadInput
from monitor.overview import view
from monitor.records import Nearness, Readings, Role, Sensor, Sheet, Stage
from monitor.units import Unit

LOOKED_BACK = timedelta(days=2)


@dataclass(frozen=True, slots=True)
class Planned:
    """What was asked, read from a form or an address, and its answer.

    `plan` is None where no night can be planned by: then `start` alone answers, and `why_none`
    says why.
    """

    sheet: Sheet
    plan: Plan | None
    start: StartSaid
    why_none: str
    readings: Readings
    heat: Heat | None

    def lines(self, zone: tzinfo, unit: Unit) -> tuple[str, ...]:
        """As the command `plan` prints them."""
        if self.plan is not None:
            return tuple(plan_lines(self.plan, zone, unit))
        return (*self.start.lines, f"Nothing is planned ahead: {self.why_none}")

    def json(self) -> dict[str, Any]:
        """As `plan --json`."""
        if self.plan is not None:
            return plan_json(self.plan)
        start = start_json(self.start)
        return {"sheet": self.sheet.name, "start": start, "no_plan": self.why_none}


def planned(office: Office, typed: Typed, now: datetime) -> Planned:
    """A plan by sheet, stage, place and heat. Raises BadInput where nothing can be told."""
    sheet = office.shelf.load(typed.wanted("sheet", "The sheet"))
    number = typed.whole("number", "the part's number")
    role_text = typed.text("role")
    role = _role(role_text) if role_text and number is not None else None
    stage = _stage(typed.text("stage") or usual_goal(sheet, role).value)
    heat = _heat(office, typed, now)
    task = _task(office, number, role, sheet, now)
    zone, unit, readings = office.zone, office.unit, Readings.empty()
    try:
        readings = _readings(office, typed.text("sensor"), number, now)
        if task is not None and task.here.air_c is None:
            task = replace(task, here=here_in(readings, now, on_hull=task.here.on_hull))
        plan = plan_for(sheet, stage, readings, now, zone, unit, heat, Nearness.BESIDE, task)
    except BadInput as fault:
        if task is None:
            raise
        # Whether to start over what is there can be told where no night can be planned by.
        start = start_said(
            sheet, task.here, task.below, None, zone, unit, now, waxed=task.waxed
        )  # fmt: skip
        return Planned(sheet, None, start, fault.what, readings, heat)
    return Planned(sheet, plan, plan.start, "", readings, heat)


def usual_goal(sheet: Sheet, role: Role | None) -> Stage:
    """What a batch is first to reach, where nobody says: sealed for a wax coat, else flip."""
    if role is Role.WAX_COAT:
        return Stage.SEALED
    return next((s for s in (Stage.FLIP, Stage.SAND) if s in sheet.needs), Stage.FLIP)


def _task(
    office: Office, number: int | None, role: Role | None, sheet: Sheet, now: datetime
) -> Task | None:
    """What is measured at the part that the batch is for, and what lies under it."""
    if number is None or role is None:
        return None
    seen = view(office.store, office.store.book.layup(number), now)
    below = under(seen, role, sheet, office.zone, office.unit)
    return Task(here_of(seen, now), below, role is Role.WAX_COAT)


def _readings(office: Office, name: str | None, number: int | None, now: datetime) -> Readings:
    """The last two days of the place."""
    sensor = _sensor(office, name or beside(office, number, now))
    readings = office.store.readings.between(sensor.id, now - LOOKED_BACK, now)
    if len(readings) == 0:
        raise BadInput(
            f"{sensor.name} has said nothing for two days.",
            "Leave a sensor where you will work, and ask again tomorrow.",
        )
    return readings


def beside(office: Office, number: int | None, now: datetime) -> str | None:
    """The sensor that the part stands beside now."""
    if number is None:
        return None
    book = office.store.book
    stays = book.stays(book.layup(number).id)
    here = [s.sensor_id for s in stays if s.since <= now and (s.until is None or s.until > now)]
    return next((sensor.name for sensor in book.sensors() if sensor.id in here[-1:]), None)


def _heat(office: Office, typed: Typed, now: datetime) -> Heat | None:
    if not typed.ticked("heater"):
        return None
    held = typed.number("heat_held", "what the heater holds")
    at = typed.whole("heat_from", "when the heater comes on")
    hours = typed.whole("heat_hours", "how long the heater is on")
    if held is None or at is None or not hours or at > 23 or hours > 23:
        raise BadInput("The heater has no times.", "Slide to what it holds, from when, how long.")
    until = (at + hours) % 24
    text = f"{held:g} from {at:02d}:00 to {until:02d}:00"
    return parse_heat(text, now, office.zone, office.unit)


def _sensor(office: Office, name: str | None) -> Sensor:
    """The one named, else where the newest stay is, else the first."""
    if name is not None:
        return office.store.book.sensor(name)
    sensors = office.store.book.sensors()
    stay = habits(office.store).stay
    for sensor in sensors:
        if stay is None or sensor.id == stay.sensor_id:
            return sensor
    raise BadInput("There is no sensor yet.", "Plug one in where you will work.")


def _role(text: str) -> Role:
    try:
        return Role(text)
    except ValueError:
        raise BadInput(f"{text!r} is no kind of batch.", "Choose one of the list.") from None


def _stage(text: str) -> Stage:
    try:
        return Stage(text.replace("-", "_"))
    except ValueError:
        raise BadInput(f"{text!r} is no stage.", "Choose one of the list.") from None
