"""How long from starting `run` to its first page, and what it weighs and takes when idle.

Run with `python tests/benchmarks/bench_daemon.py`; exits 1 where it is over a limit: 1 s to the
first answer, 90 MB resident, 1 % of a core; every default on, four sensors each with a reading
every ten seconds.
"""

import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from urllib.request import urlopen

sys.path.insert(0, str(Path(__file__).parents[2]))

from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.simulated import SimulatedPort
from tests.soak.weighing import cpu_s, held_mib

RUNS = 5
FIRST_ANSWER_S = 1.0
RESIDENT_MB, CORE_PCT = 90.0, 1.0
SENSORS, STEP_S = 4, 10.0
WARM_S, IDLE_S = 40.0, 120.0
"""Longer than one look at everything open, so that its imports weigh too; then some more looks."""


@dataclass(frozen=True)
class Idle:
    mb: float
    core_pct: float


def one_run(folder: Path, ports: list[SimulatedPort], *, idle: bool) -> tuple[float, Idle | None]:
    """Seconds to the first page, and what it is like when idle, where that is waited for."""
    begun = time.perf_counter()
    command = "from monitor.cli import main; main()"
    named = [f"--sensor=bench-{n}={port.device}" for n, port in enumerate(ports)]
    with subprocess.Popen(
        [sys.executable, "-c", command, "--shop", str(folder), "run", "--port", "0", *named],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    ) as process:
        assert process.stdout is not None
        address = None
        while address is None:
            address = re.search(r"http://\S+", process.stdout.readline())
        with urlopen(address[0]) as page:
            page.read()
        first_s = time.perf_counter() - begun
        seen = idling(process.pid, ports) if idle else None
        process.send_signal(signal.SIGTERM)
        stopping = time.perf_counter()
        process.wait()
        print(f"  first answer {first_s:.2f} s, {SENSORS} sensors, stopped in", end=" ")
        print(f"{time.perf_counter() - stopping:.2f} s")
    return first_s, seen


def idling(pid: int, ports: list[SimulatedPort]) -> Idle:
    talk(ports, WARM_S)
    used_s, begun = cpu_s(pid), time.monotonic()
    talk(ports, IDLE_S)
    core = (cpu_s(pid) - used_s) / (time.monotonic() - begun)
    return Idle(held_mib(pid) * 1.048576, 100.0 * core)


def talk(ports: list[SimulatedPort], for_s: float) -> None:
    for turn in range(round(for_s / STEP_S)):
        for number, port in enumerate(ports):
            port.say(xdr_sentence(18.0 + number + turn / 10, 60.0))
        time.sleep(STEP_S)


def main() -> int:
    with tempfile.TemporaryDirectory() as folder, ExitStack() as plugged:
        ports = [plugged.enter_context(SimulatedPort()) for _ in range(SENSORS)]
        shop = Path(folder) / "shop"
        runs = [one_run(shop, ports, idle=n == RUNS - 1) for n in range(RUNS)]
    first_s, idle = median(run[0] for run in runs), runs[-1][1]
    assert idle is not None
    print(f"start to first answer: median {first_s:.2f} s (limit {FIRST_ANSWER_S:g} s)")
    print(f"resident when idle: {idle.mb:.0f} MB (limit {RESIDENT_MB:g} MB)")
    print(f"of one core when idle: {idle.core_pct:.2f} % (limit {CORE_PCT:g} %)")
    return int(first_s > FIRST_ANSWER_S or idle.mb > RESIDENT_MB or idle.core_pct > CORE_PCT)


if __name__ == "__main__":
    sys.exit(main())
