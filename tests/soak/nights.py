"""Thirty invented jobs of a week each: `python -m tests.soak.nights` counts what would ring.

Fails where one of them wakes someone more than three times. Takes ten minutes.
"""

import sys
import tempfile
from collections import Counter
from datetime import timedelta
from pathlib import Path

from tests.alerts.jobs import MOST_AT_NIGHT, job, lived, wakes
from tests.scenarios.shop import open_demo_shop

JOBS = 30
STEP = timedelta(minutes=10)


def main() -> None:
    too_often = 0
    for seed in range(JOBS):
        with tempfile.TemporaryDirectory() as folder:
            shop = open_demo_shop(Path(folder) / "shop")
            rung = lived(shop, job(shop, seed), STEP, STEP)
            shop.store.close()
        woken = wakes(rung)
        too_often += len(woken) > MOST_AT_NIGHT
        by_day = Counter(alert.rule for _, alert in rung)
        print(f"job {seed:2}: at night {', '.join(woken) or 'nothing'}; in all {dict(by_day)}")
    sys.exit(f"{too_often} jobs woke someone too often." if too_often else 0)


if __name__ == "__main__":
    main()
