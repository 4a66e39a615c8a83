"""Verdicts and what overrules them, each on the smallest history that shows it."""

from dataclasses import replace
from datetime import timedelta

import pytest

from monitor.assess import Case, assess, join
from monitor.cure.beside import StayRead
from monitor.cure.mixing import Weighed, judge_mix
from monitor.records import (
    Assessment,
    Channel,
    Flags,
    Gap,
    Nearness,
    Readings,
    Sheet,
    Stage,
    StageAnswer,
    Verdict,
)
from tests.scenarios import at, case, columns, from_unix, series, sheet, story

START = at("2026-05-02T08:00:00Z")
HOUR = timedelta(hours=1)


def held(
    temperature_c: float, hours: float, step_min: float = 1.0, start_h: float = 0.0
) -> Readings:
    """Readings at one temperature, from `start_h` after START on."""
    count = round(hours * 60 / step_min) + 1
    times = [START.timestamp() + start_h * 3600 + i * step_min * 60 for i in range(count)]
    return columns(times, [temperature_c] * count)


def spells(*parts: tuple[float, float]) -> Readings:
    """One temperature after another: (°C, hours), a reading a minute."""
    times, values, now = [], [], START.timestamp()
    for temperature_c, hours in parts:
        for _ in range(round(hours * 60)):
            times.append(now)
            values.append(temperature_c)
            now += 60.0
    return columns(times, values)


def answer(
    stage: Stage, readings: Readings, after_h: float, judged_by: Sheet | None = None, **mix: float
) -> StageAnswer:
    return whole(readings, after_h, judged_by, **mix).stage(stage)


def whole(
    readings: Readings, after_h: float, judged_by: Sheet | None = None, **mix: float
) -> Assessment:
    return assess(case(judged_by or sheet("P1"), START, readings, **mix), START + after_h * HOUR)


# ── Openings and windows ────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("after_h", "verdict"),
    [
        (14.9, Verdict.NOT_YET),  # high edge: 240 / 16 = 15 h
        (15.1, Verdict.TEST_IT),
        (17.1, Verdict.TEST_IT),  # low edge: 240 / 14 = 17.143 h
        (17.2, Verdict.READY),
    ],
)
def test_an_opening(after_h: float, verdict: Verdict) -> None:
    """Not yet until the warm edge is there, ready when the cold edge is. 20 °C, base 5."""
    assert answer(Stage.SAND, held(20.0, 20), after_h).verdict is verdict


@pytest.mark.parametrize(
    ("after_h", "verdict"),
    [
        (1.0, Verdict.NOT_YET),  # warm edge opens at 18 / 16 = 1.125 h
        (1.2, Verdict.TEST_IT),
        (1.3, Verdict.READY),  # cold edge opens at 18 / 14 = 1.286 h
        (2.4, Verdict.READY),
        (2.6, Verdict.SHUT),  # warm edge shuts at 40 / 16 = 2.5 h
    ],
)
def test_a_window(after_h: float, verdict: Verdict) -> None:
    """A window opens at its late edge and shuts at its early one."""
    assert answer(Stage.KNIFE_TRIM, held(20.0, 20), after_h).verdict is verdict


def test_gel_is_an_event() -> None:
    """Not yet, then due: never ready."""
    assert answer(Stage.GEL, held(20.0, 20), 0.5).verdict is Verdict.NOT_YET
    assert answer(Stage.GEL, held(20.0, 20), 1.0).verdict is Verdict.DUE


def test_plain_hours_shut_a_window_too() -> None:
    """48 h from mixing shut a recoat that the count would leave open."""
    cool = answer(Stage.RECOAT, held(11.0, 60), 49.0)
    assert (cool.verdict, cool.shut_by) == (Verdict.SHUT, "hours")
    assert cool.shuts is not None
    assert cool.shuts.early == START + 48 * HOUR
    warm = answer(Stage.RECOAT, held(25.0, 60), 49.0)
    assert (warm.verdict, warm.shut_by) == (Verdict.SHUT, "count")


