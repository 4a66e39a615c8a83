"""An invented history, and a page that shows one chart of it."""

import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

import numpy as np

from dashboards.figures.parts.told import Told
from monitor.air import dew_point_c, spread_c
from monitor.answers.views import CountSeries, LayupHistory, StaySeries
from monitor.records import (
    Channel,
    Edges,
    FloatArray,
    Gap,
    Mark,
    MarkKind,
    Nearness,
    Parked,
    Sheet,
    Stage,
    StageAnswer,
    Verdict,
)
from monitor.times import from_unix

MIXED = datetime(2026, 5, 2, 14, 0, tzinfo=UTC)
_HOURS = 22.0
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

_WINDOWS = tuple(
    StageAnswer(
        stage,
        "window",
        SHEET.needs[stage],
        Verdict.READY,
        Edges(late=MIXED + timedelta(hours=opened)),
        Edges() if shut is None else Edges(early=MIXED + timedelta(hours=shut)),
        None,
        "",
        True,
    )
    for stage, opened, shut in ((Stage.KNIFE_TRIM, 1.2, 2.3), (Stage.RECOAT, 0.7, None))
)


def sample_history(unit: str = "c", zone: str = "Europe/Lisbon") -> LayupHistory:
    """A cold night with a silence and a sunned sensor in it. Invented."""
    hours = np.arange(0.0, _HOURS, 1 / 30)
    air_c = 15.5 + 7.0 * np.cos((hours - 1.0) / 24.0 * 2 * np.pi) + 0.3 * np.sin(hours * 5.0)
    earning = np.where(air_c < 10.0, 0.0, np.maximum(air_c - 5.0, 0.0)) / 30.0
    middle = np.concatenate([[0.0], np.cumsum(earning)[:-1]])
    band = hours * 0.9
    time_s = MIXED.timestamp() + hours * 3600.0
    heard = _outside(hours, _SILENT_H)
    sunned = ~_outside(hours, _SUNNED_H)
    return LayupHistory(
        3,
        "hatch lid, new panel",
        from_unix(time_s[-1]),
        zone,
        unit,
        time_s[0],
        time_s[-1],
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
                _WINDOWS,
            ),
        ),
        (
            Mark(1, 1, None, MarkKind.KICKED, MIXED + timedelta(minutes=45)),
            Mark(2, 1, None, MarkKind.TRIMMED_CLEAN, MIXED + timedelta(minutes=100)),
            Mark(3, 1, None, MarkKind.COVERED, MIXED + timedelta(hours=7)),
            Mark(4, 1, None, MarkKind.UNCOVERED, MIXED + timedelta(hours=18)),
        ),
        (),
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
    draw: Callable[[LayupHistory], "Figure"], tell: Callable[[LayupHistory], Told], title: str
) -> None:
    """Write a page with one chart of the invented history to the path given as argument."""
    if len(sys.argv) != 2:
        raise SystemExit("Say where to write the page: a path that ends in .html.")
    history = sample_history()
    told = tell(history)
    chart = draw(history).to_html(full_html=False, include_plotlyjs=True)
    Path(sys.argv[1]).write_text(
        f"<!doctype html><html lang=en><meta charset=utf-8><title>{escape(title)}</title>"
        f"<h1>{escape(title)}</h1><p>Invented figures.</p>{chart}<p>{escape(told.sentence)}</p>",
        encoding="utf-8",
    )
