"""One stay's readings, and what they become: knots of a run."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from monitor.records import FloatArray, Nearness

BAND_C = {Nearness.PROBE: 0.5, Nearness.BESIDE: 1.0, Nearness.SAME_SPACE: 2.0}
"""How far the part may be from the reading, in °C. Common practice, no source."""

GAP_S = 15 * 60.0
LONG_GAP_S = 2 * 3600.0
SILENT_STEPS = 2.5
STEPS_LOOKED_AT = 1000


@dataclass(frozen=True)
class Trace:
    """One stay's readings of one channel, in time order: the good ones as columns.

    `time_s` are Unix seconds, `temperature_c` °C, of equal length; `suspect_s` the times of the
    suspect ones. `sensor_band_c` replaces the nearness's own band where the sensor is known to be
    worse, `silent_after_s` what its steps say of silence.
    """

    time_s: FloatArray
    temperature_c: FloatArray
    nearness: Nearness
    suspect_s: FloatArray
    sensor_band_c: float = 0.0
    silent_after_s: float | None = None

    @property
    def band_c(self) -> float:
        return max(BAND_C[self.nearness], self.sensor_band_c)

    def silence_s(self) -> float:
        """How long without a reading is silence: 15 minutes, or 2.5 of the sensor's own steps.

        Valid for any number of readings. Source: this project's rule.
        """
        if self.silent_after_s is not None:
            return self.silent_after_s
        steps = np.diff(self.time_s[-STEPS_LOOKED_AT:])
        return max(GAP_S, SILENT_STEPS * float(np.median(steps))) if steps.size else GAP_S


@dataclass(frozen=True)
class Run:
    """The knots of one stay: indexes first ≤ i < stop of the exposure's columns."""

    first: int
    stop: int
    band_c: float
    nearness: Nearness
    trace: Trace

    @cached_property
    def silence_s(self) -> float:
        """How many seconds without a reading are silence here. Valid for any run.

        Source: this project's rule.
        """
        return self.trace.silence_s()
