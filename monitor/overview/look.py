"""Asks about one layup, or about every open one."""

import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from monitor.assess import Case, Settled, join, work
from monitor.cure.beside import StayRead
from monitor.cure.mixing import Weighed
from monitor.errors import BadInput
from monitor.overview.desk import KEPT, Desk, HangsOn
from monitor.overview.places import (
    coat_under,
    counted_on,
    covered_at,
    mine_of,
    still_soft,
)
from monitor.overview.views import BatchView, Beside, LayupView, Overview, SensorView
from monitor.records import Batch, Layup, MarkKind, Readings, Sensor, Sheet
from monitor.store import OpenLayup, Store

BEFORE_MIXING = timedelta(hours=1)
"""How far before mixing readings are loaded: the neighbour before it is at most 15 minutes off."""

_NOTHING_HEARD = Readings.empty()


def overview(store: Store, now: datetime, desk: Desk | None = None) -> Overview:
    """Every open layup as it stands at `now`."""
    desk = desk or Desk(store)
    with desk.looking:
        desk.begin()
        sensors = store.book.sensors()
        by_id = {sensor.id: sensor for sensor in sensors}
        opened = store.book.open_layups()
        views = []
        for one in opened:
            views.append(_Part(desk, one, by_id, now).view())
            desk.make_room(now)
        desk.end(now, {batch.id for one in opened for batch in one.batches})
        heard = tuple(SensorView(sensor, desk.newest.get(sensor.id)) for sensor in sensors)
    return Overview(now, tuple(views), heard)


def view(store: Store, layup: Layup, now: datetime, desk: Desk | None = None) -> LayupView:
    """One layup as it stands at `now`, with everything that was heard beside it.

    With a kept desk: what it has settled, and the last day's readings at least.
    """
    book = store.book
    one = OpenLayup(layup, book.batches(layup.id), book.stays(layup.id), book.marks(layup.id))
    sensors = {sensor.id: sensor for sensor in book.sensors()}
    desk = desk or Desk(store)
    with desk.looking:
        desk.begin()
        return _Part(desk, one, sensors, now).view()


def as_it_stood(store: Store, number: int, now: datetime) -> tuple[Layup, datetime]:
    """A layup, and the moment to show it at: an ended one as it was when it ended.

    Raises BadInput where there is none of that number.
    """
    try:
        layup = store.book.layup(number)
    except OverflowError:
        raise BadInput(
            f"There is no layup {number}.", "Look at the number on the masking tape."
        ) from None
    return layup, min(now, layup.ended_at or now)