def test_shut_before_it_was_surely_open() -> None:
    """A gap at the start may have shut it or not opened it: the knife is tested, recoat is shut."""
    windows = {Stage.KNIFE_TRIM: (49.4, 50.0), Stage.RECOAT: (48.0, 50.0)}
    wide = sheet("P1", needs=windows)
    readings = columns(
        [START.timestamp(), *(START.timestamp() + 5400 + 60 * i for i in range(30))],
        [38.0, *[20.0] * 30],
    )
    knife = answer(Stage.KNIFE_TRIM, readings, 1.6, wide)
    recoat = answer(Stage.RECOAT, readings, 1.6, wide)
    assert knife.verdict is Verdict.TEST_IT
    assert "may be past" in knife.reason
    assert recoat.verdict is Verdict.SHUT
    assert "sand" in recoat.reason


def test_a_blank_is_answered_as_one() -> None:
    """A stage the sheet doesn't give is never guessed."""
    blank = answer(Stage.LOAD, held(20.0, 60), 50)
    assert (blank.verdict, blank.needs) == (Verdict.CANT_TELL, None)
    assert blank.reason == "Your sheet doesn't say."


def test_no_base_is_a_blank_too() -> None:
    """Without a base there is nothing to count from."""
    a = whole(held(20.0, 20), 19, sheet("P1", base_c=None))
    assert {s.verdict for s in a.stages} == {Verdict.CANT_TELL}
    assert a.count.middle is None


# ── Silence ─────────────────────────────────────────────────────────────────────────────────


def test_a_long_silence_leaves_only_the_careful_edge() -> None:
    """Two hours after the last reading an opening is ready by the low edge or can't be told."""
    readings = held(20.0, 18)
    a = whole(readings, 21.0)
    assert (a.count.middle, a.count.high) == (None, None)
    assert a.stage(Stage.SAND).verdict is Verdict.READY
    assert a.stage(Stage.PROPS_OFF).verdict is Verdict.CANT_TELL
    assert a.stage(Stage.RECOAT).verdict is Verdict.CANT_TELL
    assert a.gaps == (Gap(START + 18 * HOUR, START + 21 * HOUR, "after-last"),)


def test_a_window_that_was_shut_stays_shut_in_silence() -> None:
    """Nothing unshuts a window: silence can't."""
    assert answer(Stage.KNIFE_TRIM, held(20.0, 18), 21.0).verdict is Verdict.SHUT
    assert answer(Stage.RECOAT, held(20.0, 18), 49.0).verdict is Verdict.SHUT


def test_the_next_reading_makes_it_an_ordinary_gap() -> None:
    """Once it speaks again the middle and the warm edge are known."""
    back = held(20.0, 18)
    later = held(20.0, 1, start_h=21.0)
    joined = columns([*back.time_s, *later.time_s], [*back.temperature_c, *later.temperature_c])
    a = whole(joined, 21.5)
    assert a.count.middle == pytest.approx(21.5 * 15, abs=0.01)
    assert a.count.low == pytest.approx(18.5 * 14, abs=0.01)
    assert [gap.why for gap in a.gaps] == ["silent"]


@pytest.mark.parametrize(
    ("first_h", "low", "middle"),
    [(0.2, 14.0 * 3.5, 15.0 * 3.5), (1.0, 14.0 * 2.5, 15.0 * 3.5), (2.5, 14.0 * 1.0, None)],
)
def test_before_the_first_reading(first_h: float, low: float, middle: float | None) -> None:
    """A sensor put down late: a quarter of an hour is held, two hours are doubted, more unknown."""
    a = whole(held(20.0, 4, start_h=first_h), 3.5)
    assert a.count.low == pytest.approx(low, abs=0.01)
    assert a.count.middle == (None if middle is None else pytest.approx(middle, abs=0.01))
    unknown = middle is None
    assert (a.stage(Stage.SAND).verdict is Verdict.CANT_TELL) == unknown
    assert (a.stage(Stage.FLIP).verdict is Verdict.CANT_TELL) == unknown


