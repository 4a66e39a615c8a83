"""kill -9 at random moments of steady writing: `python -m tests.soak.kills --times 200`.

With `--server` on a PostgreSQL server, which is brought down as well.
"""

import argparse
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from tests.scenarios.postgres import Server, running
from tests.soak.places import store_at
from tests.soak.steady import look_into

ROOT = Path(__file__).parents[2]
MOST_WORDS = 200


@dataclass(frozen=True)
class Outcome:
    turns: int
    committed: int
    lost: tuple[str, ...]
    doubled: tuple[str, ...]
    problems: tuple[str, ...]

    def __str__(self) -> str:
        return (
            f"{self.turns} turns, {self.committed} committed: {len(self.lost)} lost, "
            f"{len(self.doubled)} doubled, problems: {', '.join(self.problems) or 'none'}"
        )


def kill_often(place: str, times: int, seed: int, server: Server | None = None) -> Outcome:
    """Start a steady writer, kill it, look into what it left; again and again in one place.

    Where there is a server, every other time it is brought down too, without an orderly end.
    """
    dice, committed = random.Random(seed), set[str]()
    lost, doubled, problems = set[str](), set[str](), set[str]()
    following = 0
    for turn in range(times):
        said = run_and_kill(place, following, dice)
        if server is not None and turn % 2:
            server.stop("immediate")
            server.start()
        committed.update(said)
        with store_at(place) as store:
            found = look_into(store)
        counted = Counter(found.said)
        lost |= committed - set(counted)
        doubled |= {line for line, times_there in counted.items() if times_there > 1}
        problems |= set(found.problems)
        readings = [int(line.split()[1]) for line in counted if line.startswith("reading")]
        if found.summed_up != len(readings):
            problems.add(f"{found.summed_up} summed up of {len(readings)} readings")
        # One may have been stored without being said; the next turn begins behind it.
        following = 1 + max(readings, default=0)
    return Outcome(times, len(committed), *map(tuple, map(sorted, (lost, doubled, problems))))


def run_and_kill(
    place: str, first: int, dice: random.Random, env: dict[str, str] | None = None
) -> list[str]:
    """What a writer said before it was killed, some words and a moment after its first."""
    writer = subprocess.Popen(
        [sys.executable, "-m", "tests.soak.steady", place, str(first)],
        stdout=subprocess.PIPE,
        cwd=ROOT,
        env={**os.environ, **(env or {}), "PYTHONPATH": str(ROOT)},
    )
    assert writer.stdout is not None
    assert writer.stdout.readline() == b"ready\n"
    lines = [writer.stdout.readline() for _ in range(dice.randrange(MOST_WORDS))]
    time.sleep(dice.uniform(0.0, 0.02))
    writer.send_signal(signal.SIGKILL)
    lines += writer.stdout
    writer.wait()
    writer.stdout.close()
    return [line.decode().strip() for line in lines if line.endswith(b"\n")]


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--times", type=int, default=200)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--server", action="store_true", help="on a PostgreSQL server of its own")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory(prefix="lw-", dir="/tmp") as folder:
        Path(folder).chmod(0o755)
        if given.server:
            with running(Path(folder) / "pg", synced=True) as server:
                place = server.url(server.new_database())
                outcome = kill_often(place, given.times, given.seed, server)
        else:
            outcome = kill_often(str(Path(folder) / "shop.db"), given.times, given.seed)
    print(outcome)
    sys.exit(bool(outcome.lost or outcome.doubled or outcome.problems))


if __name__ == "__main__":
    main()
