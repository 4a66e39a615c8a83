"""A sensor pulled and plugged in again and again: how soon it is heard, and that nothing grows.

python tests/soak/replug.py [CYCLES]
"""

import resource
import sys
import tempfile
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

from monitor.records import Reading
from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.serial_source import SerialSource
from monitor.sensing.simulated import SimulatedPort

WITHIN_S = 5.0


class Replugged:
    """A source on a name that leads to a new pseudo-terminal in each cycle, or to none."""

    def __init__(self, folder: Path) -> None:
        self._name = folder / "ttyUSB0"
        self.readings: list[Reading] = []
        self.source = SerialSource(
            "shed", str(self._name), clock=lambda: datetime.now(UTC), lister=list, format="xdr"
        )
        self._thread = threading.Thread(target=self.source.run, args=(self.readings.append,))

    def cycle(self, number: int, away_s: float) -> float:
        """Plug in, hear three lines, pull; how long the first one took, in seconds."""
        with SimulatedPort() as port:
            self._name.symlink_to(port.device)
            began = time.monotonic()
            had = len(self.readings)
            # Each line is another value, so that one heard twice shows.
            said = 0
            while len(self.readings) < had + 3:
                if self.source.status.connected_since is not None:
                    port.say(xdr_sentence(number / 10, said / 10))
                    said += 1
                    self._wait(lambda sent=said: len(self.readings) >= had + sent)
                if len(self.readings) == had + 1:
                    first_s = time.monotonic() - began
                assert time.monotonic() - began < 4 * WITHIN_S, "it is not heard again"
                time.sleep(0.002)
            self._name.unlink()
        time.sleep(away_s)
        self._wait(lambda: self.source.status.connected_since is None)
        return first_s

    @staticmethod
    def _wait(happened) -> None:
        end = time.monotonic() + 1.0
        while not happened() and time.monotonic() < end:
            time.sleep(0.002)

    def __enter__(self) -> "Replugged":
        self._thread.start()
        return self

    def __exit__(self, *raised: object) -> None:
        self.source.stop()
        self._thread.join()


def replug(cycles: int, away_s: float = 0.05) -> tuple[list[float], list[Reading], int]:
    """The waits, all readings, and by how many KiB the process grew after the first tenth."""
    with tempfile.TemporaryDirectory() as folder, Replugged(Path(folder)) as replugged:
        waits: list[float] = []
        settled_kib = 0
        for number in range(cycles):
            waits.append(replugged.cycle(number, away_s))
            if number == cycles // 10:
                settled_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        grown_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - settled_kib
        return waits, replugged.readings, grown_kib


def main() -> None:
    cycles = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    waits, readings, grown_kib = replug(cycles)
    seen = [(reading.temperature_c, reading.humidity_pct) for reading in readings]
    print(f"{cycles} times pulled and plugged in: heard after {max(waits):.2f} s at most.")
    print(f"{len(seen)} readings, {len(seen) - len(set(seen))} twice; {grown_kib} KiB more held.")
    assert max(waits) <= WITHIN_S
    assert len(seen) == len(set(seen))


if __name__ == "__main__":
    main()
