"""Suspect spans in the store: found as time goes on, answered, and put on the readings."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from monitor.alerts.doubted import RULE
from monitor.alerts.rules import Telling
from monitor.daemon import Daemon
from monitor.logbook import parse_address
from monitor.records import Assessment, Flags, MarkKind, Reading, Reply, Stage, SuspectKind, Verdict
from monitor.sensing.line_reader import LineReader
from monitor.times import zone_named
from monitor.trust.watch import Heard, look_over, look_over_all
from monitor.writer import Writer
from tests.scenarios import COUNT_TOLERANCE, at, near, series, story
from tests.scenarios.shop import ShopAtHand, open_demo_shop

JOB = story("A5")
SUNNED = SuspectKind.SUNNED.flags


def hear(shop: ShopAtHand, until: str, since: str = "2026-05-02T09:00:00Z") -> None:
    readings = series("A5read")
    shop.hear("shed", readings.between(at(since).timestamp(), at(until).timestamp()))


def rudder(shop: ShopAtHand) -> None:
    mixed = at(JOB["mixed_at"])
    shop.lay_up(1, "P1", mixed)
    shop.put("1", "shed", mixed)


def look(shop: ShopAtHand, now: str) -> list[SuspectKind]:
    sensor = shop.store.book.sensor("shed")
    return [span.kind for span in look_over(shop.store, sensor, at(now))]


def flagged(shop: ShopAtHand) -> tuple[datetime | None, datetime | None, int]:
    """First and last sunned reading, and how many there are."""
    sensor = shop.store.book.sensor("shed")
    readings = shop.store.readings.between(sensor.id, None, None)
    times = readings.time_s[(readings.flags & SUNNED.packed()) == SUNNED.packed()]
    if not times.size:
        return None, None, 0
    first, last = (datetime.fromtimestamp(t, at(JOB["mixed_at"]).tzinfo) for t in times[[0, -1]])
    return first, last, int(times.size)


def answer(shop: ShopAtHand, now: str) -> Assessment:
    return shop.look(1, at(now)).batches[0].worked.assessment


def test_the_suns_span_grows_and_ends(shop: ShopAtHand) -> None:
    """New once; open while it lasts; at the end the first cool reading is good again."""
    hear(shop, "2026-05-02T10:50:00Z")
    assert look(shop, "2026-05-02T10:50:00Z") == [SuspectKind.SUNNED]
    assert look(shop, "2026-05-02T10:50:30Z") == []
    assert flagged(shop) == (at("2026-05-02T10:41Z"), at("2026-05-02T10:50Z"), 10)
    hear(shop, "2026-05-02T13:59:00Z", "2026-05-02T10:51:00Z")
    assert look(shop, "2026-05-02T13:59:00Z") == []
    assert shop.store.suspects.spans()[0].until is None
    hear(shop, "2026-05-02T14:05:00Z", "2026-05-02T14:00:00Z")
    look(shop, "2026-05-02T14:05:00Z")
    assert flagged(shop) == (at("2026-05-02T10:41Z"), at("2026-05-02T13:59Z"), 199)
    (span,) = shop.store.suspects.spans()
    assert (span.since, span.until) == tuple(at(t) for t in JOB["expected"]["suspect"])


def test_the_rollups_follow(shop: ShopAtHand) -> None:
    """What was doubted later leaves the hours' means, and comes back with the answer."""
    hear(shop, "2026-05-02T14:05:00Z")
    sensor = shop.store.book.sensor("shed")
    look(shop, "2026-05-02T14:05:00Z")
    noon = at("2026-05-02T12:00Z"), at("2026-05-02T12:59Z")
    (n,) = shop.store.readings.rollups(sensor.id, *noon, "hour").temperature_c.n
    assert n == 0
    (span,) = shop.store.suspects.spans()
    shop.store.suspects.reply(span.id, Reply.NO, at("2026-05-02T14:06Z"))
    (n,) = shop.store.readings.rollups(sensor.id, *noon, "hour").temperature_c.n
    assert n == 60


def test_the_rudder_in_the_sun(shop: ShopAtHand) -> None:
    """Flip isn't announced in the sun; flip and sand come when the count without it says so."""
    hear(shop, "2026-05-02T12:30:00Z")
    rudder(shop)
    look(shop, "2026-05-02T12:30:00Z")
    assert answer(shop, "2026-05-02T12:30:00Z").stage(Stage.FLIP).verdict is not Verdict.READY
    hear(shop, "2026-05-03T10:00:00Z", "2026-05-02T12:31:00Z")
    look(shop, "2026-05-02T15:00:00Z")
    a = answer(shop, "2026-05-02T14:00:00Z")
    low, middle, high = JOB["expected"]["count_at"]["2026-05-02T14:00:00Z"]
    assert a.count.low == pytest.approx(low, abs=COUNT_TOLERANCE)
    assert a.count.middle == pytest.approx(middle, abs=COUNT_TOLERANCE)
    assert a.count.high == pytest.approx(high, abs=COUNT_TOLERANCE)
    (gap,) = [gap for gap in a.gaps if gap.why == "suspect"]
    assert [gap.start, gap.end] == [at(t) for t in JOB["expected"]["suspect"]]
    a = answer(shop, "2026-05-03T10:00:00Z")
    assert near(a.stage(Stage.FLIP).opens.late, JOB["expected"]["flip_late"])
    assert near(a.stage(Stage.SAND).opens.late, JOB["expected"]["sand"]["late"])


