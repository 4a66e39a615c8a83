"""A resin's data."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from monitor.records.words import Stage
from monitor.units import Unit


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
