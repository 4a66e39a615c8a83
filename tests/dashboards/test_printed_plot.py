"""The plots on paper: ticks of the shop's own clock, gaps hatched, suspect readings hollow."""

import re
from collections.abc import Callable
from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from dashboards.printed.axis import round_ticks, time_ticks
from dashboards.printed.plot import Plot, plots
from dashboards.printed.strip import LEFT, RIGHT, WIDTH, Strip
from monitor.answers.record import record_of
from monitor.logbook import parse_address
from monitor.records import NO_PARTICULARS, MarkKind
from tests.dashboards.conftest import NOW, fill
from tests.scenarios import at
from tests.scenarios.shop import ShopAtHand

BERLIN = ZoneInfo("Europe/Berlin")


def strips(shop: ShopAtHand, number: int) -> tuple[Plot, ...]:
    seen = shop.look(number, NOW)
    told = record_of(
        shop.store,
        seen,
        NOW,
        zone=shop.shop.zone,
        unit=shop.shop.unit,
        demo=True,
        particulars=NO_PARTICULARS,
    )
    return plots(told.history)


def clock(start: str, end: str) -> list[str]:
    ticks = time_ticks(at(start).timestamp(), at(end).timestamp(), BERLIN)
    return [tick.clock for tick in ticks]


def test_ticks_are_whole_hours_of_the_shops_clock() -> None:
    """A day from ten in the morning, by the shop's clock, not by UTC."""
    assert clock("2026-05-02T08:00:00Z", "2026-05-03T08:00:00Z") == [
        "12:00", "15:00", "18:00", "21:00", "00:00", "03:00", "06:00", "09:00",
    ]  # fmt: skip


def test_a_new_day_is_named_once() -> None:
    """The first tick and the first of the next day carry the date."""
    ticks = time_ticks(
        at("2026-05-02T08:00:00Z").timestamp(), at("2026-05-03T08:00:00Z").timestamp(), BERLIN
    )
    assert [tick.day for tick in ticks if tick.day] == ["Sat 2 May", "Sun 3 May"]


def test_clocks_that_go_forward_leave_no_tick_out_of_place() -> None:
    """There is no half past two on 29 March 2026; three o'clock is an hour after one."""
    ticks = time_ticks(
        at("2026-03-28T23:00:00Z").timestamp(), at("2026-03-29T05:00:00Z").timestamp(), BERLIN
    )
    told = {tick.clock: tick.time_s for tick in ticks}
    assert "02:00" not in told
    assert told["03:00"] - told["01:00"] == pytest.approx(3600.0)


def test_clocks_that_go_back_keep_their_hours() -> None:
    """After 25 October 2026 the same clock times stand an hour further on."""
    ticks = time_ticks(
        at("2026-10-24T20:00:00Z").timestamp(), at("2026-10-25T20:00:00Z").timestamp(), BERLIN
    )
    told = {tick.clock: tick.time_s for tick in ticks if tick.day is None or "25" in tick.day}
    assert told["06:00"] - told["00:00"] == pytest.approx(7 * 3600.0)


@pytest.mark.parametrize("hours", [0.5, 3, 30, 24 * 9, 24 * 60, 24 * 365])
def test_never_too_many_ticks(hours: float) -> None:
    """From half an hour to a year: at least two to read a length by, at most ten."""
    start = at("2026-01-05T09:17:00Z")
    end = start + timedelta(hours=hours)
    ticks = time_ticks(start.timestamp(), end.timestamp(), BERLIN)
    assert 2 <= len(ticks) <= 10
    times = [tick.time_s for tick in ticks]
    assert times == sorted(set(times))


def test_round_values() -> None:
    """Steps of 1, 2 or 5 times a power of ten, inside the strip."""
    assert round_ticks(8.3, 31.2, 5) == (10.0, 15.0, 20.0, 25.0, 30.0)
    assert round_ticks(0.0, 1.1, 4) == pytest.approx((0.0, 0.5, 1.0))
    assert round_ticks(5.0, 5.0, 4) == (5.0,)


def test_a_strip_places_what_it_is_given() -> None:
    """The start lies at the left edge, the end at the right, half way half way."""
    strip = Strip("°C", 0.0, 100.0, 10.0, 30.0, 100.0, BERLIN)
    assert (strip.x(0.0), strip.x(100.0)) == (LEFT, WIDTH - RIGHT)
    assert strip.y(20.0) == pytest.approx((strip.top + strip.bottom) / 2.0)


