"""What shop.toml describes, plugged together: buses, a broker, and the names in a board's lines."""

import logging
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from monitor.cli.session import Open, now_utc
from monitor.config import FILE, open_shop
from monitor.errors import BadInput
from monitor.wires import Columns, Wires

if TYPE_CHECKING:
    from monitor.sensing.sources import Feed

_log = logging.getLogger("layupwatch")


class ColumnsAtHand:
    """What shop.toml says of a sensor's lines by now: it is read again when it was changed.

    A file that can't be used is told once, and what it said before stands.
    """

    def __init__(self, folder: Path, wires: Wires) -> None:
        self._folder, self._wires = folder, wires
        self._seen = self._stamp()

    def __call__(self, sensor: str) -> Columns | None:
        stamp = self._stamp()
        if stamp != self._seen:
            self._seen = stamp
            try:
                self._wires = open_shop(self._folder, create=False).wires
            except BadInput as wrong:
                _log.warning("%s %s", *wrong.lines())
        return self._wires.columns_of(sensor)

    def _stamp(self) -> int:
        try:
            return (self._folder / FILE).stat().st_mtime_ns
        except OSError:
            return 0


def feeds_of(at: Open, columns_of: ColumnsAtHand) -> "Sequence[Feed]":
    """The buses and the broker of the shop; their sensors stand in the book afterwards."""
    wires = at.shop.wires
    for name, port in wires.ports():
        at.book().add_sensor(name, port, unit=None, form=None, now=at.now)
    feeds: list[Feed] = []
    if wires.modbus:
        from monitor.sensing.modbus_feed import ModbusFeed

        feeds += [ModbusFeed(bus, clock=now_utc) for bus in wires.modbus]
    if wires.mqtt is not None:
        from monitor.sensing.mqtt_feed import MqttFeed

        feeds.append(MqttFeed(wires.mqtt, clock=now_utc, columns_of=columns_of))
    return feeds
