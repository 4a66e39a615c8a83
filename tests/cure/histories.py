"""Made-up histories for the count: readings, sheets, and the exposures of both."""

import numpy as np

from monitor.cure.count import Chunks, Tally
from monitor.cure.exposure import EdgeLine, Exposure, expose
from monitor.cure.law import Law, closing_law, opening_law
from monitor.cure.trace import Trace
from monitor.records import FloatArray, Nearness, Sheet

START_S = 1_750_000_000.0
HOUR_S = 3600.0


def a_sheet(**figures: object) -> Sheet:
    given: dict[str, object] = {"name": "DEMO made-up", "kind": "polyester", "base_c": 5.0}
    return Sheet(**{**given, **figures})  # type: ignore[arg-type] # figures are a sheet's own


def arrhenius_sheet(kj_per_mol: float, reference_c: float = 20.0, **figures: object) -> Sheet:
    return a_sheet(
        method="arrhenius",
        base_c=None,
        activation_kj_per_mol=kj_per_mol,
        reference_c=reference_c,
        **figures,
    )


def opening(sheet: Sheet) -> Law:
    law = opening_law(sheet)
    assert law is not None
    return law


def closing(sheet: Sheet) -> Law:
    law = closing_law(sheet)
    assert law is not None
    return law


def trace(
    time_s: FloatArray, temperature_c: FloatArray, nearness: Nearness = Nearness.BESIDE
) -> Trace:
    return Trace(np.asarray(time_s, float), np.asarray(temperature_c, float), nearness, np.empty(0))


def tally(exposure: Exposure, edge: EdgeLine, law: Law) -> Tally:
    return Tally(Chunks(exposure), edge, law)


def middle_count(hours: FloatArray, temperature_c: FloatArray, law: Law) -> float:
    """The middle count of readings at those hours since mixing, up to the last one."""
    time_s = START_S + np.asarray(hours, float) * HOUR_S
    exposure = expose((trace(time_s, temperature_c),), START_S, float(time_s[-1]))
    total = tally(exposure, exposure.middle, law).total
    assert total is not None
    return total
