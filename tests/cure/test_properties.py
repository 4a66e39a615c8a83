"""What must hold for any history: warmth, splitting, silence, doubt, and a second opinion."""

from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from monitor.assess import Case, assess
from monitor.cure.beside import StayRead
from monitor.cure.exposure import Exposure, expose
from monitor.cure.law import Law
from monitor.cure.mixing import Weighed
from monitor.cure.trace import GAP_S, Trace
from monitor.records import Channel, Doubt, Flags, FloatArray, Nearness, Sheet, Stage, Verdict
from monitor.times import from_unix
from tests.cure.histories import START_S, a_sheet, arrhenius_sheet, closing, opening, tally
from tests.cure.naive import Rates, Said, Tape, tape
from tests.scenarios import columns

MINUTE_S = 60.0
ROUNDING = 1e-6


@dataclass(frozen=True)
class History:
    """Readings of one or two stays, made of whole minutes from START_S on."""

    stays: tuple[tuple[FloatArray, FloatArray, Nearness], ...]
    mixed_s: float
    now_s: float

    def exposure(self, give_or_take_s: float = 0.0, warmer_c: float = 0.0) -> Exposure:
        traces = tuple(
            Trace(time_s, line_c + warmer_c, nearness, np.empty(0))
            for time_s, line_c, nearness in self.stays
        )
        return expose(traces, self.mixed_s, self.now_s, give_or_take_s)

    @property
    def time_s(self) -> FloatArray:
        return np.concatenate([time_s for time_s, _, _ in self.stays])


SHORT_STEPS = st.integers(1, 15)
ANY_STEPS = st.one_of(SHORT_STEPS, SHORT_STEPS, st.integers(16, 119), st.integers(120, 400))
WARMTH = st.floats(-5.0, 45.0)


@st.composite
def histories(draw, steps=ANY_STEPS, most_stays: int = 2) -> History:
    """Steady steps, gaps of every length, a move, mixing before, between or at readings."""
    stays, clock = [], 0
    for _ in range(draw(st.integers(1, most_stays))):
        gaps = draw(st.lists(steps, min_size=2, max_size=12))
        minutes = clock + np.concatenate(([0], np.cumsum(gaps)))
        line_c = draw(st.lists(WARMTH, min_size=len(gaps) + 1, max_size=len(gaps) + 1))
        stays.append(
            (START_S + MINUTE_S * minutes, np.array(line_c), draw(st.sampled_from(Nearness)))
        )
        clock = int(minutes[-1]) + draw(st.integers(1, 200))
    last_minute = int((stays[-1][0][-1] - START_S) / MINUTE_S)
    mixed = draw(st.integers(-150, last_minute - 1))
    now = last_minute + draw(st.integers(-5, 200))
    return History(
        tuple(stays), START_S + MINUTE_S * mixed, START_S + MINUTE_S * max(now, mixed + 1)
    )


@st.composite
def laws(draw) -> Law:
    """Any law that a sheet can give."""
    base_c = draw(st.floats(-5.0, 12.0))
    floor_c = draw(st.none() | st.floats(0.0, 15.0))
    cap_c = draw(st.none() | st.floats(20.0, 40.0))
    if draw(st.booleans()):
        sheet = arrhenius_sheet(draw(st.floats(20.0, 80.0)), floor_c=floor_c, cap_c=cap_c)
    else:
        doubling_c = draw(st.none() | st.floats(4.0, 15.0))
        sheet = a_sheet(base_c=base_c, floor_c=floor_c, cap_c=cap_c, doubling_c=doubling_c)
    return (opening if draw(st.booleans()) else closing)(sheet)


def totals(exposure: Exposure, law: Law) -> list[float | None]:
    """Low, middle and high."""
    return [tally(exposure, edge, law).total for edge in exposure.edges]


def no_more(small: float | None, large: float | None) -> bool:
    """Whether one total is at most another, where both are known."""
    return small is None or large is None or small <= large + ROUNDING


def same(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) <= 1e-9 * max(1.0, abs(one))


@settings(max_examples=200, derandomize=True)
@given(histories(), laws(), st.floats(0.0, 15.0), st.floats(0.01, 300.0))
def test_warmer_is_never_slower(history: History, law: Law, warmer_c: float, need: float) -> None:
    """With every reading warmer, each edge of each law comes no later and has counted no less."""
    as_read, warmed = history.exposure(), history.exposure(warmer_c=warmer_c)
    for cold_edge, warm_edge in zip(as_read.edges, warmed.edges, strict=True):
        cold, warm = tally(as_read, cold_edge, law), tally(warmed, warm_edge, law)
        assert no_more(cold.total, warm.total)
        # The hair more on the cold side is for floats: a need met exactly on a flat stretch.
        cold_s, warm_s = cold.reached(need + ROUNDING), warm.reached(need)
        if cold_s is not None:
            assert warm_s is not None
            assert warm_s <= cold_s + 1e-3


