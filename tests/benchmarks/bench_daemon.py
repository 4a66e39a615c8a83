"""How long from starting `run` to its first page, and what it weighs when idle.

Run with `python tests/benchmarks/bench_daemon.py`; exits 1 where it is over a limit: 1 s to the
first answer, 90 MB resident, every default on, a sensor talking.
"""

import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median
from urllib.request import urlopen

from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.simulated import SimulatedPort

RUNS = 5
FIRST_ANSWER_S = 1.0
RESIDENT_MB = 90.0
IDLE_S = 35.0
"""Longer than one look at everything open, so that its imports weigh too."""


def resident_mb(pid: int) -> float:
    text = Path(f"/proc/{pid}/status").read_text()
    found = re.search(r"VmRSS:\s+(\d+) kB", text)
    assert found is not None
    return int(found[1]) / 1024.0


def one_run(folder: Path, port: SimulatedPort, idle_s: float) -> tuple[float, float]:
    begun = time.perf_counter()
    command = "from monitor.cli import main; main()"
    with subprocess.Popen(
        [
            *(sys.executable, "-c", command, "--shop", str(folder)),
            *("run", "--port", "0", "--sensor", f"shed={port.device}"),
        ],
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
        until = time.monotonic() + idle_s
        while time.monotonic() < until:
            port.say(xdr_sentence(18.0, 60.0))
            time.sleep(0.5)
        weight = resident_mb(process.pid)
        process.send_signal(signal.SIGTERM)
        stopping = time.perf_counter()
        process.wait()
        print(f"  first answer {first_s:.2f} s, {weight:.0f} MB, stopped in", end=" ")
        print(f"{time.perf_counter() - stopping:.2f} s")
    return first_s, weight


def main() -> int:
    with tempfile.TemporaryDirectory() as folder, SimulatedPort() as port:
        runs = [
            one_run(Path(folder) / "shop", port, IDLE_S if i == RUNS - 1 else 1.0)
            for i in range(RUNS)
        ]
    first_s, weight = median(run[0] for run in runs), runs[-1][1]
    print(f"start to first answer: median {first_s:.2f} s (limit {FIRST_ANSWER_S:g} s)")
    print(f"resident after {IDLE_S:g} s: {weight:.0f} MB (limit {RESIDENT_MB:g} MB)")
    return int(first_s > FIRST_ANSWER_S or weight > RESIDENT_MB)


if __name__ == "__main__":
    sys.exit(main())