def test_no_line_over_a_silence() -> None:
    """Where a value is missing the pen is lifted: two strokes, not one."""
    strip = Strip("°C", 0.0, 100.0, 0.0, 10.0, 100.0, BERLIN)
    strip.line(np.array([0.0, 10.0, 20.0, 30.0, 40.0]), np.array([1, 2, np.nan, 3, 4.0]), "#000")
    (path,) = re.findall(r' d="([^"]+)"', strip.svg(""))
    assert path.count("M") == 2
    assert path.count("L") == 2


def test_the_power_cut_is_hatched(filled: ShopAtHand) -> None:
    """The bow's silent night: a hatched hole from 21:10 to 04:40, where no line runs."""
    temperature = strips(filled, 3)[0].svg
    spans = [
        (float(x), float(width))
        for x, width in re.findall(
            r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)" height="[\d.]+" class="hatch"',
            temperature,
        )
    ]
    start, end = at("2026-05-02T15:00:00Z"), NOW
    scale = (WIDTH - LEFT - RIGHT) / (end - start).total_seconds()
    cut_x = LEFT + (at("2026-05-02T21:10:00Z") - start).total_seconds() * scale
    cut_width = (at("2026-05-03T04:40:00Z") - at("2026-05-02T21:10:00Z")).total_seconds() * scale
    assert any(
        x == pytest.approx(cut_x, abs=1.0) and width == pytest.approx(cut_width, abs=1.0)
        for x, width in spans
    )
    strokes = re.findall(r"[ML]([\d.]+) [\d.]+", temperature)
    inside = [x for x in map(float, strokes) if cut_x + 1 < x < cut_x + cut_width - 1]
    assert inside == []


def test_suspect_readings_are_hollow(filled: ShopAtHand) -> None:
    """The sunned half hour is drawn as empty circles, and as nothing else."""
    temperature = strips(filled, 3)[0].svg
    circles = re.findall(r'<circle class="suspect" cx="([\d.]+)"[^>]*fill="#ffffff"', temperature)
    assert len(circles) == 31
    assert "suspect" not in strips(filled, 1)[0].svg


def test_marks_are_numbered_as_in_the_list(filled: ShopAtHand) -> None:
    """Two marks, 1 and 2, over their own lines in the first strip."""
    temperature, humidity = strips(filled, 3)[:2]
    numbers = re.findall(r'class="mark">([^<]+)<', temperature.svg)
    assert numbers == ["1", "2"]
    assert 'class="mark"' not in humidity.svg


def test_marks_close_together_share_a_number(filled: ShopAtHand) -> None:
    """Numbers that would lie on each other become a range."""
    for minute in (31, 32):
        filled.book.add_mark(
            parse_address("3"), MarkKind.NOTE, at=at(f"2026-05-02T16:{minute}:00Z"), note=None,
            now=NOW,
        )  # fmt: skip
    assert re.findall(r'class="mark">([^<]+)<', strips(filled, 3)[0].svg) == ["1", "2–4"]


def test_one_strip_for_each_batch(filled: ShopAtHand) -> None:
    """Temperature, humidity, spread, and a count for each of the two skins."""
    told = strips(filled, 1)
    assert len(told) == 5
    assert "Count of 1/skin-a" in told[3].svg
    assert "Count of 1/skin-b" in told[4].svg
    assert "sand 240" in told[3].svg


def test_degrees_of_the_shop(shop_in: Callable[..., ShopAtHand]) -> None:
    """In a Fahrenheit shop the floor of 10 °C is drawn at 50, and the count has no 32 in it."""
    shop = shop_in("f")
    fill(shop)
    temperature, _, spread, count = strips(shop, 3)
    assert "floor 50 °F" in temperature.svg
    assert "at least 5.4 °F" in spread.svg
    assert "flip 135" in count.svg


def test_a_part_with_no_reading_still_has_its_paper(shop: ShopAtHand) -> None:
    """Empty strips, not a broken page."""
    shop.lay_up(1, "P1", NOW - timedelta(minutes=5))
    assert len(strips(shop, 1)) == 4


def test_nothing_leaves_its_strip(filled: ShopAtHand) -> None:
    """Every line, circle and area lies on the paper it is drawn on."""
    for plot in strips(filled, 3):
        width, height = map(float, re.findall(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', plot.svg)[0])
        xs = [float(x) for x in re.findall(r'\b(?:x|x1|x2|cx)="(-?[\d.]+)"', plot.svg)]
        ys = [float(y) for y in re.findall(r'\b(?:y|y1|y2|cy)="(-?[\d.]+)"', plot.svg)]
        assert min(xs) >= 0.0
        assert max(xs) <= width
        assert min(ys) >= 0.0
        assert max(ys) <= height