@settings(max_examples=200, derandomize=True)
@given(histories(), laws(), st.floats(0.01, 300.0), st.data())
def test_splitting_an_interval_changes_nothing(
    history: History, law: Law, need: float, data: st.DataObject
) -> None:
    """A reading more, on the line between two at most 15 minutes apart, tells nothing new."""
    stay = data.draw(st.integers(0, len(history.stays) - 1))
    time_s, line_c, nearness = history.stays[stay]
    at = data.draw(st.integers(0, time_s.size - 2))
    assume(time_s[at + 1] - time_s[at] <= GAP_S)
    share = data.draw(st.floats(0.01, 0.99))
    new_s = time_s[at] + share * (time_s[at + 1] - time_s[at])
    new_c = line_c[at] + share * (line_c[at + 1] - line_c[at])
    split = np.insert(time_s, at + 1, new_s), np.insert(line_c, at + 1, new_c), nearness
    stays = (*history.stays[:stay], split, *history.stays[stay + 1 :])
    # With now between the two, the last reading is another one: then it does tell something.
    assume(not time_s[at] <= history.now_s < time_s[at + 1])
    whole, cut = history.exposure(), replace(history, stays=stays).exposure()
    for one, other in zip(whole.edges, cut.edges, strict=True):
        before, after = tally(whole, one, law), tally(cut, other, law)
        assert same(before.total, after.total)
        for sooner, later in ((before, after), (after, before)):
            reached_s = later.reached(need + ROUNDING)
            if reached_s is not None:
                met_s = sooner.reached(need)
                assert met_s is not None
                assert met_s <= reached_s + 1e-3


@settings(max_examples=200, derandomize=True)
@given(histories(steps=SHORT_STEPS, most_stays=1), laws(), st.data())
def test_silence_never_narrows_the_band(history: History, law: Law, data: st.DataObject) -> None:
    """Without the readings between two others, over 15 minutes: low no higher, high no lower.

    Those taken away lie between the two that remain, in time and in warmth.
    """
    time_s, line_c, nearness = history.stays[0]
    first = data.draw(st.integers(0, time_s.size - 3))
    last = data.draw(st.integers(first + 2, time_s.size - 1))
    assume(time_s[last] - time_s[first] > GAP_S)
    assume(history.mixed_s <= time_s[first])
    assume(time_s[last] <= history.now_s)
    cold_c, warm_c = sorted((line_c[first], line_c[last]))
    line_c = line_c.copy()
    line_c[first + 1 : last] = np.clip(line_c[first + 1 : last], cold_c, warm_c)
    gone = np.arange(first + 1, last)
    silent = np.delete(time_s, gone), np.delete(line_c, gone), nearness
    full = replace(history, stays=((time_s, line_c, nearness),)).exposure()
    holed = replace(history, stays=(silent,)).exposure()
    low, _, high = totals(full, law)
    low_holed, _, high_holed = totals(holed, law)
    assert no_more(low_holed, low)
    assert no_more(high, high_holed)


@settings(max_examples=300, derandomize=True)
@given(histories(), laws())
def test_low_middle_high_keep_their_order(history: History, law: Law) -> None:
    """Whatever the gaps, moves and laws: low ≤ middle ≤ high, wherever they are known."""
    low, middle, high = totals(history.exposure(), law)
    assert no_more(low, middle)
    assert no_more(middle, high)
    assert no_more(low, high)


@settings(max_examples=300, derandomize=True)
@given(histories(), laws(), st.integers(0, 200), st.integers(0, 200))
def test_a_mixing_time_less_sure_only_widens(
    history: History, law: Law, surer_min: int, more_min: int
) -> None:
    """The vaguer the mixing time, the lower the low edge and the higher the high one.

    Whatever gaps and moves lie there; the middle doesn't move, and the three keep their order.
    """
    low, middle, high = totals(history.exposure(MINUTE_S * surer_min), law)
    vague = history.exposure(MINUTE_S * (surer_min + more_min))
    low_wide, middle_wide, high_wide = totals(vague, law)
    assert no_more(low_wide, low)
    assert same(middle, middle_wide)
    assert no_more(high, high_wide)
    assert no_more(low_wide, middle)
    assert no_more(middle, high_wide)


