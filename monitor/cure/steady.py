"""What if it stays as it is: the plainest look ahead, always said with its "if"."""

import numpy as np

from monitor.cure.law import Law
from monitor.records import FloatArray


def hours_at(law: Law, temperature_c: float, missing: float) -> float | None:
    """Hours at a steady temperature (°C) to earn what is missing. None: it never would.

    Valid for missing ≥ 0. Source: the sheet's own rate.
    """
    rate: FloatArray = law.rate(np.array([temperature_c]))
    return missing / float(rate[0]) if rate[0] > 0.0 else None
