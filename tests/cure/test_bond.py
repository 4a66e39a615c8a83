"""The bond line, and the spells of damp that can void it."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from monitor.assess import assess
from monitor.cure.beside import StayRead, damp_times
from monitor.cure.damp import spells
from monitor.cure.outlook import outlook
from monitor.records import BondLine, Channel, Mark, MarkKind, Nearness, Readings, Stage, Verdict
from tests.scenarios import at, case, columns, series, sheet, story

START = at("2026-05-02T08:00:00Z")
HOUR = timedelta(hours=1)


def air(hours: float, temperature_c: float = 20.0, humidity_pct: float = 50.0) -> Readings:
    times = [START.timestamp() + 60.0 * i for i in range(round(hours * 60) + 1)]
    return columns(times, [temperature_c] * len(times), [humidity_pct] * len(times))


def mark(kind: MarkKind, after_h: float) -> Mark:
    return Mark(1, 1, None, kind, START + after_h * HOUR)


def bond(
    after_h: float, *marks: Mark, readings: Readings | None = None, **changes: Any
) -> BondLine:
    judged_by = changes.pop("judged_by", sheet("P1"))
    told = case(judged_by, START, readings if readings is not None else air(60))

    return assess(replace(told, marks=marks, **changes), START + after_h * HOUR).bond_line


def test_chemical_while_the_window_is_open() -> None:
    """Unwaxed, clean and dry: chemical, until the sheet's plain hours at the very latest."""
    line = bond(10.0)
    assert (line.state, line.voided_by) == ("chemical", ())
    assert line.until == START + 48 * HOUR


def test_mechanical_once_it_has_shut() -> None:
    """360 at the warm edge of 20 °C is 22 h 30 min: sand after that."""
    line = bond(23.0)
    assert line.state == "mechanical"
    assert line.until is not None
    assert abs(line.until - (START + 22.5 * HOUR)) < timedelta(minutes=1)
    assert "Sand dull" in line.reason


@pytest.mark.parametrize("after_h", [0.5, 5.0, 30.0])
def test_waxed_is_mechanical_at_any_hour(after_h: float) -> None:
    """No waiting opens a waxed surface."""
    line = bond(after_h, waxed=True)
    assert (line.state, line.voided_by) == ("mechanical", ("wax",))
    assert "No waiting opens it" in line.reason


@pytest.mark.parametrize(
    ("kind", "word"),
    [
        (MarkKind.RAINED, "rain"),
        (MarkKind.SUN, "sun"),
        (MarkKind.WASHED, "washing"),
        (MarkKind.SANDED_DUST, "dust"),
    ],
)
def test_what_voids_it(kind: MarkKind, word: str) -> None:
    """Rain, sun, washing and dust each end a chemical bond, and are named."""
    line = bond(10.0, mark(kind, 6.0))
    assert (line.state, line.voided_by) == ("mechanical", (word,))
    assert word in line.reason
    assert bond(5.0, mark(kind, 6.0)).state == "chemical", "it hasn't happened yet"


def test_dew_voids_it_from_the_readings() -> None:
    """20 °C and 90 % is 1.7 °C above the dew point, under the sheet's 3: damp."""
    line = bond(10.0, readings=air(60, humidity_pct=90.0))
    assert (line.state, line.voided_by) == ("mechanical", ("dew",))


def test_peel_ply_keeps_it_clean() -> None:
    """What happened before the ply came off doesn't count; what happened after does."""
    kept = bond(10.0, mark(MarkKind.RAINED, 4.0), mark(MarkKind.PEEL_PLY_OFF, 8.0))
    assert (kept.state, kept.voided_by) == ("chemical", ())
    spoilt = bond(10.0, mark(MarkKind.PEEL_PLY_OFF, 3.0), mark(MarkKind.RAINED, 4.0))
    assert spoilt.voided_by == ("rain",)


def test_a_silent_sheet_can_not_tell() -> None:
    """No window on the sheet: no guess, and the safe way named."""
    line = bond(10.0, judged_by=sheet("B1", aim_pct=1.25))
    assert line.state == "cant-tell"
    assert "Your sheet doesn't say" in line.reason


def test_how_long_ago_it_was_sanded_and_what_happened_since() -> None:
    """Sanded, then damp at dawn and wiped: said, so that it is sanded lightly again."""
    times = air(60)
    humidity = times.humidity_pct.copy()
    humidity[30 * 60 : 32 * 60] = 95.0
    humidity[36 * 60 : 37 * 60] = 95.0
    damp = columns(times.time_s, times.temperature_c, humidity)
    line = bond(46.0, mark(MarkKind.SANDED_DUST, 20.0), mark(MarkKind.WIPED, 40.0), readings=damp)
    assert line.sanded_at == START + 20 * HOUR
    assert line.since_sanded == ("wiped", "damp 2 times")


def test_damp_spells_take_twenty_minutes() -> None:
    """A quarter of an hour is no spell; a silence ends one; two of them are two."""
    time_s = np.arange(0.0, 7200.0, 60.0)
    spread = np.full(time_s.size, 5.0)
    spread[5:20] = 1.0
    assert spells(time_s, 3.0 - spread) == ()
    spread[40:70] = 1.0
    spread[90:] = 1.0
    assert spells(time_s, 3.0 - spread) == ((2400.0, 4200.0), (5400.0, 7140.0))
    silent = time_s.copy()
    silent[55:] += 3600.0
    assert spells(silent, 3.0 - spread) == ((5400.0 + 3600.0, 7140.0 + 3600.0),)
    assert spells(np.empty(0), np.empty(0)) == ()


