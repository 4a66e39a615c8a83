"""Power cuts on a disk that loses what wasn't synced: `python -m tests.soak.cuts --times 100`."""

import argparse
import random
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.soak.disk import Disk, built_shim, shimmed
from tests.soak.kills import Outcome, run_and_kill
from tests.soak.places import store_at
from tests.soak.steady import look_into


def cut_often(folder: Path, times: int, seed: int) -> Outcome:
    """Write steadily, cut the power, look; every other time parts of the unsynced are there."""
    dice, committed = random.Random(seed), set[str]()
    lost, doubled, problems = set[str](), set[str](), set[str]()
    shim, shop = built_shim(folder), folder / "shop"
    shop.mkdir()
    place, following = str(shop / "shop.db"), 0
    disk = Disk(shop)
    for turn in range(times):
        log = folder / f"{turn}.log"
        said = run_and_kill(place, following, dice, shimmed(shim, shop, log))
        committed.update(said)
        disk.read(log)
        log.unlink()
        disk.cut(dice if turn % 2 else None)
        with store_at(place) as store:
            found = look_into(store)
        # What looking changed is safe before the next turn begins.
        disk = Disk(shop)
        disk.as_it_is()
        counted = Counter(found.said)
        lost |= committed - set(counted)
        doubled |= {line for line, times_there in counted.items() if times_there > 1}
        problems |= set(found.problems)
        following = 1 + max(
            (int(line.split()[1]) for line in counted if line.startswith("reading")), default=0
        )
    return Outcome(times, len(committed), *map(tuple, map(sorted, (lost, doubled, problems))))


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--times", type=int, default=100)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        outcome = cut_often(Path(folder), given.times, given.seed)
    print(outcome)
    sys.exit(bool(outcome.lost or outcome.doubled or outcome.problems))


if __name__ == "__main__":
    main()
