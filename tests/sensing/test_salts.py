"""The salts' humidities against what was published of them, and when a sensor is at rest."""

import math

import numpy as np
import pytest

from monitor.sensing.flatness import rest
from monitor.sensing.salts import SALTS, salt_named

# L. Greenspan, J. Res. Natl. Bur. Stand. 81A (1977) 89, table 2, in % at °C; from memory.
PUBLISHED = {
    "table-salt": {5: 75.65, 10: 75.67, 15: 75.61, 20: 75.47, 25: 75.29, 30: 75.09, 40: 74.68},
    "potassium-chloride": {5: 87.67, 10: 86.77, 15: 85.92, 20: 85.11, 25: 84.34, 30: 83.62},
    "potassium-sulphate": {5: 98.48, 10: 98.18, 15: 97.89, 20: 97.59, 25: 97.30, 30: 97.00},
    "magnesium-chloride": {5: 33.60, 10: 33.47, 15: 33.30, 20: 33.07, 25: 32.78, 30: 32.44},
}
# CRC Handbook of Chemistry and Physics, "Constant humidity solutions" (A. Wexler), section 15:
# A exp(B/T), T in K, good to 2 %; a fit of its own to other data too.
HANDBOOK = {
    "table-salt": (69.20, 25.0, (10, 40)),
    "potassium-chloride": (49.38, 159.0, (5, 25)),
    "potassium-sulphate": (86.75, 34.0, (10, 40)),
    "magnesium-chloride": (29.26, 34.0, (5, 40)),
}


@pytest.mark.parametrize("salt", SALTS, ids=lambda salt: salt.name)
def test_the_published_table(salt) -> None:
    """To the table's last digit, rounding apart."""
    for temperature_c, humidity_pct in PUBLISHED[salt.name].items():
        assert salt.humidity_pct(temperature_c) == pytest.approx(humidity_pct, abs=0.015)


@pytest.mark.parametrize("name", HANDBOOK)
def test_the_handbooks_own_fit(name: str) -> None:
    """Within the 2 % of humidity it claims."""
    a, b, (low, high) = HANDBOOK[name]
    for temperature_c in range(low, high + 1, 5):
        theirs = a * math.exp(b / (temperature_c + 273.15))
        assert salt_named(name).humidity_pct(temperature_c) == pytest.approx(theirs, abs=2.0)


def test_every_salt_is_held_to_something() -> None:
    """None without its table."""
    assert {salt.name for salt in SALTS} == set(PUBLISHED) == set(HANDBOOK)


def hour(values, step_s: float = 60.0) -> tuple[np.ndarray, np.ndarray]:
    value = np.asarray(values, float)
    return np.arange(value.size) * step_s, value


def test_noise_is_at_rest_and_a_creep_is_not() -> None:
    """Five-minute means are compared, so noise doesn't count as moving."""
    draw = np.random.default_rng(3)
    time_s, steady = hour(75.0 + 0.3 * draw.normal(size=121))
    found = rest(time_s, steady, 3600.0, 7200.0)
    assert found is not None
    assert found.apart < 0.8
    assert found.mean == pytest.approx(75.0, abs=0.15)
    creeping = rest(time_s, 70.0 + time_s / 7200.0, 3600.0, 7200.0)
    assert creeping is not None
    assert creeping.apart == pytest.approx(0.46, abs=0.03)


def test_nothing_fresh_is_no_rest() -> None:
    """A quarter of an hour old, or never."""
    time_s, steady = hour([75.0] * 121)
    assert rest(time_s, steady, 3600.0, 7200.0 + 901.0) is None
    assert rest(time_s[:0], steady[:0], 3600.0, 0.0) is None


@pytest.mark.parametrize(("minutes", "covered_min"), [(20, 20), (59, 60), (120, 60)])
def test_how_much_is_covered(minutes: int, covered_min: int) -> None:
    """Only the stretch looked at."""
    time_s, steady = hour([75.0] * (minutes + 1))
    found = rest(time_s, steady, 3600.0, minutes * 60.0)
    assert found is not None
    assert abs(found.covered_s / 60.0 - covered_min) <= 5.0