def test_a_person_says_it_was_true(shop: ShopAtHand) -> None:
    """The flags go, and the next look doesn't bring them back."""
    hear(shop, "2026-05-02T14:05:00Z")
    look(shop, "2026-05-02T14:05:00Z")
    (span,) = shop.store.suspects.spans()
    shop.store.suspects.reply(span.id, Reply.NO, at("2026-05-02T14:05Z"))
    assert look(shop, "2026-05-02T14:05:30Z") == []
    assert flagged(shop) == (None, None, 0)


def test_a_person_shaded_it(shop: ShopAtHand) -> None:
    """From that moment on it counts, whatever it reads."""
    hear(shop, "2026-05-02T12:00:00Z")
    look(shop, "2026-05-02T12:00:00Z")
    (span,) = shop.store.suspects.spans()
    shop.store.suspects.reply(span.id, Reply.OVER, at("2026-05-02T11:30Z"))
    look(shop, "2026-05-02T12:00:30Z")
    assert flagged(shop)[1] == at("2026-05-02T11:29Z")


def test_a_heater_that_is_marked_late_takes_the_doubt_back(shop: ShopAtHand) -> None:
    """It was warm; nobody had said why."""
    hear(shop, "2026-05-02T11:00:00Z")
    rudder(shop)
    assert look(shop, "2026-05-02T11:00:00Z") == [SuspectKind.SUNNED]
    shop.book.add_mark(
        parse_address("1"),
        MarkKind.HEATER_ON,
        at=at("2026-05-02T10:38Z"),
        note=None,
        now=at("2026-05-02T11:00Z"),
    )
    assert look(shop, "2026-05-02T11:00:30Z") == []
    assert flagged(shop) == (None, None, 0)
    assert shop.store.suspects.spans() == ()


def test_doubts_of_the_first_check_stay(shop: ShopAtHand) -> None:
    """Taking the sun back leaves a spike a spike."""
    readings = series("A5read").between(0.0, at("2026-05-02T11:00:00Z").timestamp())
    spike = Flags.from_text("temperature:spike")
    readings.flags[len(readings) - 3] = spike.packed()
    shop.hear("shed", readings)
    sensor = shop.store.book.sensor("shed")
    look(shop, "2026-05-02T11:00:00Z")
    (span,) = shop.store.suspects.spans()
    shop.store.suspects.reply(span.id, Reply.NO, at("2026-05-02T11:00Z"))
    after = shop.store.readings.between(sensor.id, None, None).flags
    assert [int(bits) for bits in after if bits] == [spike.packed()]


def test_the_daemon_asks_about_the_sun_once(shop: ShopAtHand) -> None:
    """An alert for the part beside it, gone when the sensor is back in the shade."""
    hear(shop, "2026-05-02T10:56:00Z")
    rudder(shop)
    moment = [at("2026-05-02T10:56:00Z")]
    telling = Telling(zone_named("UTC"), "c")
    daemon = Daemon(shop.store, telling, clock=lambda: moment[0], channels=())
    daemon.look()
    daemon.look()
    (alert,) = [a for a in shop.store.alerts.open() if a.rule == RULE]
    assert (alert.parts, alert.began_at) == ((1,), at("2026-05-02T10:40Z"))
    assert "in the sun" in alert.fact
    assert "Is the part in the sun too?" in alert.action
    hear(shop, "2026-05-02T14:10:00Z", "2026-05-02T10:57:00Z")
    moment[0] = at("2026-05-02T14:10:00Z")
    daemon.look()
    assert [a for a in shop.store.alerts.open() if a.rule == RULE] == []


@pytest.mark.parametrize(
    ("reply", "doubted"),
    [(None, True), (Reply.YES, True), (Reply.OVER, False), (Reply.NO, False)],
)
def test_a_doubt_that_lasts_is_on_a_reading_from_the_first(
    shop: ShopAtHand, reply: Reply | None, doubted: bool
) -> None:
    """Between two looks no hot reading counts; after the answer it does, or doesn't."""
    hear(shop, "2026-05-02T12:00:00Z")
    look(shop, "2026-05-02T12:00:00Z")
    (span,) = shop.store.suspects.spans()
    if reply is not None:
        shop.store.suspects.reply(span.id, reply, at("2026-05-02T12:00Z"))
    sensor = shop.store.book.sensor("shed")
    writer = Writer(shop.store)
    writer.put(sensor.id, Reading(at("2026-05-02T12:00:10Z"), 37.5, 21.0))
    writer.start()
    writer.stop()
    latest = shop.store.readings.latest(sensor.id)
    assert latest is not None
    assert latest.flags == (SUNNED if doubted else Flags())


