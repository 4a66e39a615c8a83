"""What an overview shows: layups, batches, sensors, and which stays each batch counts on."""

from dataclasses import dataclass
from datetime import datetime

from monitor.assess import Case, Joint, Worked
from monitor.records import (
    Batch,
    Layup,
    Mark,
    Reading,
    Readings,
    Role,
    Sensor,
    Sheet,
    Stay,
)

COATS = (Role.PLAIN_COAT, Role.WAX_COAT)


@dataclass(frozen=True, slots=True)
class Beside:
    """A stay for as long as it counts: from `since` to `until` (None: still).

    `readings` are all it heard; in an overview, at least the last day's.
    """

    stay: Stay
    sensor: Sensor
    since: datetime
    until: datetime | None
    readings: Readings


@dataclass(frozen=True, slots=True)
class BatchView:
    """One batch, its sheet as it was kept, where it stood, and its answer."""

    batch: Batch
    sheet: Sheet
    counted: tuple[Beside, ...]
    watched: tuple[Beside, ...]
    case: Case
    worked: Worked


@dataclass(frozen=True, slots=True)
class LayupView:
    layup: Layup
    sheet: Sheet
    batches: tuple[BatchView, ...]
    stays: tuple[Beside, ...]
    marks: tuple[Mark, ...]
    joint: Joint | None


@dataclass(frozen=True, slots=True)
class SensorView:
    """A sensor and the newest thing it said, good or bad."""

    sensor: Sensor
    latest: Reading | None


@dataclass(frozen=True, slots=True)
class Overview:
    """Every open layup and every sensor at one moment."""

    at: datetime
    layups: tuple[LayupView, ...]
    sensors: tuple[SensorView, ...]
