"""The page before mixing: can I start, until when, and what a heater would change."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from starlette.responses import Response
from starlette.routing import Route

from dashboards.drawn import Drawn, nights_drawn
from dashboards.fields import Choices, Field, choices_of
from dashboards.habits import habits, next_role
from dashboards.office import Asked, Office, Typed
from dashboards.phrases import on_page
from dashboards.planned import Planned, beside, planned, usual_goal
from monitor.answers.wording import ROLE_WORDS, STAGE_WORDS
from monitor.cure.plan import nights_like_last
from monitor.cure.trace import BAND_C
from monitor.errors import BadInput
from monitor.records import TEMPERATURE_FLAGS, WINDOWS, Nearness, Role, Stage
from monitor.units import f_from_c

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


def routes(office: Office) -> list[Route]:
    return [office.route("/plan", _PlanPage(office).shown)]


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
                said = told.lines(self._office.zone, self._office.unit)
                lines = tuple(on_page(line) for line in said)
                drawn = self._drawn(told, asked.now)
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

    def _drawn(self, told: Planned, now: datetime) -> Drawn | None:
        readings, now_s = told.readings, now.timestamp()
        keep = np.isfinite(readings.temperature_c) & ((readings.flags & TEMPERATURE_FLAGS) == 0)
        nights = nights_like_last(readings.time_s[keep], readings.temperature_c[keep], now_s)
        if nights is None:
            return None
        if told.heat is not None:
            nights = nights.heated(told.heat)
        band_c = BAND_C[Nearness.BESIDE]
        floor_c = told.sheet.floor_c
        return nights_drawn(nights, band_c, floor_c, self._office.zone, self._office.unit)

    def _fields(self, asked: Asked) -> tuple[Field, ...]:
        office, given = self._office, asked.query
        last = habits(office.store)
        stems = office.shelf.for_judging()
        parts = office.store.book.layups(open_only=True)
        part = next((p for p in parts if str(p.number) == given.get("number")), None)
        like = part or last.layup
        used = None if like is None else office.store.book.kept_sheet(like.sheet_id)
        usual = used.stem if used is not None and used.stem in stems else (stems or ("",))[0]
        stem = given.get("sheet", usual)
        sensors = {sensor.id: sensor.name for sensor in office.store.book.sensors()}
        place = None if part is None else beside(office, part.number, asked.now)
        if place is None:
            place = "" if last.stay is None else sensors[last.stay.sensor_id]
        role = Role.SKIN_A if part is None else next_role(office.store.book.batches(part.id))
        numbers: Choices = (
            ("", "something new"),
            *((str(part.number), f"{part.number}, {part.what}") for part in parts),
        )
        roles = {role.value: ROLE_WORDS[role] for role in Role}
        return (
            Field("sheet", "Sheet", "choice", stem, choices_of(stems)),
            Field("stage", "To reach before the cold", "choice",
                  given.get("stage", self._goal(stem, given.get("role", role.value))), _stages()),
            Field("sensor", "Where you will work", "choice", given.get("sensor", place),
                  choices_of(sensors.values())),
            Field("number", "For which part", "choice", given.get("number", ""), numbers),
            Field("role", "What you will mix", "choice", given.get("role", role.value),
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