def test_a_reading_just_before_mixing_is_a_neighbour() -> None:
    """Readings five minutes either side of mixing: the line between them counts from mixing."""
    times = [START.timestamp() - 300, START.timestamp() + 300]
    a = whole(columns(times, [10.0, 30.0]), 300 / 3600)
    assert a.count.middle == pytest.approx((20.0 + 30.0) / 2 / 12 - 5 / 12, abs=1e-6)


def test_a_fresh_reading_before_mixing_stands_in() -> None:
    """Just mixed, and the next reading not in yet: the last one holds for a quarter of an hour."""
    before = columns([START.timestamp() - 60], [20.0])
    assert whole(before, 0.1).count.middle == pytest.approx(1.5, abs=1e-6)
    assert whole(before, 0.5).count.middle is None


def test_no_readings_at_all() -> None:
    """Nothing is known, and that is what is said."""
    a = assess(Case(sheet("P1"), START, Weighed(mix_pct=1.5)), START + 20 * HOUR)
    assert (a.count.low, a.count.middle, a.count.high) == (0.0, None, None)
    assert a.stage(Stage.SAND).verdict is Verdict.CANT_TELL
    assert a.nearness is None
    assert [gap.why for gap in a.gaps] == ["before-first"]


def test_suspect_readings_are_a_gap_and_said_to_be() -> None:
    """A suspect span isn't counted, and the gap says why. 10:40 to 14:00 read like the sun."""
    told = story("A5")
    raw = series("A5read")
    start, end = (at(moment).timestamp() for moment in told["expected"]["suspect"])
    flags = [
        Flags.from_text("temperature:sunned").packed() if start < t < end else 0 for t in raw.time_s
    ]
    readings = columns(raw.time_s, raw.temperature_c, raw.humidity_pct, flags)
    mixed = at(told["mixed_at"])
    a = assess(case(sheet("P1"), mixed, readings), at("2026-05-02T14:00:00Z"))
    low, middle, high = told["expected"]["count_at"]["2026-05-02T14:00:00Z"]
    assert a.count.low == pytest.approx(low, abs=0.2)
    assert a.count.middle == pytest.approx(middle, abs=0.2)
    assert a.count.high == pytest.approx(high, abs=0.2)
    assert [(gap.why, gap.start) for gap in a.gaps] == [("suspect", from_unix(start))]
    assert a.readings.suspect == 199


# ── Parked ──────────────────────────────────────────────────────────────────────────────────


def test_parked_is_left_after_twenty_minutes_and_dated_at_the_crossing() -> None:
    """Ten minutes of warmth are no end of it; twenty are, from when they began."""
    readings = spells((9.0, 2), (11.0, 1 / 6), (9.0, 1), (11.0, 0.5))
    a = whole(readings, 3.2)
    assert a.parked_since == START
    b = whole(readings, 3.6)
    assert b.parked_since is None
    (span,) = b.parked
    assert span.end is not None
    assert abs((span.end - START) / HOUR - (3 + 1 / 6)) < 0.02


def test_parked_is_not_said_of_an_old_reading() -> None:
    """More than 15 minutes after the last reading nobody knows; the span is kept."""
    a = whole(held(9.0, 2), 2.5)
    assert a.parked_since is None
    assert a.parked[0].start == START


def test_a_part_past_sand_is_not_parked() -> None:
    """Cold can't hurt it any more."""
    a = whole(spells((25.0, 16), (8.0, 3)), 18.9)
    assert a.parked == ()


# ── What overrules the count ────────────────────────────────────────────────────────────────


def test_a_mix_outside_the_sheet_never_cures_right() -> None:
    """Every stage, gel and blanks too, however warm it was."""
    a = whole(held(20.0, 30), 29, mix_pct=2.5)
    assert {s.verdict for s in a.stages} == {Verdict.WONT_CURE}
    assert a.overruled_by == ("mix-outside",)


