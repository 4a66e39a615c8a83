"""Flags that need more than one reading's recent past. Pure: one function a question.

A single value, a jump and a frozen sensor are judged as the readings come: `plausibility`.
"""

from collections.abc import Callable, Iterator

from monitor.records import Suspicion
from monitor.sensing.honesty import board_clock, moved, same_stream, scaled, stuck_wet, sunned
from monitor.sensing.recent import Recent

Detector = Callable[[Recent], Iterator[Suspicion]]

DETECTORS: tuple[Detector, ...] = (
    sunned.find,
    stuck_wet.find,
    moved.find,
    same_stream.find,
    scaled.find,
    board_clock.find,
)


def look(recent: Recent) -> tuple[Suspicion, ...]:
    """Everything suspect about one sensor's recent past."""
    return tuple(found for detector in DETECTORS for found in detector(recent))
