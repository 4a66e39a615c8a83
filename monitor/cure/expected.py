"""Each stage that is still to come, from the count so far and the outlook. All of it a guess."""

from datetime import datetime

from monitor.cure.dew import dew_expected
from monitor.cure.forecast import Ahead, Expected, Missing, look_ahead
from monitor.cure.law import closing_law, opening_law
from monitor.cure.outlook import Course, NoOutlook, Outlook
from monitor.cure.stages import Counted, StageTimes
from monitor.records import WINDOWS, Edges, Forecast, Sheet, Stage, StageForecast
from monitor.times import from_unix
from monitor.units import SECONDS_PER_HOUR

NOTHING = Forecast("Nothing to look ahead from.", ())


def expect(
    counted: Counted | None,
    sheet: Sheet,
    outlook: Outlook | NoOutlook | None,
    band_c: float,
    mixed_s: float,
    dew: Course | NoOutlook | None = None,
) -> Forecast:
    """The stages not yet reached at their careful edge, and the windows not yet shut.

    `band_c` (°C) is how far the part may be from its sensor; `mixed_s` Unix seconds, for plain
    hours; `dew` the dew points to come. Valid for any count; without an outlook it says why there
    is none. Source: the sheet's figures on the outlook.
    """
    if outlook is None:
        return NOTHING
    if isinstance(outlook, NoOutlook):
        return Forecast(outlook.why, ())
    opening, closing = opening_law(sheet), closing_law(sheet)
    if counted is None or opening is None or closing is None:
        return Forecast("Your sheet doesn't give a base to count from.", ())
    opens, shuts = look_ahead(outlook, opening, band_c), look_ahead(outlook, closing, band_c)
    stages = []
    for stage, times in counted.times.items():
        needs = sheet.needs[stage]
        to_open = times.opens_late_s is None
        to_shut = stage in WINDOWS and times.shuts_early_s is None
        if to_open or to_shut:
            stages.append(
                StageForecast(
                    stage,
                    _opens(opens, counted, times, needs[0]),
                    _shuts(shuts, counted, stage, sheet, needs[1], mixed_s) if to_shut else None,
                )
            )
    return Forecast(outlook.basis, tuple(stages), _dew_at(outlook, dew, sheet))


def _dew_at(outlook: Outlook, dew: Course | NoOutlook | None, sheet: Sheet) -> datetime | None:
    if not isinstance(dew, Course) or sheet.dew_spread_min_c is None:
        return None
    at_s = dew_expected(outlook, dew, sheet.dew_spread_min_c)
    return None if at_s is None else from_unix(at_s)


def _opens(ahead: Ahead, counted: Counted, times: StageTimes, need: float) -> Edges:
    """The edges to come; one that was reached already is the record's to tell."""
    told = ahead.reached(
        Missing(
            need - counted.low,
            None if counted.middle is None else need - counted.middle,
            None if counted.high is None else need - counted.high,
        )
    )
    return _edges(
        Expected(
            told.early_s if times.opens_early_s is None else None,
            told.middle_s if times.opens_middle_s is None else None,
            told.late_s if times.opens_late_s is None else None,
        )
    )


def _shuts(
    ahead: Ahead,
    counted: Counted,
    stage: Stage,
    sheet: Sheet,
    need: float,
    mixed_s: float,
) -> Edges:
    told = ahead.reached(
        Missing(
            None,
            None if counted.closing_middle is None else need - counted.closing_middle,
            None if counted.closing_high is None else need - counted.closing_high,
        )
    )
    early_s, middle_s = told.early_s, told.middle_s
    if stage is Stage.RECOAT and sheet.recoat_max_hours is not None:
        limit_s = mixed_s + sheet.recoat_max_hours * SECONDS_PER_HOUR
        early_s = limit_s if early_s is None else min(early_s, limit_s)
        middle_s = limit_s if middle_s is None else min(middle_s, limit_s)
    return _edges(Expected(early_s, middle_s, None))


def _edges(told: Expected) -> Edges:
    early, middle, late = (
        None if at_s is None else from_unix(at_s)
        for at_s in (told.early_s, told.middle_s, told.late_s)
    )
    return Edges(early, middle, late)
