"""An invented history, and a page that shows one chart of it."""

import json
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from html import escape
from importlib.resources import files
from pathlib import Path

import numpy as np

from dashboards.figures.parts.frame import Drawing
from dashboards.figures.parts.told import Told
from monitor.air import dew_point_c, spread_c
from monitor.answers.views import (
    CountAhead,
    CountSeries,
    LayupHistory,
    StaySeries,
    WarmthAhead,
)
from monitor.records import (
    WINDOWS,
    Alert,
    Channel,
    Edges,
    FloatArray,
    Forecast,
    Gap,
    Mark,
    MarkKind,
    Nearness,
    Parked,
    Sheet,
    Stage,
    StageAnswer,
    StageForecast,
    Verdict,
)
from monitor.times import from_unix

MIXED = datetime(2026, 5, 2, 14, 0, tzinfo=UTC)
_HOURS = 22.0
_AHEAD_H = 8.0
_SILENT_H = (13.0, 15.5)
_SUNNED_H = (19.0, 19.6)

SHEET = Sheet(
    "DEMO sample sheet",
    "polyester",
    demo=True,
    working_c=(15.0, 30.0),
    humidity_max_pct=80.0,
    dew_spread_min_c=3.0,
    base_c=5.0,
    floor_c=10.0,
    cap_c=40.0,
    part_max_c=60.0,
    needs={
        Stage.GEL: (10.0,),
        Stage.KNIFE_TRIM: (18.0, 40.0),
        Stage.RECOAT: (10.0, 360.0),
        Stage.FLIP: (75.0,),
        Stage.SAND: (240.0,),
    },
)

_AT = MIXED + timedelta(hours=_HOURS)
_BASIS = "tonight like last night"


def _answer(
    stage: Stage, verdict: Verdict, opens: tuple[float | None, ...], shuts_h: float | None = None
) -> StageAnswer:
    return StageAnswer(
        stage,
        "event" if stage is Stage.GEL else "window" if stage in WINDOWS else "opening",
        SHEET.needs[stage],
        verdict,
        _edges(*opens),
        Edges(early=_after(shuts_h)) if stage in WINDOWS else None,
        None,
        "",
        True,
    )


def _after(hours: float | None) -> datetime | None:
    return None if hours is None else MIXED + timedelta(hours=hours)


def _edges(*hours: float | None) -> Edges:
    return Edges(*(_after(hour) for hour in hours))


_STAGES = (
    _answer(Stage.GEL, Verdict.DUE, (0.6, 0.7, 0.8)),
    _answer(Stage.KNIFE_TRIM, Verdict.SHUT, (1.0, 1.1, 1.2), 2.3),
    _answer(Stage.RECOAT, Verdict.READY, (0.5, 0.6, 0.7)),
    _answer(Stage.FLIP, Verdict.READY, (4.6, 5.0, 5.6)),
    _answer(Stage.SAND, Verdict.NOT_YET, (None, None, None)),
)

_FORECAST = Forecast(
    _BASIS,
    (
        StageForecast(Stage.RECOAT, Edges(), _edges(30.0, 33.0, None)),
        StageForecast(Stage.SAND, _edges(25.0, 27.0, 29.0), None),
    ),
)


