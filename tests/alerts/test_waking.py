"""What may wake someone does so once, and no part wakes them more than thrice."""

from dataclasses import replace
from datetime import timedelta

import pytest

from monitor.alerts.due import Due
from monitor.alerts.look import Look
from monitor.alerts.waking import MOST_A_PART, as_loud_as_due
from monitor.overview import overview
from monitor.records import Alert, Aloud
from tests.alerts.replay import TELLING
from tests.scenarios import at
from tests.scenarios.shop import ShopAtHand

NOW = at("2026-05-03T02:00:00Z")
COLD = Due(
    "below-floor", "shed:air", NOW, (1,), "9 °C.", "Warm it.", "Short of flip.", Aloud.ANY_HOUR
)


def told(rule: str, hours_ago: float, *, over: bool = True, key: str = "shed:air") -> Alert:
    raised = NOW - timedelta(hours=hours_ago)
    return Alert(
        1, rule, key, raised, raised, (1,), "", "", NOW if over else None, aloud=Aloud.ANY_HOUR
    )


@pytest.fixture
def look(shop: ShopAtHand) -> Look:
    """A part mixed at 16:00, asked at two in the night."""
    shop.lay_up(1, "P1", at("2026-05-02T16:00:00Z"))
    return Look(overview(shop.store, NOW), TELLING)


@pytest.mark.parametrize(
    ("before", "aloud"),
    [
        ((), Aloud.ANY_HOUR),
        # It woke them tonight already, as itself or as what was to come.
        ((told("below-floor", 3),), Aloud.BY_DAY),
        ((told("floor-ahead", 2),), Aloud.BY_DAY),
        # Said before the night began, it woke nobody.
        ((told("floor-ahead", 5.5),), Aloud.ANY_HOUR),
        # The same action is asked for at the same place.
        ((told("dew-near", 3, over=False),), Aloud.PAGE),
        ((told("dew-near", 3, over=False, key="boat:air"),), Aloud.ANY_HOUR),
        ((told("dew-near", 3),), Aloud.ANY_HOUR),
        # Of a batch before this one.
        ((told("below-floor", 12),), Aloud.ANY_HOUR),
    ],
)
def test_waking_once(look: Look, before: tuple[Alert, ...], aloud: Aloud) -> None:
    """Someone is woken where it is news, and asks for something."""
    assert as_loud_as_due(COLD, replace(look, told=before)).aloud is aloud


def test_no_part_wakes_anyone_more_than_thrice(look: Look) -> None:
    """Except one that runs hot: that may burn."""
    woken = tuple(told(rule, 3, key=rule) for rule in ("dew-near", "heat-lost", "silent-sensor"))
    assert len(woken) == MOST_A_PART
    assert as_loud_as_due(COLD, replace(look, told=woken)).aloud is Aloud.BY_DAY
    hot = replace(COLD, rule="hot-part")
    often = (*woken, told("hot-part", 1))
    assert as_loud_as_due(hot, replace(look, told=often)).aloud is Aloud.ANY_HOUR


def test_what_is_open_keeps_its_voice(look: Look) -> None:
    """It isn't made quieter by having been said."""
    assert (
        as_loud_as_due(COLD, replace(look, told=(told("below-floor", 1, over=False),))).aloud
        is Aloud.ANY_HOUR
    )
