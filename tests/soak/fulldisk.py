"""A disk filled to the last byte, or turned read-only, while readings come in.

`python -m tests.soak.fulldisk` does it through the shim; `--real` fills a small file system of its
own, for which it is run as root: `unshare -m python -m tests.soak.fulldisk --real`.
"""

import argparse
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tests.soak.disk import built_shim, shimmed
from tests.soak.kills import ROOT
from tests.soak.places import store_at
from tests.soak.steady import look_into

PATIENCE_S = 30.0


@dataclass(frozen=True)
class Outcome:
    told: str
    came_in: str
    stored: int
    problems: tuple[str, ...]

    @property
    def fine(self) -> bool:
        return self.came_in == f"came in: {self.stored}, lost: 0" and not self.problems


class Collector:
    """The program that collects, and what it says."""

    def __init__(self, folder: Path, env: dict[str, str]) -> None:
        self._run = subprocess.Popen(
            [sys.executable, "-m", "tests.soak.collecting", str(folder)],
            stdout=subprocess.PIPE,
            cwd=ROOT,
            text=True,
            env={**os.environ, **env, "PYTHONPATH": str(ROOT)},
        )

    def says(self, word: str) -> str:
        """Its next line that begins so."""
        assert self._run.stdout is not None
        for line in self._run.stdout:
            if line.startswith(word):
                return line.strip()
        raise AssertionError(f"it ended without saying {word}")

    def ends(self) -> str:
        self._run.send_signal(signal.SIGTERM)
        said = self.says("came in")
        self._run.wait(PATIENCE_S)
        if self._run.stdout is not None:
            self._run.stdout.close()
        return said


def through_a_fault(
    folder: Path, env: dict[str, str], begin: Callable[[], None], end: Callable[[], None]
) -> Outcome:
    """Collect for a second, then under the fault for two, then for a second again."""
    collector = Collector(folder, env)
    collector.says("well")
    time.sleep(1.0)
    begin()
    told = collector.says("trouble")
    time.sleep(2.0)
    end()
    collector.says("well")
    time.sleep(1.0)
    came_in = collector.ends()
    with store_at(str(folder / "layupwatch.db")) as store:
        found = look_into(store)
    readings = {line for line in found.said if line.startswith("reading")}
    return Outcome(told, came_in, len(readings), found.problems)


def through_the_shim(folder: Path, letter: str) -> Outcome:
    """`f`: full, `r`: read-only."""
    fault, shop = folder / "fault", folder / "shop"
    env = shimmed(built_shim(folder), shop, fault=fault)
    return through_a_fault(shop, env, lambda: _put(fault, letter), fault.unlink)


def _put(path: Path, letter: str) -> None:
    beside = path.with_name("beside")
    beside.write_text(letter)
    beside.replace(path)


def really_full(folder: Path) -> Outcome:
    """On a file system of 16 MB that is filled until not one byte more fits."""
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=16m", "tmpfs", folder], check=True)
    ballast = folder / "ballast"
    try:
        return through_a_fault(folder / "shop", {}, lambda: _fill(ballast), ballast.unlink)
    finally:
        subprocess.run(["umount", folder], check=True)


def _fill(ballast: Path) -> None:
    with ballast.open("wb", buffering=0) as file:
        for size in (4096, 1):
            try:
                while True:
                    file.write(bytes(size))
            except OSError:
                continue


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--real", action="store_true")
    given = asked.parse_args()
    fine = True
    for letter in ("f",) if given.real else ("f", "r"):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            outcome = really_full(folder) if given.real else through_the_shim(folder, letter)
        print(f"{outcome.told}\n{outcome.came_in}; stored: {outcome.stored}", outcome.problems)
        fine &= outcome.fine
    sys.exit(not fine)


if __name__ == "__main__":
    main()
