"""A settled record answers as the whole one does, wherever it is settled and however often."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from monitor.assess import Case, Settled, assess, settle, settling_point
from monitor.cure.beside import StayRead
from monitor.cure.mixing import Weighed
from monitor.records import (
    Assessment,
    Channel,
    Doubt,
    Flags,
    Mark,
    MarkKind,
    Nearness,
    Readings,
    Sheet,
    Stage,
)

MIXED_AT = datetime(2026, 5, 2, 9, 30, tzinfo=UTC)
MIXED_S = MIXED_AT.timestamp()
DOUBTS = (
    0,
    0,
    0,
    0,
    Flags(temperature=Doubt.SUNNED).packed(),
    Flags(humidity=Doubt.FROZEN).packed(),
)


def _sheet(rng: np.random.Generator) -> Sheet:
    return Sheet(
        name="DEMO made-up",
        kind="polyester",
        demo=True,
        base_c=5.0,
        floor_c=float(rng.uniform(8, 14)) if rng.random() < 0.8 else None,
        cap_c=float(rng.uniform(22, 40)) if rng.random() < 0.5 else None,
        doubling_c=10.0 if rng.random() < 0.3 else None,
        dew_spread_min_c=3.0 if rng.random() < 0.8 else None,
        part_max_c=26.0 if rng.random() < 0.3 else None,
        wax_temperature_c=(12.0, 30.0),
        recoat_max_hours=48.0 if rng.random() < 0.5 else None,
        needs={
            Stage.GEL: (10.0,),
            Stage.KNIFE_TRIM: (18.0, 40.0),
            Stage.RECOAT: (30.0, 360.0),
            Stage.SEALED: (60.0,),
            Stage.SAND: (240.0,),
            Stage.FULL: (2520.0,),
        },
    )


def _readings(rng: np.random.Generator, start_s: float, end_s: float, step_s: float) -> Readings:
    """A place's weather with silences, doubts and damp nights."""
    time_s = np.arange(start_s, end_s, step_s)
    for _ in range(rng.integers(0, 5)):
        gap_s = start_s + rng.random() * (end_s - start_s)
        length_s = float(rng.choice([600.0, 1500.0, 5000.0, 30_000.0]))
        time_s = time_s[(time_s < gap_s) | (time_s > gap_s + length_s)]
    hours = (time_s - MIXED_S) / 3600.0
    swing = rng.uniform(2, 8) * np.sin(hours / 24 * 2 * np.pi + rng.uniform(0, 6))
    temperature_c = rng.uniform(9, 20) + swing + rng.normal(0, 0.2, time_s.size)
    humidity_pct = np.clip(75 - 4 * swing + rng.normal(0, 1, time_s.size), 5, 100)
    surface_c = temperature_c - rng.uniform(0, 2)
    flags = np.zeros(time_s.size, np.int64)
    for _ in range(rng.integers(0, 4)):
        first = rng.integers(0, max(time_s.size, 1))
        flags[first : first + rng.integers(1, 300)] |= rng.choice(DOUBTS)
    surface_c[rng.random(time_s.size) < 0.01] = np.nan
    return Readings(time_s, temperature_c, humidity_pct, surface_c, flags)


def _case(seed: int) -> tuple[Case, datetime]:
    rng = np.random.default_rng(seed)
    end_s = MIXED_S + rng.uniform(30, 140) * 3600.0
    step_s = float(rng.choice([30.0, 60.0, 60.0, 300.0]))
    ends = [MIXED_S + rng.uniform(-2, 1) * 3600.0, end_s]
    if rng.random() < 0.4:  # a move
        ends.insert(1, ends[0] + rng.random() * (end_s - ends[0]))
    stays = []
    for i in range(len(ends) - 1):
        carried_s = rng.choice([120.0, 4000.0])
        readings = _readings(rng, ends[i] + carried_s, ends[i + 1], step_s)
        nearness = Nearness.BESIDE if rng.random() < 0.5 else Nearness.SAME_SPACE
        stays.append(StayRead(readings, Channel.AIR, nearness))
    watched = list(stays)
    if rng.random() < 0.4:
        other = _readings(rng, MIXED_S + 7200.0, end_s - 3600.0, 120.0)
        watched.append(StayRead(other, Channel.SURFACE, Nearness.PROBE))
    marks = (
        (Mark(1, 1, None, MarkKind.SEEN_WARM, MIXED_AT + timedelta(hours=20), None),)
        if rng.random() < 0.3
        else ()
    )
    case = Case(
        _sheet(rng),
        MIXED_AT,
        Weighed(mix_pct=1.5),
        timedelta(minutes=10) if rng.random() < 0.3 else timedelta(0),
        tuple(stays),
        tuple(watched),
        waxed=bool(rng.random() < 0.5),
        marks=marks,
    )
    return case, datetime.fromtimestamp(end_s + rng.choice([0.0, 60.0, 4000.0, 20_000.0]), UTC)


