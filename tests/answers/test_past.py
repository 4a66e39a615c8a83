"""The person's own earlier cups: raw under two, summed up from two."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from monitor.answers.past import past_jobs, past_lines, past_of
from monitor.logbook import parse_address
from monitor.records import MarkKind
from tests.scenarios import at, columns
from tests.scenarios.shop import ShopAtHand

START = at("2026-05-02T08:00:00Z")
UTC_ZONE = ZoneInfo("UTC")


def job(
    shop: ShopAtHand, number: int, day: int, temperature_c: float, kicked_min: int, sanded_h: float
) -> datetime:
    """A part mixed at 08:00 on a day at one temperature, kicked and sanded, then ended."""
    mixed = START + timedelta(days=day)
    times = [mixed.timestamp() + 60.0 * i for i in range(round(sanded_h * 60) + 60)]
    shop.hear("shed", columns(times, [temperature_c] * len(times)))
    shop.lay_up(number, "P1", mixed)
    shop.put(str(number), "shed", mixed)
    for kind, after in (
        (MarkKind.KICKED, timedelta(minutes=kicked_min)),
        (MarkKind.SANDED_DUST, timedelta(hours=sanded_h)),
    ):
        moment = mixed + after
        shop.book.add_mark(parse_address(str(number)), kind, at=moment, note=None, now=moment)
    return mixed


def test_what_one_job_tells(shop: ShopAtHand) -> None:
    """Once is told as it was: when, how warm, the dose, and each mark with its count."""
    job(shop, 1, 0, 18.0, 40, 20.0)
    now = START + timedelta(days=3)
    (past,) = past_jobs(shop.store, "demo-laminating", now)
    assert past.temperature_c == pytest.approx(18.0)
    assert past.mix_pct == pytest.approx(1.5)
    sanded = past.first(MarkKind.SANDED_DUST)
    assert sanded is not None
    assert sanded.count == pytest.approx(20 * 13.0, abs=0.1)
    sheet = shop.look(1, now).sheet
    (line,) = past_lines([past], sheet, 18.0, UTC_ZONE, "c", now)
    assert line == (
        "Once before: 1/skin-a (part 1), mixed 08:00 Sat, 18.0 °C, 1.5 %, "
        "kicked after 40 min, sanded-dust after 20 h at 260."
    )


def test_two_and_more_are_summed_up(shop: ShopAtHand) -> None:
    """From two on a range; jobs at another warmth are left out; the sheet is not loosened."""
    for number, (day, warm, kicked, sanded) in enumerate(
        ((0, 17.0, 41, 22.0), (2, 18.0, 34, 20.0), (4, 19.0, 36, 19.0), (6, 27.0, 20, 12.0)), 1
    ):
        job(shop, number, day, warm, kicked, sanded)
    now = START + timedelta(days=9)
    sheet = shop.look(1, now).sheet
    jobs = past_jobs(shop.store, "demo-laminating", now)
    first, second = past_lines(jobs, sheet, 18.0, UTC_ZONE, "c", now)
    assert first == (
        "3 times with this resin at 17.0 °C to 19.0 °C: 1.5 %, kicked after 34 to 41 min, "
        "sanded to dust at 260 to 266."
    )
    assert "never loosens it" in second
    assert list(past_lines(jobs, sheet, 10.0, UTC_ZONE, "c", now)) == []
    fahrenheit = next(past_lines(jobs, sheet, 18.0, UTC_ZONE, "f", now))
    assert "sanded to dust at 468 to 479" in fahrenheit


def test_only_earlier_batches_of_the_same_sheet_are_told(shop: ShopAtHand) -> None:
    """A batch is not its own past, and another resin's cups say nothing about this one."""
    job(shop, 1, 0, 18.0, 40, 20.0)
    job(shop, 2, 2, 18.0, 38, 20.0)
    now = START + timedelta(days=4)
    second = shop.look(2, now).batches[0]
    (line,) = past_of(shop.store, second, UTC_ZONE, "c", now)
    assert line.startswith("Once before: 1/skin-a")
    first = shop.look(1, now).batches[0]
    assert past_of(shop.store, first, UTC_ZONE, "c", now) == ()
    assert past_jobs(shop.store, "demo-epoxy", now) == ()
