"""Dew point over water and spread: how close a surface is to getting wet.

Below 0 °C a dew point (over water) and a frost point (over ice) differ; this module always gives
the dew point over water, as humidity sensors are calibrated (WMO Guide, 4.B), and says so in
`OVER`.
"""

import numpy as np
from numpy.typing import ArrayLike

from monitor.records import FloatArray

OVER = "water"

MAGNUS_HPA = 6.112
MAGNUS_SLOPE = 17.62
MAGNUS_C = 243.12
VALID_C = (-45.0, 60.0)
"""Range of the Magnus formula over water. Source: WMO Guide to Meteorological Instruments and
Methods of Observation (WMO-No. 8), annex 4.B."""


def saturation_pressure_hpa(temperature_c: ArrayLike) -> FloatArray:
    """Saturation vapour pressure over water in hPa, for temperatures in °C; nan outside.

    Valid for -45 to 60 °C, within 0.31 % of IAPWS-IF97 from 0 to 40 °C.
    Source: WMO-No. 8, annex 4.B.
    """
    t = np.asarray(temperature_c, float)
    valid = (t >= VALID_C[0]) & (t <= VALID_C[1])
    pressure = MAGNUS_HPA * np.exp(MAGNUS_SLOPE * t / (MAGNUS_C + t))
    return np.where(valid, pressure, np.nan)


def dew_point_c(temperature_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    """Dew point over water in °C, for air temperature in °C and relative humidity in %.

    Arrays broadcast; nan where either value is missing or outside. Valid for -45 to 60 °C and
    humidity above 0 up to 100 %. Source: WMO-No. 8, annex 4.B, the Magnus formula inverted.
    """
    t = np.asarray(temperature_c, float)
    h = np.asarray(humidity_pct, float)
    valid = (t >= VALID_C[0]) & (t <= VALID_C[1]) & (h > 0.0) & (h <= 100.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        gamma = np.log(h / 100.0) + MAGNUS_SLOPE * t / (MAGNUS_C + t)
        dew = MAGNUS_C * gamma / (MAGNUS_SLOPE - gamma)
    return np.where(valid, dew, np.nan)


def spread_c(surface_c: ArrayLike, dew_c: ArrayLike) -> FloatArray:
    """Surface temperature minus dew point, in °C: at 0 and below the surface is wet.

    Valid wherever both are given. Source: the "3 °C above dew point" rule of ISO 8502-4 is stated
    as this difference.
    """
    spread: FloatArray = np.asarray(surface_c, float) - np.asarray(dew_c, float)
    return spread
