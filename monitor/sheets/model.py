"""The shape of a sheet's file: which keys there are and what type each must be.

Every key may be missing here; what must be there, and what fits with what, is for the checks.
"""

import re
from datetime import date
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, Strict

from monitor.errors.text import shown

Number = Annotated[float, Strict(), Field(allow_inf_nan=False)]
# Strict tuples refuse the lists that TOML gives; the figures inside stay strict.
Pair = Annotated[tuple[Number, Number], Strict(False)]


def _as_words(value: object) -> object:
    """A version is often typed bare, as 3 or 2026-03-01: it is taken as words."""
    if isinstance(value, int | float | date) and not isinstance(value, bool):
        return str(value)
    return value


_BROKEN = re.compile(r"[ \t]*[\r\n\t][ \t\r\n]*")


def _on_one_line(text: str) -> str:
    return shown(_BROKEN.sub(" ", text))


Words = Annotated[str, AfterValidator(_on_one_line)]
Version = Annotated[Words, BeforeValidator(_as_words)]


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class Working(_Table):
    temperature_c: Pair | None = None
    humidity_max_pct: Number | None = None
    dew_spread_min_c: Number | None = None


class Counting(_Table):
    method: Literal["linear", "arrhenius"] | None = None
    base_c: Number | None = None
    floor_c: Number | None = None
    cap_c: Number | None = None
    activation_kj_per_mol: Number | None = None
    reference_c: Number | None = None
    doubling_c: Number | None = None


class Mix(_Table):
    catalyst: Words | None = None
    catalyst_pct: Pair | None = None
    aim_pct: Number | None = None
    catalyst_g_per_ml: Number | None = None
    ratio_by_weight: Pair | None = None
    tolerance_pct: Number | None = None
    wax_pct: Number | None = None
    filler_max_pct: Number | None = None
    pigment_max_pct: Number | None = None


class Stages(_Table):
    gel: Number | None = None
    knife_trim: Pair | None = None
    recoat: Pair | None = None
    recoat_max_hours: Number | None = None
    sealed: Number | None = None
    flip: Number | None = None
    sand: Number | None = None
    props_off: Number | None = None
    load: Number | None = None
    full: Number | None = None


class Limits(_Table):
    depth_max_mm: Number | None = None
    part_max_c: Number | None = None
    wet_film_mm: Pair | None = None
    wax_temperature_c: Pair | None = None
    rescue_max_c: Number | None = None


class GelCup(_Table):
    temperature_c: Number | None = None
    catalyst_pct: Number | None = None
    minutes: Number | None = None
    cup_g: Number | None = None


class SheetFile(_Table):
    """A sheet as typed, in the degrees of its own `unit`."""

    name: Words | None = None
    kind: Literal["polyester", "vinyl-ester", "epoxy"] | None = None
    role: Literal["laminating", "gel-coat", "thickened", "finishing"] | None = None
    air_inhibited: bool | None = None
    demo: bool | None = None
    version: Version | None = None
    unit: Literal["c", "f"] | None = None
    over_epoxy: bool | None = None
    source: Words | None = None
    working: Working = Working()
    count: Counting = Counting()
    mix: Mix = Mix()
    stages: Stages = Stages()
    limits: Limits = Limits()
    gel: list[GelCup] = []
    origins: dict[str, Words] = Field(default_factory=dict, alias="from")

    def value(self, key: str) -> object:
        """What stands at `table.key`, or at a bare top key; None where nothing does."""
        table, _, last = key.rpartition(".")
        return getattr(getattr(self, table) if table else self, last)
