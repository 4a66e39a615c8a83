"""Columns in the shop's degrees."""

from monitor.answers.views import LayupHistory
from monitor.records import FloatArray
from monitor.units import F_DEGREES_PER_C_DEGREE, Unit, f_degrees_from_c_degrees, f_from_c


def unit_of(history: LayupHistory) -> Unit:
    return "f" if history.unit == "f" else "c"


def temperature(value_c: float, unit: Unit) -> float:
    return f_from_c(value_c) if unit == "f" else value_c


def temperatures(values_c: FloatArray, unit: Unit) -> FloatArray:
    return values_c * F_DEGREES_PER_C_DEGREE + 32.0 if unit == "f" else values_c


def difference(value_c: float, unit: Unit) -> float:
    return f_degrees_from_c_degrees(value_c) if unit == "f" else value_c


def differences(values_c: FloatArray, unit: Unit) -> FloatArray:
    """Differences of temperature: no 32 in them."""
    return values_c * F_DEGREES_PER_C_DEGREE if unit == "f" else values_c


def sign(unit: Unit) -> str:
    return "°F" if unit == "f" else "°C"


def count_in(value: float, count_unit: str, unit: Unit) -> float:
    """A count in the shop's degree-hours; equivalent hours have no degrees in them."""
    return difference(value, unit) if count_unit == "dh" else value


def count_sign(count_unit: str, unit: Unit) -> str:
    return f"{sign(unit)}·h" if count_unit == "dh" else "equivalent h"