@pytest.mark.parametrize("give_or_take_min", [10, 20, 30])
def test_a_vague_mixing_time_beside_a_gap_only_widens(give_or_take_min: int) -> None:
    """Mixed just before 40 minutes of silence, remembered ± 10 to 30: low can't pass the middle.

    10 °C when it was mixed, 30 °C when the sensor came back; base 12.
    """
    minutes = np.array([-10.0, 0.0, 40.0, 50.0, 60.0])
    line_c = np.array([10.0, 10.0, 30.0, 30.0, 30.0])
    stays = ((START_S + MINUTE_S * minutes, line_c, Nearness.PROBE),)
    history = History(stays, START_S, START_S + MINUTE_S * 60.0)
    law = opening(a_sheet(base_c=12.0))
    sure = totals(history.exposure(), law)
    vague = totals(history.exposure(MINUTE_S * give_or_take_min), law)
    assert no_more(vague[0], sure[0])
    assert no_more(vague[0], vague[1])
    assert no_more(sure[2], vague[2])


# The second opinion: whole histories through `assess`, against one-second sums.

SEEDS = range(200)
MINUTES_2_S = 120.0


@dataclass(frozen=True)
class Story:
    sheet: Sheet
    rates: Rates
    stays: tuple[StayRead, ...]
    said: list[Said]
    mixed_s: int
    now_s: int
    give_or_take_s: int

    def tape(self, edge: str) -> Tape:
        return tape(edge, self.said, self.mixed_s, self.now_s, self.give_or_take_s)


BANDS_C = {Nearness.PROBE: 0.5, Nearness.BESIDE: 1.0, Nearness.SAME_SPACE: 2.0}


def story(seed: int) -> Story:
    """A day or two somewhere cold at night, with gaps, a move, a worse sensor and bad readings."""
    chance = np.random.default_rng(seed)
    rates = _rates(chance)
    start_s = int(START_S)
    stays, said, clock = [], [], 0
    for _ in range(int(chance.integers(1, 4))):
        times = clock + _times(chance)
        clock = int(times[-1]) + int(chance.choice([120, 1200, 5400, 12_000]))
        line_c = _line(chance, times)
        nearness = chance.choice(list(Nearness))
        worse_c = float(chance.choice([0.0, 0.0, 1.5]))
        bad = chance.random(times.size) < 0.03
        # What a suspect reading says must not matter.
        shown_c = np.where(bad, line_c + 40.0, line_c)
        flags = np.where(bad, Flags(temperature=Doubt.SPIKE).packed(), 0)
        readings = columns(start_s + times, shown_c, flags=flags)
        stays.append(StayRead(readings, Channel.AIR, nearness, worse_c))
        band_c = max(BANDS_C[nearness], worse_c)
        said += [
            Said(start_s + int(t), float(c), band_c)
            for t, c in zip(times[~bad], line_c[~bad], strict=True)
        ]
    mixed_s = start_s + int(chance.choice([-1200, -400, 0, 777, 7200]))
    last_s = max(reading.at_s for reading in said)
    now_s = last_s + int(chance.choice([-3000, 0, 500, 4000, 9000]))
    give_or_take_s = int(chance.choice([0, 0, 600]))
    figures = {
        "base_c": rates.base_c,
        "floor_c": rates.floor_c,
        "cap_c": rates.cap_c,
        "doubling_c": rates.doubling_c,
    }
    per_hour = float(rates.opening(np.array([20.0]))[0])
    needs = {
        Stage.GEL: (0.7 * per_hour,),
        Stage.KNIFE_TRIM: (1.5 * per_hour, 4.0 * per_hour),
        Stage.RECOAT: (1.0 * per_hour, 14.0 * per_hour),
        Stage.SAND: (9.0 * per_hour,),
        Stage.LOAD: (20.0 * per_hour,),
    }
    figures |= {"needs": needs, "recoat_max_hours": float(chance.choice([8.0, 18.0, 60.0]))}
    if rates.activation_kj_per_mol is None:
        sheet = a_sheet(**figures)
    else:
        del figures["base_c"], figures["doubling_c"]
        sheet = arrhenius_sheet(rates.activation_kj_per_mol, **figures)
    return Story(sheet, rates, tuple(stays), said, mixed_s, now_s, give_or_take_s)


