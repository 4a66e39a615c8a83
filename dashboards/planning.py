"""The page before mixing: can I start, until when, and what a heater would change."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from starlette.responses import Response
from starlette.routing import Route

from dashboards.drawn import Drawn, nights_drawn
from dashboards.fields import Choices, Field, choices_of
from dashboards.habits import habits
from dashboards.office import Asked, Office, Typed
from dashboards.phrases import on_page
from monitor.answers.here import here_in, here_of
from monitor.answers.plan import Plan, Task, parse_heat, plan_for, plan_lines
from monitor.answers.under import under
from monitor.answers.wording import ROLE_WORDS, STAGE_WORDS
from monitor.cure.plan import Heat, nights_like_last
from monitor.cure.trace import BAND_C
from monitor.errors import BadInput
from monitor.overview import view
from monitor.records import (
    TEMPERATURE_FLAGS,
    WINDOWS,
    Nearness,
    Readings,
    Role,
    Sensor,
    Sheet,
    Stage,
)
from monitor.units import f_from_c

LOOKED_BACK = timedelta(days=2)
HELD_C = (10, 35)


@dataclass(frozen=True, slots=True)
class Slider:
    """A range to slide along, in steps of one; `words` is what stands beside its value."""

    name: str
    label: str
    low: int
    high: int
    value: int
    words: str


@dataclass(frozen=True, slots=True)
class Planned:
    """What was asked, read from a form or an address, and its answer."""

    plan: Plan
    readings: Readings
    heat: Heat | None


def routes(office: Office) -> list[Route]:
    return [office.route("/plan", _PlanPage(office).shown)]


def planned(office: Office, typed: Typed, now: datetime) -> Planned:
    """A plan by sheet, stage, place and heat. Raises BadInput where nothing can be planned."""
    sheet = office.shelf.load(typed.wanted("sheet", "The sheet"))
    number = typed.whole("number", "the part's number")
    role_text = typed.text("role")
    role = _role(role_text) if role_text and number is not None else None
    stage = _stage(typed.text("stage") or usual_goal(sheet, role).value)
    sensor = _sensor(office, typed.text("sensor"))
    readings = office.store.readings.between(sensor.id, now - LOOKED_BACK, now)
    if len(readings) == 0:
        raise BadInput(
            f"{sensor.name} has said nothing for two days.",
            "Leave a sensor where you will work, and ask again tomorrow.",
        )
    heat = _heat(office, typed, now)
    task = _task(office, number, role, sheet, readings, now)
    plan = plan_for(
        sheet, stage, readings, now, office.zone, office.unit, heat, Nearness.BESIDE, task
    )
    return Planned(plan, readings, heat)


def usual_goal(sheet: Sheet, role: Role | None) -> Stage:
    """What a batch is first to reach, where nobody says: sealed for a wax coat, else flip."""
    if role is Role.WAX_COAT:
        return Stage.SEALED
    return next((s for s in (Stage.FLIP, Stage.SAND) if s in sheet.needs), Stage.FLIP)


def _task(
    office: Office,
    number: int | None,
    role: Role | None,
    sheet: Sheet,
    readings: Readings,
    now: datetime,
) -> Task | None:
    """What is measured at the part that the batch is for, and what lies under it."""
    if number is None or role is None:
        return None
    seen = view(office.store, office.store.book.layup(number), now)
    below = under(seen, role, sheet, office.zone, office.unit)
    here = here_of(seen, now)
    if here.air_c is None:
        here = here_in(readings, now, on_hull=here.on_hull)
    return Task(here, below, role is Role.WAX_COAT)


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


class _PlanPage:
    def __init__(self, office: Office) -> None:
        self._office = office

    def shown(self, asked: Asked) -> Response:
        fields, sliders = self._fields(asked), self._sliders(asked)
        held = {field.name: field.value for field in fields}
        held |= {slider.name: str(slider.value) for slider in sliders}
        held["heater"] = asked.query.get("heater", "")
        lines: tuple[str, ...] = ()
        drawn, trouble = None, None
        try:
            if held["sheet"]:
                told = planned(self._office, Typed(held), asked.now)
                lines = tuple(
                    on_page(line)
                    for line in plan_lines(told.plan, self._office.zone, self._office.unit)
                )
                drawn = self._drawn(told)
        except BadInput as refusal:
            trouble = BadInput(on_page(refusal.what), on_page(refusal.remedy))
        return self._office.page(
            "plan.html",
            asked.now,
            lines=lines,
            drawn=drawn,
            trouble=trouble,
            fields=fields,
            sliders=sliders,
            heater=Typed(held).ticked("heater"),
        )

    def _drawn(self, told: Planned) -> Drawn | None:
        readings, now_s = told.readings, told.plan.now.timestamp()
        keep = np.isfinite(readings.temperature_c) & ((readings.flags & TEMPERATURE_FLAGS) == 0)
        nights = nights_like_last(readings.time_s[keep], readings.temperature_c[keep], now_s)
        if nights is None:
            return None
        if told.heat is not None:
            nights = nights.heated(told.heat)
        band_c = BAND_C[Nearness.BESIDE]
        floor_c = told.plan.sheet.floor_c
        return nights_drawn(nights, band_c, floor_c, self._office.zone, self._office.unit)

    def _fields(self, asked: Asked) -> tuple[Field, ...]:
        office, given = self._office, asked.query
        last = habits(office.store)
        stems = office.shelf.for_judging()
        used = None if last.layup is None else office.store.book.kept_sheet(last.layup.sheet_id)
        usual = used.stem if used is not None and used.stem in stems else (stems or ("",))[0]
        stem = given.get("sheet", usual)
        sensors = {sensor.id: sensor.name for sensor in office.store.book.sensors()}
        beside = "" if last.stay is None else sensors[last.stay.sensor_id]
        parts = office.store.book.layups(open_only=True)
        numbers: Choices = (
            ("", "something new"),
            *((str(part.number), f"{part.number}, {part.what}") for part in parts),
        )
        roles = {role.value: ROLE_WORDS[role] for role in Role}
        return (
            Field("sheet", "Sheet", "choice", stem, choices_of(stems)),
            Field("stage", "To reach before the cold", "choice",
                  given.get("stage", self._goal(stem, given.get("role", ""))), _stages()),
            Field("sensor", "Where you will work", "choice", given.get("sensor", beside),
                  choices_of(sensors.values())),
            Field("number", "For which part", "choice", given.get("number", ""), numbers),
            Field("role", "What you will mix", "choice", given.get("role", Role.SKIN_A.value),
                  choices_of(roles, roles)),
        )  # fmt: skip

    def _goal(self, stem: str, role: str) -> str:
        try:
            sheet = self._office.shelf.look(stem)
        except BadInput:
            return Stage.FLIP.value
        return usual_goal(sheet, Role.WAX_COAT if role == Role.WAX_COAT.value else None).value

    def _sliders(self, asked: Asked) -> tuple[Slider, ...]:
        fahrenheit = self._office.unit == "f"
        low, high, usual = (round(f_from_c(c)) if fahrenheit else c for c in (*HELD_C, 20))
        degrees = f"°{self._office.unit.upper()}"

        def value(name: str, otherwise: int, least: int, most: int) -> int:
            text = asked.query.get(name, "")
            told = int(text) if text.isascii() and text.isdigit() and len(text) < 4 else otherwise
            return min(max(told, least), most)

        return (
            Slider("heat_held", "It holds", low, high,
                   value("heat_held", usual, low, high), degrees),
            Slider("heat_from", "From", 0, 23, value("heat_from", 18, 0, 23), ":00"),
            Slider("heat_hours", "For", 1, 16, value("heat_hours", 6, 1, 16), " h"),
        )  # fmt: skip


def _stages() -> Choices:
    return tuple(
        (stage.value, STAGE_WORDS[stage])
        for stage in Stage
        if stage is not Stage.GEL and stage not in WINDOWS
    )


__all__ = ["Planned", "planned", "routes", "usual_goal"]
