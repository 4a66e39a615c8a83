"""Loads what `assess` needs from the store, for one layup or for every open one."""

from monitor.overview.desk import Desk
from monitor.overview.look import BEFORE_MIXING, as_it_stood, overview, view
from monitor.overview.places import counted_on
from monitor.overview.views import (
    COATS,
    BatchView,
    Beside,
    LayupView,
    Overview,
    SensorView,
)

__all__ = [
    "BEFORE_MIXING",
    "COATS",
    "BatchView",
    "Beside",
    "Desk",
    "LayupView",
    "Overview",
    "SensorView",
    "as_it_stood",
    "counted_on",
    "overview",
    "view",
]
