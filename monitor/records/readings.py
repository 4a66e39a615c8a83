"""What a sensor said, and how far each value can be trusted."""

from dataclasses import dataclass
from datetime import datetime
from enum import IntFlag

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


class Doubt(IntFlag):
    """Why a value is suspect. A suspect value is kept and drawn hollow, and not counted."""

    FAULT_CODE = 1
    OUT_OF_RANGE = 2
    SPIKE = 4
    FROZEN = 8
    LOOKS_FAHRENHEIT = 16
    SWAPPED = 32
    SUNNED = 64
    STUCK_WET = 128
    BY_HAND = 256
    CLOCK = 512
    SAME_STREAM = 1024
    SCALED = 2048


NO_DOUBT = Doubt(0)

AIR_LIMITS_C = (-40.0, 60.0)
SURFACE_LIMITS_C = (-40.0, 200.0)
HUMIDITY_LIMITS_PCT = (0.0, 100.0)
"""What can be true beside a part. Common practice for cheap sensors, no source."""

FAULT_CODES = (-127.0, -999.0, 999.0, 6553.5, 3276.7)
"""What common probes and their libraries send instead of a value: probe lost, no answer, all
bits set. Common practice, no source."""
_DOUBT_BITS = 16


@dataclass(frozen=True, slots=True)
class Flags:
    """The doubts about each value of a reading."""

    temperature: Doubt = NO_DOUBT
    humidity: Doubt = NO_DOUBT
    surface: Doubt = NO_DOUBT

    def packed(self) -> int:
        """One integer: temperature in bits 0–15, humidity in 16–31, surface in 32–47."""
        high = int(self.surface) << (2 * _DOUBT_BITS)
        return int(self.temperature) | int(self.humidity) << _DOUBT_BITS | high

    @classmethod
    def unpacked(cls, bits: int) -> "Flags":
        mask = (1 << _DOUBT_BITS) - 1
        return cls(
            Doubt(bits & mask),
            Doubt(bits >> _DOUBT_BITS & mask),
            Doubt(bits >> 2 * _DOUBT_BITS & mask),
        )

    def __or__(self, other: "Flags") -> "Flags":
        return Flags(
            self.temperature | other.temperature,
            self.humidity | other.humidity,
            self.surface | other.surface,
        )

    def __bool__(self) -> bool:
        return bool(self.packed())

    def text(self) -> str:
        """`temperature:spike humidity:frozen`, as in the CSV's `flags` column."""
        words: list[str] = []
        for name in ("temperature", "humidity", "surface"):
            doubts: Doubt = getattr(self, name)
            words += [f"{name}:{(d.name or '').lower().replace('_', '-')}" for d in doubts]
        return " ".join(words)

    @classmethod
    def from_text(cls, text: str) -> "Flags":
        """The inverse of `text`. Raises ValueError for a word it doesn't know."""
        doubts = dict.fromkeys(("temperature", "humidity", "surface"), NO_DOUBT)
        for word in text.split():
            name, _, doubt = word.partition(":")
            try:
                doubts[name] |= Doubt[doubt.upper().replace("-", "_")]
            except KeyError:
                raise ValueError(f"unknown flag {word!r}") from None
        return cls(**doubts)


TEMPERATURE_FLAGS = Flags(temperature=Doubt((1 << _DOUBT_BITS) - 1)).packed()
HUMIDITY_FLAGS = TEMPERATURE_FLAGS << _DOUBT_BITS
SURFACE_FLAGS = HUMIDITY_FLAGS << _DOUBT_BITS


@dataclass(frozen=True, slots=True)
class Reading:
    """One line of a sensor, stamped when its bytes arrived. None: the line didn't give it."""

    at: datetime
    temperature_c: float | None
    humidity_pct: float | None
    surface_c: float | None = None
    flags: Flags = Flags()
    raw: str = ""


@dataclass(frozen=True, slots=True)
class Readings:
    """Many readings of one sensor as columns of equal length, in time order; nan: not given."""

    time_s: FloatArray
    temperature_c: FloatArray
    humidity_pct: FloatArray
    surface_c: FloatArray
    flags: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.time_s)

    def between(self, start_s: float, end_s: float) -> "Readings":
        """Those with start ≤ time ≤ end (views, nothing is copied)."""
        first = int(np.searchsorted(self.time_s, start_s, "left"))
        last = int(np.searchsorted(self.time_s, end_s, "right"))
        part = slice(first, last)
        return Readings(
            self.time_s[part],
            self.temperature_c[part],
            self.humidity_pct[part],
            self.surface_c[part],
            self.flags[part],
        )

    @classmethod
    def empty(cls) -> "Readings":
        nothing = np.empty(0)
        return cls(nothing, nothing, nothing, nothing, np.empty(0, np.int64))