class _Part:
    """One layup being asked about."""

    def __init__(
        self, desk: Desk, opened: OpenLayup, sensors: Mapping[int, Sensor], now: datetime
    ) -> None:
        self._desk, self._opened, self._now = desk, opened, now
        self._found: dict[object, Beside] = {}
        self._first = min((b.mixed_at - b.give_or_take for b in opened.batches), default=None)
        self._places = tuple(
            Beside(stay, sensors[stay.sensor_id], stay.since, stay.until, _NOTHING_HEARD)
            for stay in opened.stays
        )

    def view(self) -> LayupView:
        layup = self._opened.layup
        sheet = self._desk.sheet(layup.sheet_id)
        asked = [
            _Asked(batch, self._desk, self._places, self._opened) for batch in self._opened.batches
        ]
        befores = [self._desk.settled(one.batch.id, one.hangs_on, self._now) for one in asked]
        since_s = min((self._since_s(before) for before in befores), default=-math.inf)
        views: list[BatchView] = []
        for one, before in zip(asked, befores, strict=True):
            views.append(self._answered(one, before, views))
        return LayupView(
            layup,
            sheet,
            tuple(views),
            self._heard(self._places, since_s),
            self._opened.marks,
            join(tuple((f"{layup.number}/{v.batch.name}", v.worked.assessment) for v in views)),
        )

    def _answered(
        self, asked: "_Asked", before: Settled | None, done: list[BatchView]
    ) -> BatchView:
        layup, batch = self._opened.layup, asked.batch
        since_s = self._since_s(before)
        counted = self._heard(asked.counted, since_s)
        watched = self._heard(asked.watched, since_s)
        outlook, dew = self._desk.ahead(counted, self._now)
        case = Case(
            asked.sheet,
            batch.mixed_at,
            Weighed(batch.resin_g, batch.catalyst_g, batch.hardener_g),
            batch.give_or_take,
            *_reads(counted, watched, before),
            on_hull=layup.on == "hull",
            safety=layup.safety,
            waxed=batch.waxed,
            marks=tuple(m for m in self._opened.marks if m.batch_id in (None, batch.id)),
            covered_at=covered_at(batch, self._opened.batches),
            over_soft=still_soft(coat_under(batch, done), batch),
            clock_in_doubt=self._desk.clock_in_doubt,
            outlook=outlook,
            dew=dew,
            before=before,
        )
        settled = self._desk.settle(batch.id, asked.hangs_on, case, self._now)
        if settled is not None:
            rest = _reads(counted, watched, settled)
            case = replace(case, counted=rest[0], watched=rest[1], before=settled)
        worked = work(case, self._now)
        return BatchView(batch, asked.sheet, counted, watched, case, worked)

    def _since_s(self, before: Settled | None) -> float:
        """From when on readings are needed: a settled record still wants its last day's."""
        first_s = -math.inf
        if self._first is not None:
            first_s = (self._first - BEFORE_MIXING).timestamp()
        if before is None:
            return first_s
        return max(first_s, min(before.since.knot_s, (self._now - KEPT).timestamp()))

    def _heard(self, places: tuple[Beside, ...], since_s: float) -> tuple[Beside, ...]:
        return tuple(self._heard_in(place, since_s) for place in places)

    def _heard_in(self, place: Beside, since_s: float) -> Beside:
        key = place.stay.id, place.since, place.until, since_s
        if key not in self._found:
            begun_s = max(since_s, place.stay.since.timestamp())
            readings = self._desk.heard(place.stay.sensor_id, begun_s)
            end_s = math.inf if place.until is None else place.until.timestamp()
            begun_s = max(begun_s, place.since.timestamp())
            self._found[key] = replace(place, readings=readings.between(begun_s, end_s))
        return self._found[key]


class _Asked:
    """A batch, its sheet as it was kept, the places it was in, and what its record hangs on."""

    def __init__(
        self, batch: Batch, desk: Desk, places: tuple[Beside, ...], opened: OpenLayup
    ) -> None:
        self.batch = batch
        self.sheet: Sheet = desk.sheet(batch.sheet_id)
        self.watched = mine_of(batch, places)
        self.counted = counted_on(batch, self.watched)
        self.hangs_on = HangsOn(
            self.sheet,
            batch.mixed_at,
            batch.give_or_take,
            tuple(
                mark.at
                for mark in opened.marks
                if mark.kind is MarkKind.SEEN_WARM and mark.batch_id in (None, batch.id)
            ),
            tuple((beside.stay, beside.since, beside.until) for beside in self.counted),
            tuple((beside.stay, beside.since, beside.until) for beside in self.watched),
        )


def _reads(
    counted: tuple[Beside, ...], watched: tuple[Beside, ...], before: Settled | None
) -> tuple[tuple[StayRead, ...], tuple[StayRead, ...]]:
    """What a case is asked with: of what was counted and watched, only what isn't settled."""
    after_s = -math.inf if before is None else float(np.nextafter(before.since.knot_s, math.inf))
    known: dict[tuple[int, datetime, datetime | None], StayRead] = {}

    def read(beside: Beside) -> StayRead:
        key = beside.stay.id, beside.since, beside.until
        if key not in known:
            rest = beside.readings.between(after_s, math.inf)
            known[key] = StayRead(rest, beside.stay.channel, beside.stay.nearness)
        return known[key]

    return tuple(map(read, counted)), tuple(map(read, watched))