def test_a_part_too_hot_is_looked_at_first() -> None:
    """Over the sheet's limit, every later opening can't be told; one reached before stays."""
    hot = columns(series("A10").time_s, series("A10").temperature_c)
    mixed = at(story("A10")["mixed_at"])
    stay = StayRead(hot, Channel.AIR, Nearness.PROBE)
    judged_by = sheet("B1", aim_pct=1.25)
    told = Case(judged_by, mixed, Weighed(mix_pct=1.25), counted=(stay,), watched=(stay,))
    a = assess(told, at("2026-05-02T16:30:00Z"))
    assert a.count.middle == pytest.approx(82.3, abs=0.2)
    assert a.overruled_by == ("part-too-hot",)
    flip = a.stage(Stage.FLIP)
    assert flip.verdict is Verdict.CANT_TELL
    assert flip.reason == "It ran hotter than its sheet allows: look for cracks and a brown heart."
    assert a.stage(Stage.GEL).verdict is Verdict.DUE


def test_hours_of_cold_before_gel_leave_a_doubt() -> None:
    """More than 3 h under the floor before gel: at most test it, for ever."""
    cold = spells((11.0, 0.5), (8.0, 3.2), (20.0, 30))
    a = whole(cold, 33)
    assert "cold-before-gel" in a.overruled_by
    assert a.stage(Stage.SAND).verdict is Verdict.TEST_IT
    brief = whole(spells((11.0, 0.5), (8.0, 2.8), (20.0, 30)), 33)
    assert brief.overruled_by == ()
    assert brief.stage(Stage.SAND).verdict is Verdict.READY


@pytest.mark.parametrize(
    ("mix_pct", "flag"), [(None, "mix-not-logged"), (1.8, "mix-off-aim"), (1.25, "mix-off-aim")]
)
def test_a_mix_that_is_unknown_or_off_its_aim(mix_pct: float | None, flag: str) -> None:
    """The stage figures hold at the aim: at most test it."""
    stay = StayRead(held(20.0, 20), Channel.AIR, Nearness.BESIDE)
    told = Case(sheet("P1"), START, Weighed(mix_pct=mix_pct), counted=(stay,), watched=(stay,))
    a = assess(told, START + 19 * HOUR)
    assert a.overruled_by == (flag,)
    assert a.stage(Stage.SAND).verdict is Verdict.TEST_IT
    assert a.stage(Stage.PROPS_OFF).verdict is Verdict.NOT_YET


@pytest.mark.parametrize("mix_pct", [1.3, 1.7])
def test_a_fifth_of_a_point_off_the_aim_is_on_it(mix_pct: float) -> None:
    """0.2 points are allowed, to the last binary digit."""
    assert whole(held(20.0, 20), 19, mix_pct=mix_pct).overruled_by == ()


def test_a_hull_without_a_probe() -> None:
    """The hull may be colder than the air: what bears on it is tested."""
    stay = StayRead(held(20.0, 40), Channel.AIR, Nearness.BESIDE)
    told = Case(
        sheet("P1"), START, Weighed(mix_pct=1.5), counted=(stay,), watched=(stay,), on_hull=True
    )
    a = assess(told, START + 39 * HOUR)
    assert a.stage(Stage.SAND).verdict is Verdict.READY
    assert a.stage(Stage.PROPS_OFF).verdict is Verdict.TEST_IT
    probe = StayRead(held(20.0, 40), Channel.SURFACE, Nearness.PROBE)
    probed = assess(replace(told, watched=(stay, probe)), START + 39 * HOUR)
    assert probed.stage(Stage.PROPS_OFF).verdict is Verdict.READY


def test_loads_on_a_safety_part_are_not_ours_to_say() -> None:
    """The count is given, and the makers' and designers' figures are pointed to."""
    stay = StayRead(held(20.0, 90), Channel.AIR, Nearness.BESIDE)
    weighed = Weighed(mix_pct=40.0)
    told = Case(sheet("E1"), START, weighed, counted=(stay,), watched=(stay,), safety=True)
    load = assess(told, START + 80 * HOUR).stage(Stage.LOAD)
    assert load.verdict is Verdict.CANT_TELL
    assert load.reason == "Loads: maker's and designer's figures only."
    assert load.by_count, "the count is shown beside it"


