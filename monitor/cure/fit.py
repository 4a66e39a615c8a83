"""What a person's own trial cups say: the base of the count, and how strongly warmth drives it.

Both by the method of ASTM C1074's annex. There the rate constant K comes from a strength curve;
here it is 1 / minutes to gel, for a cup gels when the same share of its work is done.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from monitor.cure.cups import temperatures_apart
from monitor.errors import BadInput
from monitor.records import FloatArray, GelRow
from monitor.units import GAS_CONSTANT_J_PER_MOL_K, KELVIN_AT_0_C

LEAST_TEMPERATURES = 3
"""Two temperatures lie on any straight line. Source: ASTM C1074's annex asks for three
(from memory)."""


@dataclass(frozen=True, slots=True)
class StraightLine:
    """y = slope·x + intercept. The errors are None where nothing is left over to judge by."""

    slope: float
    intercept: float
    slope_error: float | None
    intercept_error: float | None
    zero: float
    """x where the line meets zero: nan for a level line."""
    zero_error: float | None


@dataclass(frozen=True, slots=True)
class CupFit:
    """One cup beside both laws: the minutes each gives it, and how far off, % of its own time."""

    cup: GelRow
    base_minutes: float
    base_off_pct: float
    warmth_minutes: float
    warmth_off_pct: float


@dataclass(frozen=True, slots=True)
class Fit:
    """The datum temperature (base) and apparent activation energy that the cups give.

    The errors are one standard error each, None at the least number of cups.
    """

    cups: tuple[CupFit, ...]
    temperatures: int
    base_c: float
    base_error_c: float | None
    activation_kj_per_mol: float
    activation_error_kj_per_mol: float | None


def straight_line(x: FloatArray, y: FloatArray) -> StraightLine:
    """The line of least squares through points, x and y in any units, with standard errors.

    Valid for two points or more at two values of x or more; errors from three points on. The
    error of the zero is of first order: good while it is small beside the distance to the points.
    Source: ordinary least squares in closed form, as the NIST/SEMATECH handbook's straight-line
    fit; the zero's error by propagation, for which slope and mean are uncorrelated.
    """
    count, middle_x, middle_y = len(x), float(x.mean()), float(y.mean())
    off_x = x - middle_x
    width = float(off_x @ off_x)
    slope = float(off_x @ (y - middle_y)) / width
    intercept = middle_y - slope * middle_x
    zero = middle_x - middle_y / slope if slope else math.nan
    if count < 3:
        return StraightLine(slope, intercept, None, None, zero, None)
    left = y - middle_y - slope * off_x
    variance = float(left @ left) / (count - 2)
    return StraightLine(
        slope,
        intercept,
        math.sqrt(variance / width),
        math.sqrt(variance * (1.0 / count + middle_x**2 / width)),
        zero,
        math.sqrt(variance * (1.0 / count + (zero - middle_x) ** 2 / width)) / abs(slope)
        if slope
        else None,
    )


def fit_cups(cups: Sequence[GelRow]) -> Fit:
    """Base (°C) and activation energy (kJ/mol) from cups of one mix: °C and minutes to gel.

    Valid for cups of one dose and size at three temperatures or more, each between the coldest
    and the warmest. Raises BadInput for fewer temperatures, where colder was not slower, and
    where the line meets zero at or above the coldest cup. Source: ASTM C1074, annex A1: K against
    temperature, and ln K against 1/kelvin.
    """
    temperature_c = np.array([cup.temperature_c for cup in cups], float)
    minutes = np.array([cup.minutes for cup in cups], float)
    apart = temperatures_apart(temperature_c.tolist())
    if apart < LEAST_TEMPERATURES:
        raise BadInput(
            f"{len(cups)} cup{'' if len(cups) == 1 else 's'} at {apart} "
            f"temperature{'' if apart == 1 else 's'}: too few for a line, which takes "
            f"{LEAST_TEMPERATURES}.",
            f"Time cups of one mix at {LEAST_TEMPERATURES} temperatures, 1 °C apart at the least "
            "and better 5.",
        )
    inverse_k = 1.0 / (temperature_c + KELVIN_AT_0_C)
    pace = straight_line(temperature_c, 1.0 / minutes)
    log_pace = straight_line(inverse_k, -np.log(minutes))
    _checked(pace, log_pace, float(temperature_c.min()))
    base_minutes = 1.0 / (pace.slope * (temperature_c - pace.zero))
    warmth_minutes = np.exp(-(log_pace.slope * inverse_k + log_pace.intercept))
    sure = len(cups) > LEAST_TEMPERATURES
    return Fit(
        tuple(
            CupFit(cup, float(base), _off_pct(cup, base), float(warmth), _off_pct(cup, warmth))
            for cup, base, warmth in zip(cups, base_minutes, warmth_minutes, strict=True)
        ),
        apart,
        pace.zero,
        pace.zero_error if sure else None,
        -log_pace.slope * GAS_CONSTANT_J_PER_MOL_K / 1000.0,
        log_pace.slope_error * GAS_CONSTANT_J_PER_MOL_K / 1000.0
        if sure and log_pace.slope_error is not None
        else None,
    )


def _checked(pace: StraightLine, log_pace: StraightLine, coldest_c: float) -> None:
    if pace.slope <= 0.0 or log_pace.slope >= 0.0:
        raise BadInput(
            "Colder was not slower: these cups give no base.",
            "Time the cups again, alike in size and mix, each at its own steady temperature.",
        )
    if pace.zero >= coldest_c:
        raise BadInput(
            "The straight line says that your coldest cup could not have kicked, and it did.",
            "Time the cups again; if they stay so, leave the hottest out: over so wide a range "
            "the pace is no straight line.",
        )


def _off_pct(cup: GelRow, minutes: float) -> float:
    return float(100.0 * (cup.minutes - minutes) / cup.minutes)


def pace_ratio(activation_kj_per_mol: float, cold_c: float, warm_c: float) -> float:
    """How many times as fast it goes at the warm temperature (°C) as at the cold one.

    Valid above -273.15 °C. Source: the Arrhenius law, as ASTM C1074's equivalent age has it.
    """
    colder = 1.0 / (cold_c + KELVIN_AT_0_C) - 1.0 / (warm_c + KELVIN_AT_0_C)
    return math.exp(activation_kj_per_mol * 1000.0 / GAS_CONSTANT_J_PER_MOL_K * colder)
