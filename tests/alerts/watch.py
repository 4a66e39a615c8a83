"""A watch of a process of its own that looks often and tries again soon:
`python -m tests.alerts.watch FOLDER`, until it is told to stop."""

import signal
import sys
import threading
from pathlib import Path

from monitor.alerts import postman
from monitor.alerts.outside import outside_channels
from monitor.alerts.rules import Telling
from monitor.cli.session import now_utc, steady_s
from monitor.config import open_shop
from monitor.daemon import Daemon
from monitor.store import Store

LOOK_EVERY_S = 0.5


def main() -> None:
    told = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: told.set())
    postman.BACKOFF_S = (0.5,) * 30
    shop = open_shop(Path(sys.argv[1]), create=False)
    assert isinstance(shop.database, Path)
    with Store.open(shop.database) as store:
        daemon = Daemon(
            store,
            Telling(shop.zone, shop.unit, shop.alerting.night),
            clock=now_utc,
            steady=steady_s,
            look_every_s=LOOK_EVERY_S,
            postman=postman.Postman(store, outside_channels(shop.alerting), now_utc),
        )
        daemon.start()
        print("watching", flush=True)
        told.wait()
        daemon.stop()


if __name__ == "__main__":
    main()