def _rest(case: Case, before: Settled) -> Case:
    """The case with only what came after it was settled."""

    def after(stay: StayRead) -> StayRead:
        later = float(np.nextafter(before.since.knot_s, np.inf))
        return replace(stay, readings=stay.readings.between(later, np.inf))

    return replace(
        case,
        counted=tuple(after(stay) for stay in case.counted),
        watched=tuple(after(stay) for stay in case.watched),
        before=before,
    )


def _same(one: Assessment, other: Assessment) -> None:
    """Alike to a thousandth of a degree-hour and a tenth of a second; every word alike."""
    for a, b in (
        (one.count.low, other.count.low),
        (one.count.middle, other.count.middle),
        (one.count.high, other.count.high),
    ):
        assert (a is None) == (b is None)
        assert a is None or b is None or a == pytest.approx(b, abs=1e-3)
    assert len(one.stages) == len(other.stages)
    for mine, theirs in zip(one.stages, other.stages, strict=True):
        assert (mine.stage, mine.verdict, mine.reason, mine.shut_by) == (
            theirs.stage,
            theirs.verdict,
            theirs.reason,
            theirs.shut_by,
        )
        for edges, others in ((mine.opens, theirs.opens), (mine.shuts, theirs.shuts)):
            assert (edges is None) == (others is None)
            if edges is not None and others is not None:
                for edge in ("early", "middle", "late"):
                    a_at, b_at = getattr(edges, edge), getattr(others, edge)
                    assert (a_at is None) == (b_at is None)
                    assert a_at is None or abs((a_at - b_at).total_seconds()) < 0.1
    assert one.readings == other.readings
    assert one.gaps == other.gaps
    assert one.bond_line == other.bond_line
    assert one.overruled_by == other.overruled_by
    assert one.parked_since == other.parked_since
    assert one.parked == other.parked
    assert (one.nearness, one.band_c) == (other.nearness, other.band_c)


@pytest.mark.parametrize("seed", range(120))
def test_a_settled_record_answers_as_the_whole(seed: int) -> None:
    """Settled once, and settled again from there, at later and later moments of asking."""
    case, end = _case(seed)
    before: Settled | None = None
    hours = (end - MIXED_AT).total_seconds() / 3600.0
    for share in (0.3, 0.5, 0.55, 0.8, 1.0):
        now = MIXED_AT + timedelta(hours=share * hours)
        case_now = case if before is None else _rest(case, before)
        _same(assess(case_now, now), assess(case, now))
        point = settling_point(case_now, now.timestamp())
        if point is not None:
            before = settle(case_now, point)
            assert before.since.knot_s == point
            _same(assess(_rest(case, before), now), assess(case, now))


def test_most_of_these_histories_are_settled_at_all() -> None:
    """Or the test above would compare the whole with itself."""
    settled = [
        settling_point(case, end.timestamp()) is not None for case, end in map(_case, range(120))
    ]
    assert sum(settled) > 60


def test_little_is_left_to_ask_again() -> None:
    """However long the record, what comes after the settling point stays short."""
    rng = np.random.default_rng(1)
    readings = _readings(rng, MIXED_S, MIXED_S + 60 * 86_400.0, 60.0)
    stay = StayRead(readings, Channel.AIR, Nearness.BESIDE)
    case = Case(_sheet(rng), MIXED_AT, counted=(stay,), watched=(stay,))
    point = settling_point(case, float(readings.time_s[-1]))
    assert point is not None
    rest = _rest(case, settle(case, point))
    assert len(rest.counted[0].readings) < 1500