# ── Mixes ───────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("hardener_g", "state"),
    [(80.0, "outside"), (96.9, "outside"), (97.0, "at-the-limit"), (100.0, "right"),
     (103.0, "at-the-limit"), (103.1, "outside")],
)  # fmt: skip
def test_an_epoxy_ratio(hardener_g: float, state: str) -> None:
    """250 g resin wants 100 g hardener ± 3 %: the limit itself passes, said to be one."""
    assert judge_mix(sheet("E1"), Weighed(250.0, hardener_g=hardener_g)).state == state


def test_the_words_of_a_short_ratio() -> None:
    """How short, and how far it may be."""
    told = judge_mix(sheet("E1"), Weighed(250.0, hardener_g=80.0))
    assert told.sentence == "Hardener is 20.0 % short of the sheet's ratio; its limit is 3 %."


# ── A remembered mixing time, and joints ────────────────────────────────────────────────────


def test_a_remembered_time_opens_later_and_shuts_earlier() -> None:
    """± 10 minutes at a steady 27 °C move the knife window's ends by 10 minutes each."""
    told = story("A13")
    mixed = at(told["mixed_at"])
    seen = case(sheet("P1"), mixed, series("A13", step_s=60.0))
    sure = assess(seen, at("2026-05-02T15:10:00Z")).stage(Stage.KNIFE_TRIM)
    vague = assess(
        replace(seen, give_or_take=timedelta(minutes=10)), at("2026-05-02T15:10:00Z")
    ).stage(Stage.KNIFE_TRIM)
    assert vague.opens.late is not None
    assert sure.opens.late is not None
    assert (vague.opens.late - sure.opens.late) / timedelta(minutes=1) == pytest.approx(
        10.0, abs=0.05
    )
    assert vague.shuts is not None
    assert sure.shuts is not None
    assert vague.shuts.early is not None
    assert sure.shuts.early is not None
    assert (sure.shuts.early - vague.shuts.early) / timedelta(minutes=1) == pytest.approx(
        10.0, abs=0.05
    )


def test_a_joint_takes_its_slowest_batch_and_worst_flag() -> None:
    """One batch that won't cure right decides the joint."""
    good = whole(held(20.0, 20), 19)
    bad = whole(held(20.0, 20), 19, mix_pct=0.5)
    late = assess(case(sheet("P1"), START + 5 * HOUR, held(20.0, 20)), START + 19 * HOUR)
    slow = join((("3/skin-a", good), ("3/skin-b", late)))
    assert slow is not None
    sand = next(s for s in slow.stages if s.stage is Stage.SAND)
    assert (sand.verdict, sand.slowest) == (Verdict.NOT_YET, "3/skin-b")
    worst = join((("3/skin-a", good), ("3/skin-b", bad)))
    assert worst is not None
    assert {s.verdict for s in worst.stages} == {Verdict.WONT_CURE}
    assert worst.overruled_by == ("mix-outside",)
    assert join(()) is None


def test_a_plain_coat_under_a_waxed_one_seals_with_it() -> None:
    """By itself a plain coat never seals; in a joint the waxed coat over it speaks for both."""
    plain = replace(case(sheet("G1"), START, held(20.0, 20), mix_pct=1.8), waxed=False)
    waxed = replace(case(sheet("G1"), START + 3 * HOUR, held(20.0, 20), mix_pct=1.8), waxed=True)
    coats = tuple(
        (name, assess(one, START + 19 * HOUR))
        for name, one in (("3/plain-coat", plain), ("3/wax-coat", waxed))
    )
    assert coats[0][1].stage(Stage.SEALED).verdict is Verdict.CANT_TELL
    alone, both = join(coats[:1]), join(coats)
    assert alone is not None
    assert both is not None
    sealed = {one: next(s for s in one.stages if s.stage is Stage.SEALED) for one in (alone, both)}
    assert sealed[alone].verdict is Verdict.CANT_TELL
    assert sealed[both].slowest == "3/wax-coat"
    assert sealed[both].verdict is Verdict.READY
