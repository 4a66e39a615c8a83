"""The database: readings, rollups and the shop's book."""

from monitor.store.alerts import Outgoing
from monitor.store.corrections import CORRECTABLE
from monitor.store.entries import Entry, entry_id
from monitor.store.late import LateChange
from monitor.store.opened import OpenLayup
from monitor.store.rollups import Rolled, Rollups, Step
from monitor.store.store import Store

__all__ = [
    "CORRECTABLE",
    "Entry",
    "LateChange",
    "OpenLayup",
    "Outgoing",
    "Rolled",
    "Rollups",
    "Step",
    "Store",
    "entry_id",
]
