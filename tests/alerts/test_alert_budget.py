"""A counted budget: how often an invented job of a week would wake someone, and for what.

Ten of the thirty that `python -m tests.soak.nights` lives through every ten minutes.
"""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from monitor.logbook import parse_address
from monitor.records import Aloud, MarkKind
from tests.alerts.jobs import MOST_AT_NIGHT, WEEK_H, at_night, job, lived, wakes
from tests.scenarios import columns
from tests.scenarios.shop import ShopAtHand, open_demo_shop

BY_NIGHT, BY_DAY = timedelta(minutes=30), timedelta(minutes=120)
COURTESIES = {"pot-life", "knife-opens", "knife-last", "recoat-last", "ready", "sensor-away"}
"""Said of a job that goes well: what opens, what shuts, what is ready. Never at night."""


@pytest.mark.parametrize("seed", range(0, 30, 3))
def test_no_job_wakes_anyone_more_than_thrice(tmp_path: Path, seed: int) -> None:
    """And nothing rings at night but what may wake someone."""
    shop = open_demo_shop(tmp_path / "shop")
    rung = lived(shop, job(shop, seed), BY_NIGHT, BY_DAY)
    shop.store.close()
    assert len(wakes(rung)) <= MOST_AT_NIGHT, wakes(rung)
    assert {alert.aloud for now, alert in rung if at_night(now)} <= {Aloud.ANY_HOUR}


def test_an_uneventful_job_is_left_in_peace(shop: ShopAtHand) -> None:
    """Warm, dry and watched all week, and marked as the work goes on: not one message."""
    begun = datetime(2026, 5, 2, 9, tzinfo=UTC)
    hours = np.arange(-24.0, WEEK_H, 1.0 / 6.0)
    warm = 19.0 + 1.5 * np.cos((hours - 6.0) / 24.0 * 2.0 * np.pi)
    damp = np.full(hours.size, 55.0)
    shop.hear("shed", columns(begun.timestamp() + hours * 3600.0, warm, damp))
    shop.lay_up(1, "P1", begun)
    shop.put("1", "shed", begun)
    for kind, after_h in (
        (MarkKind.CUP_KICKED, 0.1),
        (MarkKind.KICKED, 0.6),
        (MarkKind.TRIMMED_CLEAN, 1.2),
        (MarkKind.FLIPPED, 5.0),
        (MarkKind.SANDED_DUST, 20.0),
    ):
        moment = begun + timedelta(hours=after_h)
        shop.book.add_mark(parse_address("1/skin-a"), kind, at=moment, note=None, now=moment)
    rung = lived(shop, begun, BY_NIGHT, BY_DAY)
    assert rung == []


def test_an_unmarked_job_hears_of_its_windows_by_day(shop: ShopAtHand) -> None:
    """The same week with nothing marked: what opens, what shuts, what is ready, by day alone."""
    begun = datetime(2026, 5, 2, 9, tzinfo=UTC)
    hours = np.arange(-24.0, WEEK_H, 1.0 / 6.0)
    shop.hear("shed", columns(begun.timestamp() + hours * 3600.0, np.full(hours.size, 19.0)))
    shop.lay_up(1, "P1", begun)
    shop.put("1", "shed", begun)
    rung = lived(shop, begun, BY_NIGHT, BY_DAY)
    assert rung
    assert {alert.rule for _, alert in rung} <= COURTESIES
    assert wakes(rung) == []
