"""The humidity over a slush of salt in a closed jar, which nothing but the salt and its warmth set.

Source: L. Greenspan, "Humidity fixed points of binary saturated aqueous solutions", Journal of
Research of the National Bureau of Standards 81A (1977), 89–96, the fitted polynomials of its
table; that of potassium sulphate is from memory, and held to the paper's values by a test.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Salt:
    """`power` n of the temperature in °C has the coefficient n. `off_pct`: common practice."""

    name: str
    said: str
    coefficients: tuple[float, ...]

    def humidity_pct(self, temperature_c: float) -> float:
        """Relative humidity in % over it. Valid for 5 to 40 °C. Source: Greenspan (1977)."""
        return sum(c * temperature_c**n for n, c in enumerate(self.coefficients))


SALTS: tuple[Salt, ...] = (
    Salt(
        "table-salt",
        "table salt (sodium chloride)",
        (75.5164, 0.0398321, -0.265459e-2, 0.2848e-4),
    ),
    Salt("potassium-chloride", "potassium chloride", (88.6190, -0.193340, 0.899706e-3)),
    Salt("potassium-sulphate", "potassium sulphate", (98.7792, -0.0590502)),
    Salt("magnesium-chloride", "magnesium chloride", (33.6686, -0.00797397, -0.108988e-2)),
)
VALID_C = (5.0, 40.0)


def salt_named(name: str) -> Salt:
    return next(salt for salt in SALTS if salt.name == name)
