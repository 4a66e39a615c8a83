"""How fast a year is judged and read, each beside a bare library doing the least it could.

Run with `python tests/benchmarks/bench_assess.py`. The ratios are what can be compared between
machines. It leaves with 1 when one of them is over its limit.
"""

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd

from monitor.assess import Case, assess
from monitor.csvfile import read_readings
from monitor.cure.beside import StayRead, trace_of
from monitor.cure.exposure import expose
from monitor.cure.mixing import Weighed
from monitor.cure.stages import count_stages
from monitor.records import Channel, Nearness, Readings, Sheet, Stage
from monitor.times import from_unix

START_S = datetime(2025, 1, 1, tzinfo=UTC).timestamp()
STEP_S = 10
YEAR_ROWS = 365 * 24 * 3600 // STEP_S
RUNS = 5
COUNT_LIMIT = 20.0
CSV_LIMIT = 2.0

SHEET = Sheet(
    "DEMO a year",
    "polyester",
    demo=True,
    base_c=5.0,
    floor_c=10.0,
    cap_c=28.0,
    catalyst_pct=(1.0, 2.0),
    aim_pct=1.5,
    needs={
        Stage.GEL: (12.0,),
        Stage.KNIFE_TRIM: (18.0, 40.0),
        Stage.RECOAT: (10.0, 360.0),
        Stage.FLIP: (120.0,),
        Stage.SAND: (240.0,),
        Stage.PROPS_OFF: (400.0,),
        Stage.LOAD: (5_000.0,),
        Stage.FULL: (30_000.0,),
    },
)


def a_year(rows: int) -> Readings:
    """A made-up year: a daily and a yearly swing, and a sensor's noise."""
    elapsed_h = np.arange(rows) * STEP_S / 3600.0
    noise_c = np.random.default_rng(7).normal(0.0, 0.2, rows)
    year_c = 12.0 - 8.0 * np.cos(2 * np.pi * elapsed_h / (365 * 24))
    day_c = -4.0 * np.cos(2 * np.pi * (elapsed_h - 3.0) / 24)
    air_c = np.round(year_c + day_c + noise_c, 2)
    humidity_pct = np.round(70.0 - 2.0 * day_c, 1)
    time_s = START_S + STEP_S * np.arange(rows, dtype=float)
    return Readings(time_s, air_c, humidity_pct, np.full(rows, np.nan), np.zeros(rows, np.int64))


def taken_s(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def compare(
    name: str,
    ours: Callable[[], object],
    bare: Callable[[], object],
    runs: int,
    limit: float | None,
) -> bool:
    """Both turn about, the median of each; whether ours keeps within the limit, if there is one."""
    pairs = [(taken_s(ours), taken_s(bare)) for _ in range(runs)]
    ours_s, bare_s = (statistics.median(column) for column in zip(*pairs, strict=True))
    ratio = ours_s / bare_s
    print(f"{name:<34}{1000 * ours_s:10,.1f} ms")
    print(f"  bare                            {1000 * bare_s:10,.1f} ms")
    kept = limit is None or ratio <= limit
    asked = "" if limit is None else f", at most {limit:g}"
    print(f"{f'  ratio of times{asked}':<34}{ratio:10.2f}{'' if kept else '  OVER'}")
    return kept


def judge(readings: Readings, runs: int) -> bool:
    stay = StayRead(readings, Channel.AIR, Nearness.BESIDE)
    mixed_at, now = from_unix(START_S), from_unix(float(readings.time_s[-1]))
    case = Case(SHEET, mixed_at, Weighed(mix_pct=1.5), counted=(stay,), watched=(stay,))
    answer = assess(case, now)
    print(f"{len(readings):,} readings, {answer.count.low:,.0f} degree-hours at the low edge")
    trace = trace_of(stay)

    def bare() -> object:
        return np.trapezoid(readings.temperature_c, readings.time_s)

    def count() -> object:
        return count_stages(expose((trace,), START_S, now.timestamp()), SHEET)

    kept = compare("count: three edges, all crossings", count, bare, runs, COUNT_LIMIT)
    compare("assess: with dew, bond, verdicts", lambda: assess(case, now), bare, runs, None)
    return kept


def write(readings: Readings, path: Path) -> None:
    stamps = pd.to_datetime(readings.time_s.astype(np.int64), unit="s")
    table = {
        "time": stamps.strftime("%Y-%m-%dT%H:%M:%SZ"),
        "temperature_c": readings.temperature_c,
        "humidity_pct": readings.humidity_pct,
    }
    pd.DataFrame(table).to_csv(path, index=False)


def read(readings: Readings, folder: Path, runs: int) -> bool:
    path = folder / "year.csv"
    write(readings, path)
    found = read_readings(path, None)
    if len(found.readings) != len(readings):
        raise SystemExit(f"read {len(found.readings)} rows of {len(readings)}")
    return compare(
        f"reading a CSV of {path.stat().st_size / 1e6:,.0f} MB",
        lambda: read_readings(path, None),
        lambda: pd.read_csv(path, parse_dates=["time"], date_format="ISO8601"),
        runs,
        CSV_LIMIT,
    )


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--rows", type=int, default=YEAR_ROWS)
    asked.add_argument("--runs", type=int, default=RUNS)
    given = asked.parse_args()
    readings = a_year(given.rows)
    with tempfile.TemporaryDirectory() as folder:
        kept = [judge(readings, given.runs), read(readings, Path(folder), given.runs)]
    return 0 if all(kept) else 1


if __name__ == "__main__":
    sys.exit(main())
