"""Our own invented jobs, as series, sheets and the figures they must give."""

import json
from collections.abc import Iterable
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from monitor.assess import Case
from monitor.cure.beside import StayRead
from monitor.cure.mixing import Weighed
from monitor.records import Channel, Nearness, Readings, Sheet, Stage
from monitor.times import from_unix

TIME_TOLERANCE_S = 120.0
COUNT_TOLERANCE = 0.2


@cache
def _all() -> dict[str, Any]:
    return json.loads(Path(__file__).with_name("scenarios.json").read_text("utf-8"))


def story(name: str) -> dict[str, Any]:
    return next(s for s in _all()["stories"] if s["id"] == name)


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)


def sheet(name: str, **changes: Any) -> Sheet:
    s = _all()["sheets"][name]

    def pair(key: str) -> tuple[float, float] | None:
        return tuple(float(v) for v in s[key]) if key in s else None

    figures: dict[str, Any] = {
        "name": f"DEMO {name}",
        "kind": s["kind"],
        "demo": True,
        "base_c": float(s["base_c"]),
        "floor_c": float(s["floor_c"]),
        "cap_c": float(s["cap_c"]),
        "working_c": pair("working_c"),
        "humidity_max_pct": s["humidity_max_pct"],
        "dew_spread_min_c": s["dew_spread_min_c"],
        "catalyst_pct": pair("catalyst_pct"),
        "aim_pct": s.get("aim_pct"),
        "ratio_by_weight": pair("ratio_by_weight"),
        "tolerance_pct": s.get("ratio_tolerance_pct"),
        "part_max_c": s.get("part_max_c"),
        "recoat_max_hours": s.get("recoat_max_hours"),
        "needs": {
            Stage(stage): tuple(float(n) for n in (need if isinstance(need, list) else [need]))
            for stage, need in s["stages_dh"].items()
        },
    }
    return Sheet(**{**figures, **changes})


def _knots(series: str, quantity: str) -> tuple[np.ndarray, np.ndarray]:
    knots = _all()["series"][series][quantity]
    return np.array([at(t).timestamp() for t, _ in knots]), np.array([v for _, v in knots], float)


def series(*names: str, step_s: float = 60.0) -> Readings:
    """The named series sampled every `step_s`, each from its first knot to its last."""
    parts = []
    for name in names:
        time_s, value_c = _knots(name, "temperature_c")
        grid = np.arange(time_s[0], time_s[-1] + 1, step_s)
        humidity = np.full(grid.size, np.nan)
        if "humidity_pct" in _all()["series"][name]:
            humidity = np.interp(grid, *_knots(name, "humidity_pct"))
        parts.append((grid, np.interp(grid, time_s, value_c), humidity))
    time_s, temperature_c, humidity_pct = (np.concatenate(c) for c in zip(*parts, strict=True))
    return columns(time_s, temperature_c, humidity_pct)


def columns(
    time_s: Iterable[float],
    temperature_c: Iterable[float],
    humidity_pct: Iterable[float] | None = None,
    flags: Iterable[int] | None = None,
) -> Readings:
    time_s = np.asarray(time_s, float)
    nothing = np.full(time_s.size, np.nan)
    return Readings(
        time_s,
        np.asarray(temperature_c, float),
        nothing if humidity_pct is None else np.asarray(humidity_pct, float),
        nothing,
        np.zeros(time_s.size, np.int64) if flags is None else np.asarray(flags, np.int64),
    )


def stay(readings: Readings, nearness: Nearness = Nearness.BESIDE) -> StayRead:
    return StayRead(readings, Channel.AIR, nearness)


def case(
    judged_by: Sheet, mixed_at: datetime, *readings: Readings, mix_pct: float | None = None
) -> Case:
    """A batch beside one or more stays, mixed at the sheet's aim unless told otherwise."""
    if mix_pct is None:
        mix_pct = judged_by.aim_pct
        if judged_by.ratio_by_weight is not None:
            mix_pct = 100.0 * judged_by.ratio_by_weight[1] / judged_by.ratio_by_weight[0]
    stays = tuple(stay(r) for r in readings)
    return Case(judged_by, mixed_at, Weighed(mix_pct=mix_pct), counted=stays, watched=stays)


def near(moment: datetime | None, expected: str) -> bool:
    return moment is not None and abs((moment - at(expected)).total_seconds()) <= TIME_TOLERANCE_S


__all__ = ["at", "case", "columns", "from_unix", "near", "series", "sheet", "stay", "story"]
