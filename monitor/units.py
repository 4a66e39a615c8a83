"""Conversions and physical constants, each with its source. Inside: °C, %, g, mm, hours, UTC."""

from typing import Literal

Unit = Literal["c", "f"]

KELVIN_AT_0_C = 273.15
"""0 °C in kelvin. Source: the SI definition of the degree Celsius (BIPM SI Brochure, 2.3.1)."""

GAS_CONSTANT_J_PER_MOL_K = 8.314462618
"""Molar gas constant. Source: CODATA 2018 (exact since the 2019 SI)."""

SECONDS_PER_HOUR = 3600.0
F_DEGREES_PER_C_DEGREE = 1.8
"""Size of a Fahrenheit degree. Source: NIST Special Publication 811, appendix B.8."""


def c_from_f(temperature_f: float) -> float:
    """A temperature in °F as °C. Valid for any finite value. Source: NIST SP 811, B.8."""
    return (temperature_f - 32.0) / F_DEGREES_PER_C_DEGREE


def f_from_c(temperature_c: float) -> float:
    """A temperature in °C as °F. Valid for any finite value. Source: NIST SP 811, B.8."""
    return temperature_c * F_DEGREES_PER_C_DEGREE + 32.0


def c_degrees_from_f_degrees(difference_f: float) -> float:
    """A difference, or a count of degree-hours, from °F to °C: no 32 in it.

    Valid for any finite value. Source: NIST SP 811, B.8.
    """
    return difference_f / F_DEGREES_PER_C_DEGREE


def f_degrees_from_c_degrees(difference_c: float) -> float:
    """A difference, or a count of degree-hours, from °C to °F: no 32 in it.

    Valid for any finite value. Source: NIST SP 811, B.8.
    """
    return difference_c * F_DEGREES_PER_C_DEGREE


def temperature_said(temperature_c: float, unit: Unit) -> str:
    """`16.3 °C`, or `61.3 °F` in a shop that works in °F."""
    if unit == "f":
        return f"{f_from_c(temperature_c):.1f} °F"
    return f"{temperature_c:.1f} °C"


def difference_said(difference_c: float, unit: Unit) -> str:
    """A difference in the shop's unit: no 32 in it."""
    if unit == "f":
        return f"{f_degrees_from_c_degrees(difference_c):.1f} °F"
    return f"{difference_c:.1f} °C"
