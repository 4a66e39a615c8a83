"""The page of earlier cups: what one's own did, by resin and by how warm it was."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from starlette.responses import Response
from starlette.routing import Route

from dashboards.fields import Field, choices_of
from dashboards.habits import habits
from dashboards.office import Asked, Office
from monitor.answers.past import PastJob, past_lines
from monitor.records import Sheet
from monitor.units import Unit, temperature_said

STEP_C = 3.0
"""Cups this close in warmth stand together. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Warmth:
    """The cups of one range of warmth: what they come to together, and each by itself."""

    heading: str
    together: tuple[str, ...]
    each: tuple[str, ...]


def routes(office: Office) -> list[Route]:
    return [office.route("/history", _History(office).shown)]


def warmths(office: Office, stem: str, now: datetime) -> tuple[Warmth, ...]:
    """Earlier cups by that sheet, coldest first."""
    sheet = office.shelf.look(stem)
    jobs = office.past.of(stem, now)
    return tuple(_warmths(office, jobs, sheet, now))


def _warmths(
    office: Office, jobs: Sequence[PastJob], sheet: Sheet, now: datetime
) -> Iterator[Warmth]:
    steps: dict[int | None, list[PastJob]] = {}
    for job in jobs:
        warm = job.temperature_c
        steps.setdefault(None if warm is None else math.floor(warm / STEP_C), []).append(job)
    for step in sorted(steps, key=lambda s: math.inf if s is None else s):
        alike = steps[step]
        told = past_lines(alike, sheet, None, office.zone, office.unit, now)
        raw = [
            line.removeprefix("Once before: ")
            for job in alike
            for line in past_lines([job], sheet, None, office.zone, office.unit, now)
        ]
        yield Warmth(_heading(step, office.unit), tuple(told) if len(alike) > 1 else (), tuple(raw))


def _heading(step: int | None, unit: Unit) -> str:
    if step is None:
        return "Not measured"
    low, high = step * STEP_C, (step + 1) * STEP_C
    return f"{temperature_said(low, unit)} to {temperature_said(high, unit)}"


class _History:
    def __init__(self, office: Office) -> None:
        self._office = office

    def shown(self, asked: Asked) -> Response:
        office = self._office
        last = habits(office.store).layup
        used = None if last is None else office.store.book.kept_sheet(last.sheet_id).stem
        stems = office.shelf.stems()
        stem = asked.query.get("sheet") or (used if used in stems else stems[0])
        field = Field("sheet", "Sheet", "choice", stem, choices_of(stems))
        return office.page(
            "history.html", asked.now, field=field, warmths=warmths(office, stem, asked.now)
        )
