"""The shop's book: everything that people write down."""

from monitor.store.corrections import CorrectionEntries
from monitor.store.layups import BatchEntries, LayupEntries, SheetEntries
from monitor.store.opened import OpenEntries
from monitor.store.reviews import ReviewEntries
from monitor.store.sensors import SensorEntries
from monitor.store.stays import MarkEntries, StayEntries


class Book(
    SensorEntries,
    SheetEntries,
    LayupEntries,
    BatchEntries,
    StayEntries,
    MarkEntries,
    OpenEntries,
    ReviewEntries,
    CorrectionEntries,
):
    """Sensors, kept sheets, layups, batches, stays, marks, reviews, corrections, in one place."""
