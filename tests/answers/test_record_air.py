"""How long the air kept within a sheet's limits: halves between readings, gaps nobody's."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.answers.dated import Dated
from monitor.answers.record_air import hours_said, kept_within, shares_h, within
from monitor.units import SECONDS_PER_HOUR
from tests.scenarios import at, columns
from tests.scenarios.shop import ShopAtHand

MIXED = at("2026-05-02T08:00:00Z")


def test_a_reading_stands_for_half_the_way_to_its_neighbours() -> None:
    """Four readings ten minutes apart, from the first to the last: half, whole, whole, half."""
    time_s = np.array([0.0, 600.0, 1200.0, 1800.0])
    assert shares_h(time_s, 0.0, 1800.0) * 60.0 == pytest.approx([5.0, 10.0, 10.0, 5.0])


def test_a_silence_is_nobodys() -> None:
    """Over a quarter of an hour between two readings counts for neither."""
    time_s = np.array([0.0, 600.0, 1200.0, 9000.0, 9600.0, 10200.0])
    assert shares_h(time_s, 0.0, 10200.0).sum() * 60.0 == pytest.approx(40.0)


def test_a_slow_logger_is_no_silence() -> None:
    """Half-hour steps of a sensor that always takes them are measured time."""
    time_s = np.arange(0.0, 6 * 3600.0 + 1, 1800.0)
    assert shares_h(time_s, 0.0, 6 * 3600.0).sum() == pytest.approx(6.0)


@given(
    steps=st.lists(st.floats(1.0, 899.0), min_size=1, max_size=60),
    cut=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)),
)
def test_no_time_is_counted_twice(steps: list[float], cut: tuple[float, float]) -> None:
    """Where no step is a silence, all that is asked for is measured, however it is cut."""
    time_s = np.concatenate([[0.0], np.cumsum(steps)])
    start_s, end_s = (share * time_s[-1] for share in sorted(cut))
    assert shares_h(time_s, start_s, end_s).sum() == pytest.approx(
        (end_s - start_s) / SECONDS_PER_HOUR, abs=1e-9
    )


def test_hours_outside_two_limits() -> None:
    """A straight climb from 10 to 30 °C over 20 h is 5 h under 15 and 2 h over 28."""
    time_s = np.arange(0.0, 20 * 3600.0 + 1, 60.0)
    told = within(((time_s, 10.0 + time_s / 3600.0),), 0.0, time_s[-1], 15.0, 28.0)
    assert (told.measured_h, told.least, told.most) == pytest.approx((20.0, 10.0, 30.0))
    assert told.under_h == pytest.approx(5.0, abs=0.02)
    assert told.over_h == pytest.approx(2.0, abs=0.02)


def test_nothing_measured_is_said_so() -> None:
    """No reading inside: no least and no most, and no hour of anything."""
    assert within((), 0.0, 3600.0, 15.0, 30.0).least is None
    assert hours_said(0.0) == "none"
    assert hours_said(4.5) == "4 h 30 min"


def test_one_batch_in_words(shop: ShopAtHand) -> None:
    """To sand where it got there, each limit with its hours, and the gap by itself."""
    minutes = np.concatenate([np.arange(0, 600), np.arange(780, 1800)])
    temperature_c = np.where(minutes < 300, 12.0, 22.0)
    humidity = np.where(minutes > 1700, 90.0, 60.0)
    time_s = MIXED.timestamp() + minutes * 60.0
    shop.hear("shed", columns(time_s, temperature_c, humidity))
    shop.lay_up(1, "P1", MIXED)
    shop.put("1", "shed", MIXED)
    now = at("2026-05-03T14:00:00Z")
    seen = shop.look(1, now)
    line = kept_within(seen.batches[0], Dated.between(shop.shop.zone, MIXED, now), "c")
    assert line.batch == "skin A"
    assert line.period.startswith("08:00 Sat 2 May 2026 to ")
    assert line.period.endswith("to sand by the count")
    assert line.temperature == (
        "12.0 °C to 22.0 °C. Under the sheet's 15.0 °C: 5 h; over its 30.0 °C: none."
    )
    assert line.humidity == "60 to 60 %. Over the sheet's 80 %: none."
    assert line.unmeasured == "3 h 01 min"


def test_a_part_without_a_sensor(shop: ShopAtHand) -> None:
    """Nothing is made up: every cell says that nobody measured."""
    shop.book.add_layup(2, "lid", "demo-epoxy", on=None, safety=False, now=MIXED)
    shop.mix("2/skin-a", "E1", MIXED)
    now = at("2026-05-02T18:00:00Z")
    line = kept_within(shop.look(2, now).batches[0], Dated(shop.shop.zone), "c")
    assert {line.temperature, line.humidity, line.spread} == {"not measured"}
    assert line.unmeasured == "10 h"