def test_a_surface_is_asked_before_the_air() -> None:
    """A hull colder than the air is damp while the air is not."""
    readings = air(2.0, 17.0, 70.0)
    cold = Readings(
        readings.time_s,
        readings.temperature_c,
        readings.humidity_pct,
        np.full(len(readings), 11.0),
        readings.flags,
    )
    inside = (cold.time_s[0], cold.time_s[-1])
    beside = StayRead(cold, Channel.AIR, Nearness.BESIDE)
    probe = StayRead(cold, Channel.SURFACE, Nearness.PROBE)
    assert damp_times((beside,), 3.0, *inside) == ()
    assert damp_times((beside, probe), 3.0, *inside) == (inside,)


def test_dew_at_dawn_on_the_wax_coat() -> None:
    """The canoe bow: spread under 3 °C from 22:57 to 08:10, before the careful edge sealed."""
    told = story("A4")
    readings = series("A4")
    mixed = at(told["second_coat_at"])
    judged_by = sheet("G1", wax_temperature_c=(18.0, 32.0))

    seen = replace(case(judged_by, mixed, readings), waxed=True)
    a = assess(seen, at("2026-05-03T09:00:00Z"))
    sealed = a.stage(Stage.SEALED)
    expected = told["expected"]["coat2_sealed"]
    for edge in ("early", "middle", "late"):
        moment = getattr(sealed.opens, edge)
        assert moment is not None
        assert abs((moment - at(expected[edge])).total_seconds()) <= 120
    assert sealed.verdict is Verdict.TEST_IT
    assert a.overruled_by == ("wax-spoiled",)
    (spell,) = damp_times(seen.watched, 3.0, mixed.timestamp(), readings.time_s[-1])
    for moment, wanted in zip(
        spell,
        (told["expected"]["spread_below_3_from"], told["expected"]["spread_above_3_again"]),
        strict=True,
    ):
        assert abs(moment - at(wanted).timestamp()) <= 120
    dry = replace(judged_by, wax_temperature_c=None, dew_spread_min_c=None)
    kinder = assess(replace(seen, sheet=dry), at("2026-05-03T09:00:00Z"))
    assert kinder.stage(Stage.SEALED).verdict is Verdict.READY


def test_an_unwaxed_coat_never_seals() -> None:
    """Without wax it stays tacky where air reaches it, however long it waits."""

    told = replace(case(sheet("G1"), START, air(40)), waxed=False)
    sealed = assess(told, START + 39 * HOUR).stage(Stage.SEALED)
    assert sealed.verdict is Verdict.CANT_TELL
    assert "No wax in it" in sealed.reason


def test_a_waxed_coat_has_no_window() -> None:
    """Wax on top: wash, sand, then coat; no time changes it."""

    told = replace(case(sheet("G1"), START, air(40)), waxed=True)
    for after_h in (3.0, 10.0, 39.0):
        recoat = assess(told, START + after_h * HOUR).stage(Stage.RECOAT)
        assert recoat.verdict is Verdict.SHUT
        assert recoat.reason.startswith("Waxed: wash it, then sand dull all over.")


def test_an_unclean_surface_has_no_window_and_no_guess() -> None:
    """Dew on it: coating without sanding is shut, and no time is guessed until which it is open."""
    clean, damp = air(36), air(36, humidity_pct=90.0)
    now = START + 35 * HOUR
    told = {}
    for name, readings in (("clean", clean), ("damp", damp)):
        seen = case(sheet("P1"), START + 30 * HOUR, readings)
        ahead = outlook(readings.time_s, readings.temperature_c, now.timestamp())
        told[name] = assess(replace(seen, outlook=ahead), now)
    assert told["clean"].stage(Stage.RECOAT).verdict is Verdict.READY
    assert told["clean"].forecast.stage(Stage.RECOAT) is not None
    recoat = told["damp"].stage(Stage.RECOAT)
    assert recoat.verdict is Verdict.SHUT
    assert "No longer clean (dew)" in recoat.reason
    assert told["damp"].forecast.stage(Stage.RECOAT) is None
    assert told["damp"].forecast.stage(Stage.SAND) is not None, "sanding is still to come"


def test_nothing_is_guessed_of_what_will_not_come_or_is_not_ours_to_say() -> None:
    """A bad mix has nothing to wait for; a safety part's load is the maker's and designer's."""
    readings = air(36)
    now = START + 35 * HOUR
    ahead = outlook(readings.time_s, readings.temperature_c, now.timestamp())
    bad = replace(case(sheet("P1"), START + 30 * HOUR, readings, mix_pct=0.5), outlook=ahead)
    assert assess(bad, now).forecast.stages == ()
    good = replace(case(sheet("E1"), START + 30 * HOUR, readings), outlook=ahead)
    assert assess(good, now).forecast.stage(Stage.LOAD) is not None
    assert assess(replace(good, safety=True), now).forecast.stage(Stage.LOAD) is None
