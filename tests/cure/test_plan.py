"""If tonight is like last night: the latest time to mix."""

import numpy as np
import pytest

from monitor.cure.law import opening_law
from monitor.cure.plan import DAY_S, Heat, Nights, latest_mix, nights_like_last, reach
from monitor.records import Readings, Sheet, Stage
from tests.scenarios import at, columns, near, series, sheet, story
from tests.scenarios import from_unix as moment

NOW = at("2026-05-02T15:30:00Z")


def two_days() -> Readings:
    """The cold night's series, and the same again a day earlier, until now."""
    today = series("A15")
    before = columns(today.time_s - DAY_S, today.temperature_c)
    early = before.between(0.0, float(today.time_s[0]) - 1.0)
    joined = columns([*early.time_s, *today.time_s], [*early.temperature_c, *today.temperature_c])
    return joined.between(0.0, NOW.timestamp())


def law_and_sheet() -> tuple[Nights, Sheet]:
    readings = two_days()
    nights = nights_like_last(readings.time_s, readings.temperature_c, NOW.timestamp())
    assert nights is not None
    return nights, sheet("P1")


def test_the_latest_time_to_mix_for_flip() -> None:
    """To flip before the cold it had to be mixed by 11:43, 12:53 with luck; so too tomorrow."""
    nights, p1 = law_and_sheet()
    law = opening_law(p1)
    assert law is not None
    expected = story("A15")["expected"]["latest_mix_for_flip"]
    for shift, wanted in ((-1.0, expected["low_edge"]), (0.0, expected["middle"])):
        found = latest_mix(nights.shifted(shift), law, p1.floor_c, 75.0, NOW.timestamp())
        assert found is not None
        assert near(moment(found[0]), wanted)
        tomorrow = latest_mix(nights.shifted(shift), law, p1.floor_c, 75.0, NOW.timestamp() + DAY_S)
        assert tomorrow is not None
        assert tomorrow[0] - found[0] == pytest.approx(DAY_S, abs=1.0)


def test_what_a_cup_mixed_now_would_reach() -> None:
    """Mixed at 15:30 it gels about 16:28 and is at 44, 33 at the careful edge, when it parks."""
    nights, p1 = law_and_sheet()
    law = opening_law(p1)
    assert law is not None
    expected = story("A15")["expected"]["if_mixed_at"]["2026-05-02T15:30:00Z"]
    gel = p1.needs[Stage.GEL][0]
    for shift, edge, count in (
        (-1.0, "late", expected["count_at_floor"][0]),
        (0.0, "middle", expected["count_at_floor"][1]),
    ):
        line = nights.shifted(shift)
        told = reach(line, law, p1.floor_c, NOW.timestamp(), gel)
        assert near(moment(told.reached_s or 0.0), expected["gel"][edge])
        assert told.by_stop == pytest.approx(count, abs=0.2)
    told = reach(nights, law, p1.floor_c, NOW.timestamp(), gel)
    assert told.stops_s is not None
    assert near(moment(told.stops_s), "2026-05-02T21:12:00Z")


def test_no_cold_ahead_is_no_deadline() -> None:
    """Where it never falls below the floor, or there is none, any time will do."""
    times = np.arange(0.0, DAY_S + 60.0, 60.0)
    nights = nights_like_last(times, np.full(times.size, 20.0), DAY_S)
    assert nights is not None
    p1 = sheet("P1")
    law = opening_law(p1)
    assert law is not None
    assert latest_mix(nights, law, p1.floor_c, 75.0, DAY_S) is None
    assert latest_mix(nights, law, None, 75.0, DAY_S) is None
    told = reach(nights, law, p1.floor_c, DAY_S, 240.0)
    assert told.reached_s == pytest.approx(DAY_S + 16 * 3600.0)
    assert told.stops_s is None


def test_heat_moves_it() -> None:
    """A heater that holds 21 °C from 18:00 to midnight lets a later cup flip."""
    nights, p1 = law_and_sheet()
    law = opening_law(p1)
    assert law is not None
    heat = Heat(
        21.0, at("2026-05-02T18:00:00Z").timestamp(), at("2026-05-03T00:00:00Z").timestamp()
    )
    warm = reach(nights.heated(heat), law, p1.floor_c, NOW.timestamp(), 75.0)
    cold = reach(nights, law, p1.floor_c, NOW.timestamp(), 75.0)
    assert warm.reached_s is not None
    assert warm.reached_s < heat.end_s
    assert cold.reached_s is not None
    assert cold.reached_s > warm.reached_s + 12 * 3600.0


def test_too_little_trace_says_nothing() -> None:
    """Under twelve hours, or a stale one: no plan."""
    times = np.arange(0.0, 11.9 * 3600.0, 60.0)
    assert nights_like_last(times, np.full(times.size, 20.0), float(times[-1])) is None
    day = np.arange(0.0, DAY_S, 60.0)
    assert nights_like_last(day, np.full(day.size, 20.0), float(day[-1]) + 7200.0) is None
    assert nights_like_last(np.empty(0), np.empty(0), 0.0) is None


def test_a_plan_never_gains_from_colder_nights() -> None:
    """Colder by a degree: the latest time to mix is no later, for any need."""
    nights, p1 = law_and_sheet()
    law = opening_law(p1)
    assert law is not None
    for need in (5.0, 40.0, 75.0, 240.0, 600.0):
        latest = [
            found[0]
            for shift in (1.0, 0.0, -1.0, -2.0)
            if (found := latest_mix(nights.shifted(shift), law, p1.floor_c, need, NOW.timestamp()))
        ]
        assert latest == sorted(latest, reverse=True)
