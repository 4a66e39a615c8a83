"""A watch without a port: readings come in steadily, and it says how its database fares.

`python -m tests.soak.collecting FOLDER`; on SIGTERM it says how many came in, and ends.
"""

import signal
import sys
import threading
from datetime import UTC, datetime
from pathlib import Path

from monitor.config import make_shop, open_shop
from monitor.upkeep import Upkeep
from monitor.writer import Writer
from tests.soak.places import store_at
from tests.soak.steady import prepared, reading

EVERY_S = 0.004


def main() -> None:
    folder = Path(sys.argv[1])
    told = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: told.set())
    make_shop(folder, zone="UTC")
    shop = open_shop(folder, create=False)
    with store_at(str(shop.database)) as store:
        sensor_id, _ = prepared(store)
        writer = Writer(store, None, Upkeep(shop, store, lambda: datetime.now(UTC)))
        writer.start()
        number, before = 0, ""
        print("ready", flush=True)
        while not told.wait(EVERY_S):
            writer.put(sensor_id, reading(number))
            number += 1
            state = "trouble" if store.health.troubles() else "well"
            if state != before:
                print(state, *(what for what, _ in store.health.troubles()), end=" ")
                print(f"({store.readings.count(sensor_id)} can be read)", flush=True)
                before = state
        writer.stop()
        print(f"came in: {number}, lost: {writer.lost}", flush=True)


if __name__ == "__main__":
    main()
