"""When each stage opens and shuts, at the three edges of the band."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from monitor.cure.count import NOTHING_BROUGHT, Brought, Chunks, Tally
from monitor.cure.exposure import Exposure
from monitor.cure.law import closing_law, opening_law
from monitor.records import WINDOWS, Sheet, Stage
from monitor.units import SECONDS_PER_HOUR


@dataclass(frozen=True)
class StageTimes:
    """Unix seconds at which one stage is reached; None: not by now, or unknown.

    Openings at the high, middle and low opening count; closings at the high and middle closing
    count, or at the sheet's plain hours where those come first.
    """

    opens_early_s: float | None
    opens_middle_s: float | None
    opens_late_s: float | None
    shuts_early_s: float | None = None
    shuts_middle_s: float | None = None
    shut_by: Literal["count", "hours"] | None = None


@dataclass(frozen=True)
class Counted:
    """Everything the count says of one batch: totals (None: unknown) and each stage's times."""

    low: float
    middle: float | None
    high: float | None
    times: Mapping[Stage, StageTimes]
    closing_middle: float | None
    closing_high: float | None
    open_ended: bool
    """Whether the middle and the warm edge are unknown now: too long since a reading."""


@dataclass(frozen=True)
class CountedSoFar:
    """What each edge brings from a record counted before: for openings, and for closings."""

    low: Brought = NOTHING_BROUGHT
    middle: Brought = NOTHING_BROUGHT
    high: Brought = NOTHING_BROUGHT
    closing_middle: Brought = NOTHING_BROUGHT
    closing_high: Brought = NOTHING_BROUGHT


NOTHING_COUNTED = CountedSoFar()


@dataclass(frozen=True)
class _Tallies:
    low: Tally
    middle: Tally
    high: Tally
    closing_middle: Tally
    closing_high: Tally


def count_so_far(
    exposure: Exposure, sheet: Sheet, before: CountedSoFar = NOTHING_COUNTED
) -> CountedSoFar:
    """What a count that goes on from the exposure's last knot brings with it.

    Valid for an exposure that ends at a knot. Source: the sheet's figures.
    """
    tallies = _tallies(exposure, sheet, before)
    if tallies is None:
        return before
    opens = [needs[0] for needs in sheet.needs.values()]
    shuts = [needs[1] for stage, needs in sheet.needs.items() if stage in WINDOWS]
    return CountedSoFar(
        tallies.low.so_far(opens),
        tallies.middle.so_far(opens),
        tallies.high.so_far(opens),
        tallies.closing_middle.so_far(shuts),
        tallies.closing_high.so_far(shuts),
    )


def _tallies(exposure: Exposure, sheet: Sheet, before: CountedSoFar) -> _Tallies | None:
    opening, closing = opening_law(sheet), closing_law(sheet)
    if opening is None or closing is None:
        return None
    chunks = Chunks(exposure)
    return _Tallies(
        Tally(chunks, exposure.low, opening, before.low),
        Tally(chunks, exposure.middle, opening, before.middle),
        Tally(chunks, exposure.high, opening, before.high),
        Tally(chunks, exposure.middle, closing, before.closing_middle),
        Tally(chunks, exposure.high, closing, before.closing_high),
    )


def count_stages(
    exposure: Exposure, sheet: Sheet, before: CountedSoFar = NOTHING_COUNTED
) -> Counted | None:
    """The count of an exposure and its stages. None: the sheet gives no base to count from.

    `before` is what an exposure that doesn't begin at mixing goes on from. Valid for any exposure.
    Source: the sheet's figures.
    """
    tallies = _tallies(exposure, sheet, before)
    if tallies is None:
        return None
    low, middle, high = tallies.low, tallies.middle, tallies.high
    shut_middle, shut_high = tallies.closing_middle, tallies.closing_high
    times: dict[Stage, StageTimes] = {}
    for stage, needs in sheet.needs.items():
        opens = high.reached(needs[0]), middle.reached(needs[0]), low.reached(needs[0])
        if stage not in WINDOWS:
            times[stage] = StageTimes(*opens)
            continue
        early, by_middle = shut_high.reached(needs[1]), shut_middle.reached(needs[1])
        early, by_middle, shut_by = _or_hours(stage, early, by_middle, sheet, exposure)
        times[stage] = StageTimes(*opens, early, by_middle, shut_by)
    total = low.total
    return Counted(
        0.0 if total is None else total,
        middle.total,
        high.total,
        times,
        shut_middle.total,
        shut_high.total,
        middle.total is None or high.total is None,
    )


def _or_hours(
    stage: Stage,
    early_s: float | None,
    middle_s: float | None,
    sheet: Sheet,
    exposure: Exposure,
) -> tuple[float | None, float | None, Literal["count", "hours"] | None]:
    shut_by: Literal["count", "hours"] | None = None if early_s is None else "count"
    if stage is not Stage.RECOAT or sheet.recoat_max_hours is None:
        return early_s, middle_s, shut_by
    limit_s = sheet.recoat_max_hours * SECONDS_PER_HOUR
    early_limit_s, middle_limit_s = (
        exposure.high.start_s + limit_s,
        exposure.middle.start_s + limit_s,
    )
    if early_limit_s <= exposure.now_s and (early_s is None or early_limit_s < early_s):
        early_s, shut_by = early_limit_s, "hours"
    if middle_limit_s <= exposure.now_s and (middle_s is None or middle_limit_s < middle_s):
        middle_s = middle_limit_s
    return early_s, middle_s, shut_by
