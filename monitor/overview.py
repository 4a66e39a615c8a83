"""Loads what `assess` needs from the store, for one layup or for every open one."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache

from monitor.air import dew_point_c
from monitor.assess import Case, Joint, Worked, join, work
from monitor.cure.beside import StayRead
from monitor.cure.dew import dew_course
from monitor.cure.mixing import Weighed
from monitor.cure.outlook import DAYS_BACK, Course, NoOutlook, Outlook, outlook
from monitor.records import (
    Batch,
    Channel,
    Layup,
    Mark,
    Reading,
    Readings,
    Role,
    Sensor,
    Sheet,
    Stage,
    Stay,
)
from monitor.sheets import parse_sheet
from monitor.store import Store

BEFORE_MIXING = timedelta(hours=1)
"""How far before mixing readings are loaded: the neighbour before it is at most 15 minutes off."""


@dataclass(frozen=True, slots=True)
class Beside:
    """A stay for as long as it counts: from `since` to `until` (None: still)."""

    stay: Stay
    sensor: Sensor
    since: datetime
    until: datetime | None
    readings: Readings


@dataclass(frozen=True, slots=True)
class BatchView:
    """One batch, its sheet as it was kept, where it stood, and its answer."""

    batch: Batch
    sheet: Sheet
    counted: tuple[Beside, ...]
    watched: tuple[Beside, ...]
    case: Case
    worked: Worked


@dataclass(frozen=True, slots=True)
class LayupView:
    layup: Layup
    sheet: Sheet
    batches: tuple[BatchView, ...]
    stays: tuple[Beside, ...]
    marks: tuple[Mark, ...]
    joint: Joint | None


@dataclass(frozen=True, slots=True)
class SensorView:
    """A sensor and the newest thing it said, good or bad."""

    sensor: Sensor
    latest: Reading | None


@dataclass(frozen=True, slots=True)
class Overview:
    """Every open layup and every sensor at one moment."""

    at: datetime
    layups: tuple[LayupView, ...]
    sensors: tuple[SensorView, ...]


def overview(store: Store, now: datetime) -> Overview:
    """Every open layup as it stands at `now`."""
    sensors = tuple(
        SensorView(sensor, store.readings.latest(sensor.id)) for sensor in store.book.sensors()
    )
    desk = Desk(store)
    layups = tuple(view(store, layup, now, desk) for layup in store.book.layups(open_only=True))
    return Overview(now, layups, sensors)


Ahead = tuple[Outlook | NoOutlook | None, Course | NoOutlook | None]
"""The temperatures and the dew points to come at one channel."""


class Desk:
    """What is fetched once for all the layups looked at together: readings, and what's ahead."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._known: dict[tuple[int, Channel], Ahead] = {}
        self._heard: dict[int, tuple[datetime, Readings]] = {}

    def heard(self, sensor_id: int, since: datetime, until: datetime | None) -> Readings:
        """A sensor's readings; those fetched for one layup serve the next."""
        begun, readings = self._heard.get(sensor_id, (None, Readings.empty()))
        if begun is None or since < begun:
            readings = self._store.readings.between(sensor_id, since, None)
            self._heard[sensor_id] = since, readings
        return _clipped(readings, since, until)

    def ahead(self, counted: tuple[Beside, ...], now: datetime) -> Ahead:
        """From the place it stands at now; nothing where it stands nowhere."""
        here = [b for b in counted if b.since <= now and (b.until is None or b.until > now)]
        if not here:
            return None, None
        stay = here[-1].stay
        key = (stay.sensor_id, stay.channel)
        if key not in self._known:
            self._known[key] = self._look(*key, now)
        return self._known[key]

    def _look(self, sensor_id: int, channel: Channel, now: datetime) -> Ahead:
        """From the minutes' means of the last two weeks, each at the middle of its minute."""
        since = now - timedelta(days=DAYS_BACK)
        minutes = self._store.readings.rollups(sensor_id, since, now, "minute")
        middle_s = minutes.time_s + minutes.step_s / 2.0
        rolled = minutes.surface_c if channel is Channel.SURFACE else minutes.temperature_c
        known = rolled.n > 0
        now_s = now.timestamp()
        both = (minutes.temperature_c.n > 0) & (minutes.humidity_pct.n > 0)
        dew_c = dew_point_c(minutes.temperature_c.mean[both], minutes.humidity_pct.mean[both])
        return (
            outlook(middle_s[known], rolled.mean[known], now_s),
            dew_course(middle_s[both], dew_c, now_s),
        )


def view(store: Store, layup: Layup, now: datetime, desk: Desk | None = None) -> LayupView:
    """One layup as it stands at `now`."""
    desk = desk or Desk(store)
    batches = store.book.batches(layup.id)
    stays = store.book.stays(layup.id)
    sensors = {sensor.id: sensor for sensor in store.book.sensors()}
    first = min((b.mixed_at - b.give_or_take for b in batches), default=None)
    besides = tuple(_beside(desk, stay, sensors[stay.sensor_id], first) for stay in stays)
    sheets: dict[int, Sheet] = {}
    for sheet_id in {layup.sheet_id, *(batch.sheet_id for batch in batches)}:
        kept = store.book.kept_sheet(sheet_id)
        sheets[sheet_id] = _parsed(kept.text, f"{kept.stem}.toml as kept")
    marks = store.book.marks(layup.id)
    views: list[BatchView] = []
    for batch in batches:
        under = _coat_under(batch, views)
        mine = _mine(batch, besides)
        outlook_here, dew_here = desk.ahead(counted_on(batch, mine), now)
        case = replace(
            _case(layup, batch, sheets[batch.sheet_id], besides, marks),
            covered_at=_covered_at(batch, batches),
            over_soft=_still_soft(under, batch),
            outlook=outlook_here,
            dew=dew_here,
        )
        worked = work(case, now)
        views.append(BatchView(batch, case.sheet, counted_on(batch, mine), mine, case, worked))
    return LayupView(
        layup,
        sheets[layup.sheet_id],
        tuple(views),
        besides,
        marks,
        join(tuple((f"{layup.number}/{v.batch.name}", v.worked.assessment) for v in views)),
    )


