"""A desk kept from look to look answers as one made afresh, whatever happens between the looks."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from monitor.overview import Desk, Overview, overview, view
from monitor.records import (
    Channel,
    Doubt,
    Flags,
    Layup,
    MarkKind,
    Nearness,
    Reading,
    Role,
    Sensor,
)
from monitor.sheets import Shelf
from monitor.store import Store

MIXED = datetime.fromisoformat("2026-05-02T08:00:00+00:00")
STEP = timedelta(minutes=2)
SILENT = MIXED + timedelta(hours=20), MIXED + timedelta(hours=25)


@pytest.fixture
def yard(tmp_path: Path) -> Iterator["_Yard"]:
    with Store.open(tmp_path / "shop.db") as opened:
        yield _Yard(opened, tmp_path)


def _weather(begun: datetime, until: datetime) -> list[Reading]:
    """A place that warms and cools, with damp nights, a silence, and a part that lags the air."""
    found, at = [], begun
    while at < until:
        if SILENT[0] < at < SILENT[1]:
            at += STEP
            continue
        hours = (at - MIXED).total_seconds() / 3600.0
        swing = float(np.sin(hours / 24 * 2 * np.pi))
        wobble = 0.1 * float(np.sin(at.timestamp() / 7.0))
        found.append(Reading(at, 13 + 5 * swing + wobble, 78 - 15 * swing, 12 + 4 * swing))
        at += STEP
    return found


class _Yard:
    """Two parts and two sensors, with their time going on."""

    def __init__(self, store: Store, folder: Path) -> None:
        self.store = store
        self.shed = store.book.add_sensor("shed", "/dev/ttyUSB0")
        self.boat = store.book.add_sensor("boat", "/dev/ttyUSB1")
        text = Shelf(folder, demo_shop=True).text("demo-laminating")
        sheet = store.book.keep_sheet("demo-laminating", text, MIXED)
        self.parts = [self._part(number, sheet.id) for number in (1, 2)]
        self.now = MIXED - timedelta(days=1)
        self.until(MIXED)

    def _part(self, number: int, sheet_id: int) -> Layup:
        book = self.store.book
        part = book.add_layup(number, "hatch lid", sheet_id, added_at=MIXED)
        for i, role in enumerate((Role.SKIN_A, Role.SKIN_B)):
            mixed = MIXED + timedelta(hours=7 * i)
            book.add_batch(part.id, role.value, role, sheet_id, mixed, resin_g=200, catalyst_g=3)
        self._stay(part, self.shed, MIXED)
        return part

    def _stay(self, part: Layup, sensor: Sensor, since: datetime) -> None:
        self.store.book.add_stay(part.id, None, sensor.id, Channel.AIR, Nearness.BESIDE, since)

    def until(self, moment: datetime, *sensors: Sensor) -> None:
        for sensor in sensors or (self.shed, self.boat):
            self.store.readings.add(sensor.id, _weather(self.now, moment))
        self.now = moment

    def move(self) -> None:
        self._stay(self.parts[0], self.boat, self.now - timedelta(hours=2))

    def remembered_warm(self) -> None:
        seen = SILENT[0] + timedelta(hours=3)
        self.store.book.add_mark(self.parts[1].id, None, MarkKind.SEEN_WARM, seen)

    def doubt(self) -> None:
        since = self.now - timedelta(hours=30)
        sunned = Flags(temperature=Doubt.SUNNED)
        self.store.readings.add_flags(self.shed.id, since, since + timedelta(hours=4), sunned)

    def found_later(self) -> None:
        """A logger's file, of a time when the sensor was silent."""
        self.store.readings.add(
            self.shed.id,
            [
                Reading(r.at + STEP / 2, r.temperature_c, r.humidity_pct)
                for r in _weather(MIXED + timedelta(hours=3), MIXED + timedelta(hours=9))
            ],
        )

    def mixed_earlier(self) -> None:
        (batch, *_) = self.store.book.batches(self.parts[0].id)
        earlier = batch.mixed_at - timedelta(minutes=40)
        self.store.book.correct(f"batch-{batch.id}", "mixed_at", earlier, self.now)

    def ended(self) -> None:
        self.store.book.end_layup(2, self.now)

    def nothing(self) -> None:
        pass


