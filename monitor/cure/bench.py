"""At the mixing bench: how much goes in, what the scale can hold, what puts a wrong cup right."""

import math
from dataclasses import dataclass
from typing import Literal

from monitor.cure.mixing import Weighed
from monitor.records import Sheet

SCALE_STEPS_G = (1.0, 0.1, 0.01)
"""The steps that scales are sold with, coarsest first. Common practice, no source."""

CUP_STEP_G = 5.0
"""The smallest cup is said in steps of this, rounded up. This project's rule."""

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Dose:
    """An amount of the second part. `millilitres` None: the sheet gives no density."""

    pct: float
    grams: float
    millilitres: float | None


@dataclass(frozen=True, slots=True)
class Doses:
    """At the sheet's aim (or ratio) and at the ends of what it allows. None: it doesn't say."""

    aim: Dose | None
    low: Dose | None
    high: Dose | None


def ratio_pct(sheet: Sheet) -> float | None:
    """Hardener as % of the resin's weight. None: the sheet gives no ratio.

    Valid for any sheet. Source: arithmetic.
    """
    if sheet.ratio_by_weight is None:
        return None
    return 100.0 * sheet.ratio_by_weight[1] / sheet.ratio_by_weight[0]


def aim_pct(sheet: Sheet) -> float | None:
    """What the sheet wants of the second part, as % of the resin's weight. None: it doesn't say.

    Valid for any sheet. Source: the sheet.
    """
    return ratio_pct(sheet) if sheet.kind == "epoxy" else sheet.aim_pct


def allowed_pct(sheet: Sheet) -> tuple[float, float] | None:
    """The least and most the sheet allows, as % of the resin's weight. None: it doesn't say.

    Valid for any sheet. Source: the sheet; an epoxy's is its ratio, give or take its tolerance.
    """
    if sheet.kind != "epoxy":
        return sheet.catalyst_pct
    ratio = ratio_pct(sheet)
    if ratio is None or sheet.tolerance_pct is None:
        return None
    share = sheet.tolerance_pct / 100.0
    return ratio * (1.0 - share), ratio * (1.0 + share)


def dose(sheet: Sheet, resin_g: float, pct: float) -> Dose:
    """`pct` % of `resin_g` grams of resin, in grams and, by the sheet's density, in millilitres.

    Valid for weights above 0. Source: arithmetic.
    """
    grams = resin_g * pct / 100.0
    density = sheet.catalyst_g_per_ml
    return Dose(pct, grams, None if density is None else grams / density)


def doses(sheet: Sheet, resin_g: float) -> Doses:
    """What this weight of resin (g) takes by the sheet.

    Valid for weights above 0. Source: the sheet.
    """
    aim, ends = aim_pct(sheet), allowed_pct(sheet)
    return Doses(
        None if aim is None else dose(sheet, resin_g, aim),
        None if ends is None else dose(sheet, resin_g, ends[0]),
        None if ends is None else dose(sheet, resin_g, ends[1]),
    )


@dataclass(frozen=True, slots=True)
class Resolution:
    """What one step of the scale is worth on each of two weighings, as % of each weight."""

    pct: float
    resin_share_pct: float
    second_share_pct: float

    @property
    def off_pct(self) -> float:
        return self.resin_share_pct + self.second_share_pct

    @property
    def hits_pct(self) -> tuple[float, float]:
        off = self.pct * self.off_pct / 100.0
        return max(0.0, self.pct - off), self.pct + off


def resolution(step_g: float, resin_g: float, second_g: float) -> Resolution:
    """± one step (g) on each weighing, added, as % of the mix that was meant.

    Valid for weights above 0. Source: two errors in a quotient, to first order: their relative
    sizes add (JCGM 100:2008 5.1, from memory). Added, not the root of squares: this project's rule.
    """
    return Resolution(
        100.0 * second_g / resin_g, 100.0 * step_g / resin_g, 100.0 * step_g / second_g
    )


def room_pct(pct: float, ends: tuple[float, float]) -> float:
    """How far a dose (%) may be off before it leaves the ends, as % of itself.

    Valid for a dose above 0 between the ends. Source: arithmetic.
    """
    return max(0.0, 100.0 * min(pct - ends[0], ends[1] - pct) / pct)


def holds(scale: Resolution, room: float) -> bool:
    """Whether the scale keeps the dose within `room` % of itself.

    Valid for any room ≥ 0. Source: arithmetic.
    """
    return scale.off_pct <= room + _ROUNDING


def least_resin_g(step_g: float, pct: float, room: float) -> float | None:
    """The least resin (g) of which this scale can hold the dose (%) within `room` % of itself.

    By the same sum as `resolution`, exact and not rounded. None: none is enough. Valid for step
    and dose above 0. Source: arithmetic.
    """
    if room <= 0.0:
        return None
    return step_g * (1.0 + 100.0 / pct) * 100.0 / room


def cup_said_g(least_g: float) -> float:
    """The smallest cup (g) as it is said: rounded up to 5 g.

    Valid for weights above 0. Source: this project's rule.
    """
    return CUP_STEP_G * math.ceil(least_g / CUP_STEP_G - _ROUNDING)


def finer_step_g(step_g: float, resin_g: float, second_g: float, room: float) -> float | None:
    """The coarsest step (g), finer than this one, that holds `room` % on this cup. None: none does.

    Valid for weights above 0. Source: arithmetic.
    """
    for step in SCALE_STEPS_G:
        if step < step_g and holds(resolution(step, resin_g, second_g), room):
            return step
    return None


@dataclass(frozen=True, slots=True)
class TopUp:
    """What to add to a cup so that it is mixed as the sheet asks, in grams."""

    part: Literal["catalyst", "hardener", "resin"]
    grams: float


def top_up(sheet: Sheet, weighed: Weighed, target_pct: float | None = None) -> TopUp | None:
    """What brings a cup to the sheet's aim, or to `target_pct` %. None: nothing can be said.

    Without an aim it is the nearer end of what the sheet allows. Grams are exact, not rounded.
    Valid for weights above 0. Source: arithmetic.
    """
    pct, ends = weighed.second_part_pct(sheet), allowed_pct(sheet)
    if pct is None or not weighed.resin_g:
        return None
    target = aim_pct(sheet) if target_pct is None else target_pct
    if target is None and ends is not None:
        target = min(max(pct, ends[0]), ends[1])
    if target is None:
        return None
    if pct < target:
        return TopUp(sheet.second_part, weighed.resin_g * (target - pct) / 100.0)
    return TopUp("resin", weighed.resin_g * (pct / target - 1.0))