@lru_cache(maxsize=256)
def _parsed(text: str, where: str) -> Sheet:
    return parse_sheet(text, where)


def _beside(desk: Desk, stay: Stay, sensor: Sensor, first_mixed: datetime | None) -> Beside:
    since = stay.since
    if first_mixed is not None:
        since = max(since, first_mixed - BEFORE_MIXING)
    readings = desk.heard(sensor.id, since, stay.until)
    return Beside(stay, sensor, stay.since, stay.until, readings)


COATS = (Role.PLAIN_COAT, Role.WAX_COAT)


def _covered_at(batch: Batch, batches: tuple[Batch, ...]) -> datetime | None:
    """When the next coat went over this one."""
    if batch.role not in COATS:
        return None
    later = (b.mixed_at for b in batches if b.role in COATS and b.mixed_at > batch.mixed_at)
    return min(later, default=None)


def _coat_under(batch: Batch, worked: list[BatchView]) -> BatchView | None:
    if batch.role not in COATS:
        return None
    coats = [v for v in worked if v.batch.role in COATS and v.batch.mixed_at < batch.mixed_at]
    return coats[-1] if coats else None


def _still_soft(under: BatchView | None, batch: Batch) -> bool:
    """Whether the coat under it had not opened for another when this one was mixed."""
    if under is None:
        return False
    recoat = under.worked.assessment.stage(Stage.RECOAT)
    if recoat.needs is None or under.batch.waxed:
        return False
    opened = recoat.opens.late
    return opened is None or opened > batch.mixed_at


def _mine(batch: Batch, besides: tuple[Beside, ...]) -> tuple[Beside, ...]:
    return tuple(b for b in besides if b.stay.batch_id in (None, batch.id))


def _case(
    layup: Layup,
    batch: Batch,
    sheet: Sheet,
    besides: tuple[Beside, ...],
    marks: tuple[Mark, ...],
) -> Case:
    mine = _mine(batch, besides)
    return Case(
        sheet,
        batch.mixed_at,
        Weighed(batch.resin_g, batch.catalyst_g, batch.hardener_g),
        batch.give_or_take,
        counted=tuple(_read(beside) for beside in counted_on(batch, mine)),
        watched=tuple(_read(beside) for beside in mine),
        on_hull=layup.on == "hull",
        safety=layup.safety,
        waxed=batch.waxed,
        marks=tuple(mark for mark in marks if mark.batch_id in (None, batch.id)),
    )


def counted_on(batch: Batch, mine: tuple[Beside, ...]) -> tuple[Beside, ...]:
    """The stays a batch counts on: one channel, its own stays before its layup's, none at once.

    The channel is the one the batch names; else that of its own newest stay; else the air, where
    there is an air stay.
    """
    own = [beside for beside in mine if beside.stay.batch_id == batch.id]
    channel = batch.counts_on or _likely_channel(own, mine)
    chosen = [beside for beside in own if beside.stay.channel is channel]
    spans = [(beside.since, beside.until) for beside in chosen]
    for beside in mine:
        if beside.stay.batch_id is None and beside.stay.channel is channel:
            chosen += _outside(beside, spans)
    return tuple(sorted(chosen, key=lambda beside: beside.since))


def _likely_channel(own: list[Beside], mine: tuple[Beside, ...]) -> Channel:
    if own:
        return max(own, key=lambda beside: beside.since).stay.channel
    air = any(beside.stay.channel is Channel.AIR for beside in mine)
    return Channel.AIR if air or not mine else Channel.SURFACE


def _outside(beside: Beside, spans: list[tuple[datetime, datetime | None]]) -> list[Beside]:
    """What is left of a stay around the spans of stays that stand before it."""
    rest = [(beside.since, beside.until)]
    for start, end in spans:
        cut: list[tuple[datetime, datetime | None]] = []
        for since, until in rest:
            if (until is not None and until <= start) or (end is not None and end <= since):
                cut.append((since, until))
                continue
            if since < start:
                cut.append((since, start))
            if end is not None and (until is None or end < until):
                cut.append((end, until))
        rest = cut
    return [
        Beside(beside.stay, beside.sensor, since, until, _clipped(beside.readings, since, until))
        for since, until in rest
    ]


def _clipped(readings: Readings, since: datetime, until: datetime | None) -> Readings:
    end_s = float("inf") if until is None else until.timestamp()
    return readings.between(since.timestamp(), end_s)


def _read(beside: Beside) -> StayRead:
    return StayRead(beside.readings, beside.stay.channel, beside.stay.nearness)
