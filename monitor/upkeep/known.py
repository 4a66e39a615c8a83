"""The sensors this machine read last, in the shop folder: it begins with them while its server is
away."""

import logging
import os
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, fields
from pathlib import Path

import orjson

from monitor.records import Sensor

FILE = "known-sensors.json"

_log = logging.getLogger("layupwatch")


class KnownSensors:
    """One shop's."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / FILE
        self._kept: tuple[Sensor, ...] | None = None

    def keep(self, sensors: Sequence[Sensor]) -> None:
        """Write them down where they are others than before; whole or not at all."""
        if self._kept == tuple(sensors):
            return
        try:
            handle, name = tempfile.mkstemp(dir=self._path.parent, prefix=".known-")
            with os.fdopen(handle, "wb") as file:
                file.write(orjson.dumps([asdict(sensor) for sensor in sensors]))
                file.flush()
                os.fsync(file.fileno())
            Path(name).replace(self._path)
        except OSError as fault:
            _log.warning("%s can't be written: %s.", self._path, fault.strerror)
        self._kept = tuple(sensors)

    def recall(self) -> tuple[Sensor, ...]:
        """None where none were written down, or not so that they can be read."""
        try:
            found = orjson.loads(self._path.read_bytes())
            wanted = {field.name for field in fields(Sensor)}
            return tuple(Sensor(**one) for one in found if set(one) == wanted)
        except (OSError, orjson.JSONDecodeError, TypeError):
            return ()