def test_a_doubted_sensor_that_speaks_is_not_called_silent(shop: ShopAtHand) -> None:
    """Once the cable goes too, it is."""
    hear(shop, "2026-05-02T12:00:00Z")
    rudder(shop)
    moment = [at("2026-05-02T12:00:00Z")]
    telling = Telling(zone_named("UTC"), "c")
    daemon = Daemon(shop.store, telling, clock=lambda: moment[0], channels=())
    daemon.look()
    assert [alert.rule for alert in shop.store.alerts.open()] == [RULE]
    moment[0] = at("2026-05-02T12:20:00Z")
    daemon.look()
    assert {alert.rule for alert in shop.store.alerts.open()} == {RULE, "silent-sensor"}


def test_a_stuck_humidity_found_by_itself_withholds_dew_and_counts_on(shop: ShopAtHand) -> None:
    """No damp is claimed while it is stuck, and every degree counts."""
    shop.hear("shed", series("A17"))
    mixed = at("2026-05-02T06:00:00Z")
    shop.lay_up(1, "P1", mixed)
    shop.put("1", "shed", mixed)
    assert look(shop, "2026-05-02T12:00:00Z") == [SuspectKind.STUCK_WET]
    a = answer(shop, "2026-05-02T12:00:00Z")
    assert a.bond_line.voided_by == ()
    assert a.count.middle == pytest.approx(6 * (16.0 - 5.0), abs=COUNT_TOLERANCE)


def test_a_board_that_woke_in_the_year_2000(shop: ShopAtHand) -> None:
    """Its readings are filed by when they arrived and count; told once, quietly, until it stops."""
    sensor = shop.store.book.add_sensor("shed", "/dev/shed")
    reader, told = LineReader(unit="c"), []
    now = at("2026-05-02T12:00:00Z")
    for minute in range(20):
        moment = now + timedelta(minutes=minute)
        line = f"2000-01-01 00:{minute:02d}:07,18.4,{60 + minute / 10}"
        shop.store.readings.add(
            sensor.id, [h.reading for h in reader.read(line, moment) if h.reading is not None]
        )
        told += [span.kind for span in look_over(shop.store, sensor, moment)]
    assert told == [SuspectKind.BOARD_CLOCK]
    got = shop.store.readings.between(sensor.id, None, None)
    assert got.time_s[0] == now.timestamp()
    assert len(got) == 20
    assert not got.flags.any()
    assert shop.store.readings.raw_lines(sensor.id, 1)[0].startswith("2000-01-01 00:19:07")


def test_a_doubt_of_days_is_not_read_from_its_start(shop: ShopAtHand) -> None:
    """A look reaches back a day and a half at most, and an old doubt then ends with it."""
    hear(shop, "2026-05-02T11:00:00Z")
    look(shop, "2026-05-02T11:00:00Z")
    later = at("2026-05-02T11:00:00Z") + timedelta(days=3)
    look_over(shop.store, shop.store.book.sensor("shed"), later)
    (span,) = shop.store.suspects.spans()
    assert span.until == later


def test_a_watch_that_keeps_what_it_heard_finds_the_same(shop: ShopAtHand, tmp_path: Path) -> None:
    """Beside one that reads all of it anew at each look, through a sunny day."""
    fresh = open_demo_shop(tmp_path / "fresh")
    shops, heard = (shop, fresh), Heard(shop.store)
    for each in shops:
        for name in ("boat", "shed", "twin"):
            each.store.book.add_sensor(name, f"/dev/{name}")
    readings, last = series("A5read"), at("2026-05-02T08:00:00Z")
    for minutes in range(60, 600, 20):
        now = at("2026-05-02T08:00:00Z") + timedelta(minutes=minutes)
        new = readings.between(last.timestamp() + 1.0, now.timestamp())
        for each in shops:
            each.hear("shed", new)
            each.hear("twin", new)
            if minutes == 300:
                late = Reading(last - timedelta(seconds=31), 40.0, 20.0)
                each.store.readings.add(each.store.book.sensor("shed").id, [late])
        look_over_all(shop.store, now, heard)
        look_over_all(fresh.store, now)
        last = now
    kinds = {span.kind for span in shop.store.suspects.spans()}
    assert {SuspectKind.SUNNED, SuspectKind.SAME_STREAM} <= kinds
    assert shop.store.suspects.spans() == fresh.store.suspects.spans()
    for name in ("shed", "twin"):
        one, other = (
            each.store.readings.between(each.store.book.sensor(name).id, None, None)
            for each in shops
        )
        assert one.flags.tolist() == other.flags.tolist()
    fresh.store.close()