def sample_history(unit: str = "c", zone: str = "Europe/Lisbon") -> LayupHistory:
    """A cold night with a silence and a sunned sensor in it, and some hours ahead. Invented."""
    hours = np.arange(0.0, _HOURS, 1 / 30)
    air_c = _air_c(hours)
    earning = np.where(air_c < 10.0, 0.0, np.maximum(air_c - 5.0, 0.0)) / 30.0
    middle = np.concatenate([[0.0], np.cumsum(earning)[:-1]])
    band = hours * 0.9
    time_s = MIXED.timestamp() + hours * 3600.0
    heard = _outside(hours, _SILENT_H)
    sunned = ~_outside(hours, _SUNNED_H)
    end_s = _AT.timestamp() + _AHEAD_H * 3600.0
    return LayupHistory(
        3,
        "hatch lid, new panel",
        _AT,
        zone,
        unit,
        time_s[0],
        end_s,
        (_stay(time_s, air_c, heard & ~sunned, sunned),),
        (
            CountSeries(
                "3/skin-a",
                MIXED,
                "dh",
                time_s[::5],
                np.maximum(middle - band, 0.0)[::5],
                middle[::5],
                (middle + band)[::5],
                tuple(_gap(*span) for span in (_SILENT_H, _SUNNED_H)),
                _parked(time_s, air_c),
                SHEET,
                _STAGES,
                "skin A, mixed 15:00 Sat",
                _ahead(middle[-1], band[-1]),
                _FORECAST,
            ),
        ),
        (
            Mark(1, 1, None, MarkKind.KICKED, MIXED + timedelta(minutes=45)),
            Mark(2, 1, None, MarkKind.TRIMMED_CLEAN, MIXED + timedelta(minutes=100)),
            Mark(3, 1, None, MarkKind.COVERED, MIXED + timedelta(hours=7)),
            Mark(4, 1, None, MarkKind.UNCOVERED, MIXED + timedelta(hours=18)),
        ),
        (
            Alert(
                1,
                "out-of-range",
                "shed:air:under",
                _after_surely(9.2),
                _after_surely(9.5),
                (3,),
                "9.8 °C at shed.",
                "Tent it.",
            ),
        ),
        (time_s[0], end_s),
        700,
        tuple(
            (MIXED.timestamp() + a * 3600.0, MIXED.timestamp() + b * 3600.0)
            for a, b in (_SILENT_H, _SUNNED_H)
        ),
        (_warmth(),),
        (SHEET,),
    )


def _after_surely(hours: float) -> datetime:
    return MIXED + timedelta(hours=hours)


def _air_c(hours: FloatArray) -> FloatArray:
    return np.asarray(
        15.5 + 7.0 * np.cos((hours - 1.0) / 24.0 * 2 * np.pi) + 0.3 * np.sin(hours * 5.0)
    )


def _lead_h() -> FloatArray:
    return np.arange(0.0, _AHEAD_H + 0.01, 0.25)


def _ahead(reached: float, band: float) -> CountAhead:
    lead = _lead_h()
    middle = reached + lead * 13.0
    off = band + lead * 2.5
    time_s = _AT.timestamp() + lead * 3600.0
    return CountAhead(time_s, middle - off, middle, middle + off, _BASIS)


def _warmth() -> WarmthAhead:
    lead = _lead_h()
    return WarmthAhead(
        "shed", Channel.AIR, _AT.timestamp() + lead * 3600.0, _air_c(_HOURS + lead), _BASIS
    )


def _outside(hours: FloatArray, span: tuple[float, float]) -> np.ndarray:
    return (hours < span[0]) | (hours > span[1])


def _gap(start_h: float, end_h: float) -> Gap:
    return Gap(MIXED + timedelta(hours=start_h), MIXED + timedelta(hours=end_h), "silent")


def _parked(time_s: FloatArray, air_c: FloatArray) -> tuple[Parked, ...]:
    cold = time_s[air_c < 10.0]
    return (Parked(from_unix(cold[0]), from_unix(cold[-1])),)


def _stay(
    time_s: FloatArray, air_c: FloatArray, good: np.ndarray, suspect: np.ndarray
) -> StaySeries:
    humidity = 60.0 + 30.0 * (22.0 - air_c) / 15.0
    dew = dew_point_c(air_c[good], humidity[good])
    return StaySeries(
        "shed",
        Channel.AIR,
        Nearness.BESIDE,
        time_s[good],
        air_c[good],
        humidity[good],
        dew,
        spread_c(air_c[good], dew),
        time_s[suspect],
        air_c[suspect] + 9.0,
    )


def write_sample_page(
    draw: Callable[[LayupHistory], Drawing], tell: Callable[[LayupHistory], Told], title: str
) -> None:
    """Write a page with one chart of the invented history to the path given as argument."""
    if len(sys.argv) != 2:
        raise SystemExit("Say where to write the page: a path that ends in .html.")
    history = sample_history()
    told = tell(history)
    chart = json.dumps(draw(history).spec()).replace("<", "\\u003c")
    library = files("dashboards").joinpath("static", "plotly-basic.min.js").read_text("utf-8")
    Path(sys.argv[1]).write_text(
        f"<!doctype html><html lang=en><meta charset=utf-8><title>{escape(title)}</title>"
        f"<h1>{escape(title)}</h1><p>Invented figures.</p><div id=chart></div>"
        f"<p>{escape(told.sentence)}</p><script>{library}</script>"
        f"<script>const drawn = {chart};"
        "Plotly.newPlot('chart', drawn.data, drawn.layout);</script>",
        encoding="utf-8",
    )
