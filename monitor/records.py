"""What passes between the stages: plain frozen records, units in the names, times in UTC."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import IntFlag, StrEnum
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from monitor.units import Unit

FloatArray = NDArray[np.float64]


class Channel(StrEnum):
    AIR = "air"
    SURFACE = "surface"


class Nearness(StrEnum):
    PROBE = "probe"
    BESIDE = "beside"
    SAME_SPACE = "same-space"


class Role(StrEnum):
    SKIN_A = "skin-a"
    SKIN_B = "skin-b"
    MAT_EDGE = "mat-edge"
    FILLET = "fillet"
    PLAIN_COAT = "plain-coat"
    WAX_COAT = "wax-coat"
    PATCH = "patch"
    OTHER = "other"


class MarkKind(StrEnum):
    CATALYST_IN = "catalyst-in"
    KICKED = "kicked"
    TRIMMED_SOFT = "trimmed-soft"
    TRIMMED_CLEAN = "trimmed-clean"
    TRIMMED_HARD = "trimmed-hard"
    FLIPPED = "flipped"
    SANDED_DUST = "sanded-dust"
    SANDED_GUM = "sanded-gum"
    THUMBNAIL_NONE = "thumbnail-none"
    THUMBNAIL_MARK = "thumbnail-mark"
    THUMBNAIL_DENT = "thumbnail-dent"
    THUMBNAIL_WET = "thumbnail-wet"
    COATED_PLAIN = "coated-plain"
    COATED_WAX = "coated-wax"
    WASHED = "washed"
    WIPED = "wiped"
    COVERED = "covered"
    UNCOVERED = "uncovered"
    HEATER_ON = "heater-on"
    HEATER_OFF = "heater-off"
    RAINED = "rained"
    SUN = "sun"
    PEEL_PLY_OFF = "peel-ply-off"
    SEEN_WARM = "seen-warm"
    STICKY = "sticky"
    NOTE = "note"


class Stage(StrEnum):
    """What a part can be ready for, in the order it comes."""

    GEL = "gel"
    KNIFE_TRIM = "knife_trim"
    RECOAT = "recoat"
    SEALED = "sealed"
    FLIP = "flip"
    SAND = "sand"
    PROPS_OFF = "props_off"
    LOAD = "load"
    FULL = "full"


WINDOWS = frozenset({Stage.KNIFE_TRIM, Stage.RECOAT})


class Verdict(StrEnum):
    """An answer about one stage, worst last: a joint takes the last of its batches'."""

    READY = "ready"
    DUE = "due"
    TEST_IT = "test-it"
    NOT_YET = "not-yet"
    SHUT = "shut"
    CANT_TELL = "cant-tell"
    WONT_CURE = "wont-cure"


# ── Readings ────────────────────────────────────────────────────────────────────────────────


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


NO_DOUBT = Doubt(0)
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


# ── The sheet ───────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class GelRow:
    """One measured cup: how long a mix took to gel."""

    temperature_c: float
    minutes: float
    catalyst_pct: float | None = None
    cup_g: float | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """A resin's data as its maker's sheet gives it, in °C and °C-hours. None: it doesn't say.

    `needs` holds degree-hours (method linear) or equivalent hours (arrhenius) since mixing:
    one figure for gel and openings, two (opens, shuts) for the windows.
    """

    name: str
    kind: Literal["polyester", "vinyl-ester", "epoxy"]
    role: Literal["laminating", "gel-coat", "thickened", "finishing"] | None = None
    air_inhibited: bool | None = None
    demo: bool = False
    version: str | None = None
    over_epoxy: bool | None = None
    source: str | None = None
    unit: Unit = "c"
    working_c: tuple[float, float] | None = None
    humidity_max_pct: float | None = None
    dew_spread_min_c: float | None = None
    method: Literal["linear", "arrhenius"] = "linear"
    base_c: float | None = None
    floor_c: float | None = None
    cap_c: float | None = None
    activation_kj_per_mol: float | None = None
    reference_c: float | None = None
    doubling_c: float | None = None
    catalyst: str | None = None
    catalyst_pct: tuple[float, float] | None = None
    aim_pct: float | None = None
    catalyst_g_per_ml: float | None = None
    ratio_by_weight: tuple[float, float] | None = None
    tolerance_pct: float | None = None
    wax_pct: float | None = None
    filler_max_pct: float | None = None
    pigment_max_pct: float | None = None
    needs: Mapping[Stage, tuple[float, ...]] = field(default_factory=dict)
    recoat_max_hours: float | None = None
    depth_max_mm: float | None = None
    part_max_c: float | None = None
    wet_film_mm: tuple[float, float] | None = None
    wax_temperature_c: tuple[float, float] | None = None
    rescue_max_c: float | None = None
    gel_rows: tuple[GelRow, ...] = ()
    value_sources: Mapping[str, str] = field(default_factory=dict)

    @property
    def count_unit(self) -> Literal["dh", "eq_h"]:
        return "eq_h" if self.method == "arrhenius" else "dh"

    @property
    def second_part(self) -> Literal["catalyst", "hardener"]:
        return "hardener" if self.kind == "epoxy" else "catalyst"


@dataclass(frozen=True, slots=True)
class KeptSheet:
    """A sheet as it stood when a layup began to be judged by it: its file's text, kept whole."""

    id: int
    stem: str
    text: str
    kept_at: datetime


# ── The shop's book ─────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Sensor:
    id: int
    name: str
    port: str
    unit: Unit | None = None
    format: str | None = None
    identity: str | None = None


@dataclass(frozen=True, slots=True)
class Layup:
    """One part's work, called by the number on its masking tape."""

    id: int
    number: int
    what: str
    sheet_id: int
    on: str | None = None
    safety: bool = False
    added_at: datetime | None = None
    ended_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Batch:
    """One cup of mix with its own clock. `name` is its role, or the role and a number."""

    id: int
    layup_id: int
    name: str
    role: Role
    sheet_id: int
    mixed_at: datetime
    give_or_take: timedelta = timedelta(0)
    resin_g: float | None = None
    catalyst_g: float | None = None
    hardener_g: float | None = None
    scale_step_g: float | None = None
    thickness_mm: float | None = None
    waxed: bool = False
    counts_on: Channel | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """A layup (or one batch of it) beside one channel of one sensor, from–to."""

    id: int
    layup_id: int
    batch_id: int | None
    sensor_id: int
    channel: Channel
    nearness: Nearness
    since: datetime
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """Something seen or done."""

    id: int
    layup_id: int
    batch_id: int | None
    kind: MarkKind
    at: datetime
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Correction:
    """One change of an entry, the old value kept."""

    id: int
    entry: str
    field: str
    old_value: str | None
    new_value: str | None
    corrected_at: datetime


@dataclass(frozen=True, slots=True)
class Alert:
    """Parts, fact and one action. `key` says what it is about: one alert an event."""

    id: int
    rule: str
    key: str
    began_at: datetime
    raised_at: datetime
    parts: tuple[int, ...]
    fact: str
    action: str
    cleared_at: datetime | None = None
    seen_at: datetime | None = None
