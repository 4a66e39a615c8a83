"""Dew before it falls: guessed from last night's dew point, against when the coat would seal."""

from zoneinfo import ZoneInfo

from monitor.answers.report import ready_lines
from monitor.cure.plan import DAY_S
from monitor.records import Stage
from tests.scenarios import at, columns, near, series, story
from tests.scenarios.shop import ShopAtHand

NOW = "2026-05-02T20:00:00Z"


def two_nights(shop: ShopAtHand) -> None:
    """The canoe bow's evening, and the same day before it, until 20:00."""
    today = series("A4")
    before = columns(today.time_s - DAY_S, today.temperature_c, today.humidity_pct)
    early = before.between(0.0, float(today.time_s[0]) - 1.0)
    now_s = at(NOW).timestamp()
    joined = columns(
        [*early.time_s, *today.time_s],
        [*early.temperature_c, *today.temperature_c],
        [*early.humidity_pct, *today.humidity_pct],
    )
    shop.hear("bow", joined.between(0.0, now_s))


def test_dew_is_expected_before_the_coat_seals(shop: ShopAtHand) -> None:
    """Last night's dew point says about 23:00; sealed would be hours later: not tonight."""
    two_nights(shop)
    mixed = at(NOW)
    shop.lay_up(3, "G1", mixed, role="wax-coat")
    shop.put("3", "bow", mixed)
    seen = shop.look(3, mixed)
    a = seen.batches[0].worked.assessment
    expected = story("A4")["expected"]
    dew = a.forecast.dew_at
    assert dew is not None
    assert abs((dew - at(expected["spread_below_3_from"])).total_seconds()) <= 20 * 60
    sealed = a.forecast.stage(Stage.SEALED)
    assert sealed is not None
    assert sealed.opens.middle is not None
    assert sealed.opens.middle > dew
    assert not near(sealed.opens.late, NOW)
    words = list(ready_lines(seen, ZoneInfo("UTC"), "c", seen.batches, now=mixed))
    assert any(line.startswith("Dew likely about 2") for line in words)
