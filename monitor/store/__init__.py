"""The database: readings, rollups and the shop's book."""

from monitor.store.alerts import Outgoing
from monitor.store.corrections import CORRECTABLE
from monitor.store.entries import Entry, entry_id
from monitor.store.late import LateChange, LateNews
from monitor.store.opened import OpenLayup
from monitor.store.rollups import Rolled, Rollups, Step
from monitor.store.store import Store
from monitor.store.tails import Tails

__all__ = [
    "CORRECTABLE",
    "Entry",
    "LateChange",
    "LateNews",
    "OpenLayup",
    "Outgoing",
    "Rolled",
    "Rollups",
    "Step",
    "Store",
    "Tails",
    "entry_id",
]