def _rates(chance: np.random.Generator) -> Rates:
    base_c = float(chance.choice([0.0, 5.0, 8.0]))
    floor_c = chance.choice([np.nan, base_c, 10.0, 13.0])
    cap_c = chance.choice([np.nan, 22.0, 30.0])
    doubling_c = chance.choice([np.nan, np.nan, 8.0, 10.0])
    kj_per_mol = chance.choice([np.nan, np.nan, np.nan, 50.0])

    def or_none(value: float) -> float | None:
        return None if np.isnan(value) else float(value)

    return Rates(
        base_c,
        or_none(floor_c),
        or_none(cap_c),
        or_none(doubling_c) if np.isnan(kj_per_mol) else None,
        20.0,
        or_none(kj_per_mol),
    )


def _times(chance: np.random.Generator) -> np.ndarray:
    """Whole seconds from 0: a sensor's step with jitter, and a few gaps of every kind."""
    step_s = int(chance.choice([30, 60, 300, 840, 1800]))
    steps = step_s + chance.integers(-step_s // 5, step_s // 5 + 1, int(14 * 3600 / step_s))
    gaps = chance.choice([901, 1500, 3600, 7200, 7201, 16_000], 3)
    steps[chance.choice(steps.size, 3, replace=False)] = gaps
    return np.concatenate(([0], np.cumsum(steps)))


def _line(chance: np.random.Generator, times: np.ndarray) -> np.ndarray:
    hours = times / 3600.0
    mean_c, swing_c = chance.uniform(8.0, 20.0), chance.uniform(0.0, 9.0)
    day = mean_c + swing_c * np.sin(2 * np.pi * hours / 24.0 + chance.uniform(0.0, 6.0))
    return np.round(day + chance.normal(0.0, 0.4, times.size), 2)


@pytest.mark.parametrize("seed", SEEDS)
def test_counts_agree_with_one_second_sums(seed: int) -> None:
    """The three totals are those of the slow computation, within 0.1 % or 0.02; unknown alike."""
    told = story(seed)
    count = assess(_case(told), from_unix(told.now_s)).count
    for edge, ours in (("low", count.low), ("middle", count.middle), ("high", count.high)):
        slow = told.tape(edge).total(told.rates.opening)
        if slow is None and edge == "low":
            slow = 0.0
        assert (ours is None) == (slow is None), edge
        if slow is not None:
            assert ours == pytest.approx(slow, rel=1e-3, abs=0.02), edge


@pytest.mark.parametrize("seed", SEEDS)
def test_crossings_agree_with_one_second_sums(seed: int) -> None:
    """Each stage opens and shuts within 2 minutes of where the slow computation has it.

    Where almost nothing is earned a hair of count is a long time: there the count decides.
    """
    told = story(seed)
    answer = assess(_case(told), from_unix(told.now_s))
    tapes = {edge: told.tape(edge) for edge in ("low", "middle", "high")}
    for stage in answer.stages:
        if stage.needs is None:
            continue
        for ours, edge in (
            (stage.opens.early, "high"),
            (stage.opens.middle, "middle"),
            (stage.opens.late, "low"),
        ):
            _agree(ours, tapes[edge], told.rates.opening, stage.needs[0], None)
        if stage.shuts is None:
            continue
        limit_h = told.sheet.recoat_max_hours if stage.stage is Stage.RECOAT else None
        for ours, edge in ((stage.shuts.early, "high"), (stage.shuts.middle, "middle")):
            limit_s = None if limit_h is None else tapes[edge].start_s + 3600.0 * limit_h
            if limit_s is not None and limit_s > told.now_s:
                limit_s = None
            _agree(ours, tapes[edge], told.rates.closing, stage.needs[1], limit_s)


def _case(told: Story) -> Case:
    return Case(
        told.sheet,
        from_unix(told.mixed_s),
        give_or_take=timedelta(seconds=told.give_or_take_s),
        counted=told.stays,
        watched=told.stays,
    )


def _agree(ours, slow: Tape, rate, need: float, limit_s: float | None) -> None:
    slow_s = slow.reached_s(rate, need)
    if limit_s is not None:
        slow_s = limit_s if slow_s is None else min(slow_s, limit_s)
    ours_s = None if ours is None else ours.timestamp()
    if ours_s is not None and slow_s is not None and abs(ours_s - slow_s) <= MINUTES_2_S:
        return
    count = slow.count(rate)
    seen_s = ours_s if ours_s is not None else slow_s
    if seen_s is None:
        return
    second = int(np.clip(seen_s - slow.start_s, 0, count.size - 1))
    end = int(np.clip((slow_s or seen_s) - slow.start_s, 0, count.size - 1))
    idle = np.where(slow.earns, rate(slow.temperature_c), 0.0)[min(second, end) : max(second, end)]
    hair = max(0.02, 1e-3 * need)
    assert count[second] == pytest.approx(need, abs=hair), (ours, slow_s, need)
    assert idle.size == 0 or float(np.median(idle)) < 1.0, (ours, slow_s, need)


# Whole answers: what a wider band, warmth and a bad mix do to verdicts.

BATCH_SHEETS = (
    {"base_c": 5.0, "floor_c": 10.0, "cap_c": 40.0},
    {"base_c": 5.0, "floor_c": None, "cap_c": 30.0, "doubling_c": 10.0},
)
OPENINGS = (Stage.FLIP, Stage.SAND, Stage.LOAD)


def batch_of(history: History, figures: dict, nearness: Nearness | None = None, **mix) -> Case:
    """The history as a batch at its sheet's aim, mixed before its first reading or after."""
    needs = {
        Stage.GEL: (10.0,),
        Stage.KNIFE_TRIM: (18.0, 40.0),
        Stage.RECOAT: (10.0, 360.0),
        Stage.FLIP: (30.0,),
        Stage.SAND: (60.0,),
        Stage.LOAD: (120.0,),
    }
    sheet = a_sheet(catalyst_pct=(1.0, 2.0), aim_pct=1.5, needs=needs, **figures)
    stays = tuple(
        StayRead(columns(time_s, line_c), Channel.AIR, nearness or near)
        for time_s, line_c, near in history.stays
    )
    weighed = Weighed(**(mix or {"mix_pct": 1.5}))
    return Case(sheet, from_unix(history.mixed_s), weighed, counted=stays, watched=stays)


@settings(max_examples=150, derandomize=True)
@given(histories(), st.sampled_from(BATCH_SHEETS))
def test_a_wider_band_never_makes_it_ready(history: History, figures: dict) -> None:
    """Farther from the part nothing opens that wasn't ready nearer, nor any sooner."""
    now = from_unix(history.now_s)
    order = (Nearness.PROBE, Nearness.BESIDE, Nearness.SAME_SPACE)
    answers = [assess(batch_of(history, figures, nearness), now) for nearness in order]
    for nearer, farther in pairwise(answers):
        for stage in OPENINGS:
            near, far = nearer.stage(stage), farther.stage(stage)
            if far.verdict is Verdict.READY:
                assert near.verdict is Verdict.READY
                assert near.opens.late is not None
                assert far.opens.late is not None
                assert near.opens.late <= far.opens.late + timedelta(seconds=1)


@settings(max_examples=150, derandomize=True)
@given(histories(), st.sampled_from(BATCH_SHEETS), st.floats(0.0, 15.0))
def test_more_warmth_opens_nothing_later(history: History, figures: dict, warmer_c: float) -> None:
    """Each reading warmer: every edge of every opening comes no later, and ready stays ready."""
    stays = tuple((time_s, line_c + warmer_c, near) for time_s, line_c, near in history.stays)
    now = from_unix(history.now_s)
    cold = assess(batch_of(history, figures), now)
    warm = assess(batch_of(replace(history, stays=stays), figures), now)
    for stage in OPENINGS:
        before, after = cold.stage(stage), warm.stage(stage)
        if before.verdict is Verdict.READY:
            assert after.verdict in (Verdict.READY, Verdict.TEST_IT)
        for edge in ("early", "middle", "late"):
            was, came = getattr(before.opens, edge), getattr(after.opens, edge)
            if was is not None:
                assert came is not None
                assert came <= was + timedelta(seconds=1)


@settings(max_examples=100, derandomize=True)
@given(
    histories(),
    st.sampled_from(BATCH_SHEETS),
    st.one_of(st.floats(0.0, 0.99), st.floats(2.01, 9.0)),
)
def test_a_bad_mix_overrules_every_count(history: History, figures: dict, mix_pct: float) -> None:
    """Outside the sheet's range every stage won't cure right, whatever the history."""
    answer = assess(batch_of(history, figures, mix_pct=mix_pct), from_unix(history.now_s))
    assert {stage.verdict for stage in answer.stages} == {Verdict.WONT_CURE}
    assert answer.overruled_by[0] == "mix-outside"
    assert answer.forecast.stages == ()
    assert answer.bond_line.state == "cant-tell"
