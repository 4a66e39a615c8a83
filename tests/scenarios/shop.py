"""A shop in a folder of its own, with a real store, to log and ask in."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from monitor.config import Shop, make_shop, open_shop
from monitor.cure.mixing import Weighed
from monitor.logbook import Logbook, parse_address
from monitor.overview import LayupView, view
from monitor.records import Channel, Flags, Nearness, Reading, Readings
from monitor.sheets import Shelf
from monitor.store import Store
from monitor.times import from_unix

SHEETS = {
    "P1": "demo-laminating",
    "G1": "demo-gel-coat",
    "B1": "demo-thickened",
    "E1": "demo-epoxy",
}
AT_THE_AIM = {
    "P1": Weighed(200.0, catalyst_g=3.0),
    "G1": Weighed(100.0, catalyst_g=1.8),
    "B1": Weighed(200.0, catalyst_g=2.5),
    "E1": Weighed(250.0, hardener_g=100.0),
}


@dataclass
class ShopAtHand:
    shop: Shop
    store: Store
    book: Logbook

    def hear(self, sensor: str, readings: Readings) -> None:
        """Store readings of a sensor, which is added where it's new."""
        known = {s.name: s for s in self.store.book.sensors()}
        beside = known.get(sensor) or self.store.book.add_sensor(sensor, f"/dev/{sensor}")
        self.store.readings.add(beside.id, one_by_one(readings))

    def lay_up(self, number: int, judged_by: str, mixed_at: datetime, role: str = "skin-a") -> None:
        """A part with one batch at its sheet's aim."""
        self.book.add_layup(
            number, f"part {number}", SHEETS[judged_by], on=None, safety=False, now=mixed_at
        )
        self.mix(f"{number}/{role}", judged_by, mixed_at)

    def mix(self, address: str, judged_by: str, mixed_at: datetime) -> None:
        self.book.add_batch(
            parse_address(address),
            mixed_at=mixed_at,
            now=mixed_at,
            sheet=SHEETS[judged_by],
            weighed=AT_THE_AIM[judged_by],
        )

    def put(
        self,
        address: str,
        sensor: str,
        since: datetime,
        until: datetime | None = None,
        *,
        now: datetime | None = None,
        channel: Channel = Channel.AIR,
        nearness: Nearness | None = None,
    ) -> None:
        self.book.add_stay(
            parse_address(address),
            sensor,
            channel=channel,
            nearness=nearness,
            since=since,
            until=until,
            now=now or since,
        )

    def look(self, number: int, now: datetime) -> LayupView:
        return view(self.store, self.store.book.layup(number), now)


def open_demo_shop(folder: Path, unit: str = "c", zone: str = "UTC") -> ShopAtHand:
    make_shop(folder, zone=zone, unit="f" if unit == "f" else "c", demo=True)
    shop = open_shop(folder, create=False)
    assert isinstance(shop.database, Path)
    store = Store.open(shop.database)
    return ShopAtHand(shop, store, Logbook(store, Shelf(folder, True)))


def one_by_one(readings: Readings) -> list[Reading]:
    def given(value: float) -> float | None:
        return None if np.isnan(value) else float(value)

    return [
        Reading(
            from_unix(readings.time_s[i]),
            given(readings.temperature_c[i]),
            given(readings.humidity_pct[i]),
            given(readings.surface_c[i]),
            Flags.unpacked(int(readings.flags[i])),
        )
        for i in range(len(readings))
    ]