def _alike(kept: Overview, fresh: Overview) -> None:
    assert [s.latest for s in kept.sensors] == [s.latest for s in fresh.sensors]
    assert len(kept.layups) == len(fresh.layups)
    for mine, theirs in zip(kept.layups, fresh.layups, strict=True):
        assert (mine.layup, mine.marks) == (theirs.layup, theirs.marks)
        for batch, other in zip(mine.batches, theirs.batches, strict=True):
            a, b = batch.worked.assessment, other.worked.assessment
            assert a.count.low == pytest.approx(b.count.low, abs=1e-6)
            assert [(s.verdict, s.reason) for s in a.stages] == [
                (s.verdict, s.reason) for s in b.stages
            ]
            assert (a.gaps, a.bond_line, a.readings) == (b.gaps, b.bond_line, b.readings)
            assert a.parked == b.parked
            assert a.forecast.basis == b.forecast.basis
            assert len(a.forecast.stages) == len(b.forecast.stages)
            for guess, known in zip(a.forecast.stages, b.forecast.stages, strict=True):
                assert guess.stage is known.stage
                if guess.opens.late is not None and known.opens.late is not None:
                    assert abs(guess.opens.late - known.opens.late) < timedelta(seconds=1)
            for beside, whole in zip(batch.watched, other.watched, strict=True):
                day_s = kept.at.timestamp() - 86_400.0
                mine_s = beside.readings.between(day_s, np.inf).time_s
                assert np.array_equal(mine_s, whole.readings.between(day_s, np.inf).time_s)


HAPPENINGS = (
    "nothing",
    "move",
    "remembered_warm",
    "doubt",
    "found_later",
    "mixed_earlier",
    "ended",
)


@pytest.mark.parametrize("happening", HAPPENINGS)
def test_a_kept_desk_answers_as_a_fresh_one(yard: _Yard, happening: str) -> None:
    """Days on, look after look, with one thing happening in the middle."""
    store = yard.store
    desk = Desk(store, keeps=True)
    for hours in (30, 55, 80, 80.5, 100):
        yard.until(MIXED + timedelta(hours=hours))
        _alike(overview(store, yard.now, desk), overview(store, yard.now))
        if hours == 80:
            getattr(yard, happening)()
            _alike(overview(store, yard.now, desk), overview(store, yard.now))


def test_a_silent_sensor_is_still_known(yard: _Yard) -> None:
    """One of two goes silent: its last day of readings stays at hand, the other goes on."""
    store = yard.store
    desk = Desk(store, keeps=True)
    yard.until(MIXED + timedelta(hours=90))
    overview(store, yard.now, desk)
    yard.until(MIXED + timedelta(hours=150), yard.boat)
    _alike(overview(store, yard.now, desk), overview(store, yard.now))


def test_a_look_at_an_earlier_moment(yard: _Yard) -> None:
    """The record settled later is of no use to it, and not used."""
    store = yard.store
    desk = Desk(store, keeps=True)
    yard.until(MIXED + timedelta(hours=120))
    overview(store, yard.now, desk)
    earlier = MIXED + timedelta(hours=40)
    _alike(overview(store, earlier, desk), overview(store, earlier))
    _alike(overview(store, yard.now, desk), overview(store, yard.now))


def test_little_is_held(yard: _Yard) -> None:
    """However long the parts have stood, about a day of readings is kept of each sensor."""
    store = yard.store
    desk = Desk(store, keeps=True)
    yard.until(MIXED + timedelta(days=20))
    overview(store, yard.now, desk)
    overview(store, yard.now, desk)
    assert desk._tails.held < 2 * 2000


def test_one_part_from_a_kept_desk(yard: _Yard) -> None:
    """Looked at alone it stands as it does among the others, before and after they are."""
    desk, store = Desk(yard.store, keeps=True), yard.store
    yard.until(MIXED + timedelta(hours=90))
    for _ in range(2):
        alone = [view(store, part, yard.now, desk) for part in yard.parts]
        _alike(
            Overview(yard.now, tuple(alone), ()),
            replace(overview(store, yard.now), sensors=()),
        )
        _alike(overview(store, yard.now, desk), overview(store, yard.now))
        yard.until(yard.now + timedelta(hours=10))
