"""Which readings a batch counts on, where a part has several stays."""

from datetime import timedelta

import pytest

from monitor.records import Channel, Nearness, Stage
from tests.scenarios import at, columns
from tests.scenarios.shop import ShopAtHand

START = at("2026-05-02T08:00:00Z")


def steady(shop: ShopAtHand, sensor: str, temperature_c: float, hours: float = 10.0) -> None:
    times = [START.timestamp() + 60.0 * i for i in range(round(hours * 60) + 1)]
    readings = columns(times, [temperature_c] * len(times))
    shop.hear(sensor, readings)


def middle(shop: ShopAtHand, hours: float, batch: str = "skin-a") -> float:
    seen = shop.look(1, START + timedelta(hours=hours))
    view = next(b for b in seen.batches if b.batch.name == batch)
    count = view.worked.assessment.count.middle
    assert count is not None
    return count


def test_a_probe_of_one_batch_and_a_sensor_in_the_air(shop: ShopAtHand) -> None:
    """A batch with a stay of its own counts on it; its neighbour counts on the layup's."""
    steady(shop, "shed", 20.0)
    steady(shop, "bead", 30.0)
    shop.lay_up(1, "P1", START)
    shop.mix("1/fillet", "P1", START)
    shop.put("1", "shed", START)
    shop.put("1/fillet", "bead", START, nearness=Nearness.PROBE)
    assert middle(shop, 2.0) == pytest.approx(30.0)
    assert middle(shop, 2.0, "fillet") == pytest.approx(50.0)


def test_before_and_after_its_own_stay_the_layups_counts(shop: ShopAtHand) -> None:
    """A probe that was in for an hour leaves the rest to the sensor in the air."""
    steady(shop, "shed", 20.0)
    steady(shop, "bead", 30.0)
    shop.lay_up(1, "P1", START)
    shop.put("1", "shed", START)
    hour = timedelta(hours=1)
    shop.put("1/skin-a", "bead", START + hour, START + 2 * hour, now=START + 2 * hour)
    # Between stays a reading apart in time is joined by a line: half an hour of 25 °C at most.
    assert middle(shop, 4.0) == pytest.approx(3 * 15.0 + 25.0, abs=0.5)
    seen = shop.look(1, START + 4 * hour)
    assert [b.sensor.name for b in seen.batches[0].counted] == ["shed", "bead", "shed"]


def test_a_batch_names_the_channel_it_counts_on(shop: ShopAtHand) -> None:
    """With air and surface beside it, the air counts unless the batch says otherwise."""
    times = [START.timestamp() + 60.0 * i for i in range(181)]
    readings = columns(times, [20.0] * len(times))
    readings = type(readings)(
        readings.time_s,
        readings.temperature_c,
        readings.humidity_pct,
        readings.temperature_c - 4.0,
        readings.flags,
    )
    shop.hear("hull", readings)
    shop.lay_up(1, "P1", START)
    shop.put("1", "hull", START)
    shop.put("1", "hull", START, channel=Channel.SURFACE)
    assert middle(shop, 2.0) == pytest.approx(30.0)
    shop.book.correct("batch-1", "counts_on", Channel.SURFACE, START)
    assert middle(shop, 2.0) == pytest.approx(22.0)
    seen = shop.look(1, START + timedelta(hours=2))
    assert seen.batches[0].worked.assessment.band_c == 0.5, "a probe is nearer than the air"


def test_a_batch_keeps_the_sheet_it_was_judged_by(shop: ShopAtHand) -> None:
    """A sheet changed afterwards does not change what was logged; a correction does, visibly."""
    steady(shop, "shed", 20.0, 20)
    own = shop.shop.folder / "sheets" / "mine.toml"
    text = 'name = "Mine"\nkind = "polyester"\n[count]\nbase_c = 5\n[stages]\nsand = 100\n'
    own.write_text(text, encoding="utf-8")
    shop.book.add_layup(1, "lid", "mine", on=None, safety=False, now=START)
    shop.mix("1/skin-a", "P1", START)
    shop.put("1", "shed", START)
    shop.book.correct("batch-1", "sheet", "mine", START)
    own.write_text(text.replace("100", "900"), encoding="utf-8")
    seen = shop.look(1, START + timedelta(hours=8))
    assert seen.batches[0].sheet.needs[Stage.SAND] == (100.0,)
    shop.book.correct("batch-1", "sheet", "mine", START)
    seen = shop.look(1, START + timedelta(hours=8))
    assert seen.batches[0].sheet.needs[Stage.SAND] == (900.0,)
    assert len(shop.store.book.corrections("batch-1")) == 2
