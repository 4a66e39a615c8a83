"""Whether a reading can be true, judged by itself and by what the same sensor said just before.

Nothing is erased: doubts are added to the flags and the values stay as they were. Limits are
common practice for cheap sensors in a workshop, without a published source, unless said.
"""

import math
from dataclasses import replace
from datetime import datetime, timedelta

from monitor.records import (
    AIR_LIMITS_C,
    FAULT_CODES,
    HUMIDITY_LIMITS_PCT,
    NO_DOUBT,
    SURFACE_LIMITS_C,
    Doubt,
    Flags,
    Reading,
)
from monitor.sensing.steadiness import FrozenWatch, SpikeWatch
from monitor.units import Unit, f_from_c

POWER_UP_C = 85.0
"""What a digital probe holds between power-up and its first conversion."""
POWER_UP_JUMP_C = 20.0
POWER_UP_MEMORY = timedelta(minutes=15)

FAHRENHEIT_FROM, FAHRENHEIT_TO = 45.0, 110.0
"""Read as °C these are no workplace; read as °F they are 7 to 43 °C."""
SURELY_CELSIUS_BELOW = 30.0
"""30 °F is frost: nobody lays up in it, so a lower figure was °C."""
SWAPPED_ABOVE_C = 45.0
SWAPPED_HUMIDITY = (5.0, 35.0)
SWAPPED_ENDS_ABOVE = 45.0


class Plausibility:
    """Adds doubts to one sensor's readings, in the order they came. Its memory is a few numbers.

    `unit` None: neither the person nor the line says whether it speaks °C or °F. `upright`: the
    person told which value is which.
    """

    def __init__(self, unit: Unit | None = None, *, upright: bool = False) -> None:
        self._unit = unit
        self._seen_celsius = False
        self._looks_fahrenheit = False
        self._seen_upright = upright
        self._looks_swapped = False
        self._air_spikes = SpikeWatch()
        self._surface_spikes = SpikeWatch()
        self._surface_before: tuple[datetime, float] | None = None
        self._frozen = FrozenWatch()

    def check(self, reading: Reading, unit: Unit | None = None) -> Reading:
        """The reading with its doubts; `unit` is what this line itself states."""
        unit = unit or self._unit
        faults = self._faults(reading, unit)
        flags = reading.flags | faults | self._columns(reading, faults, unit)
        flags |= self._ranges(reading, flags)
        flags |= self._spikes(reading, flags)
        if self._frozen.holds(reading, fahrenheit=unit == "f"):
            flags |= _on_given(reading, Doubt.FROZEN)
        return replace(reading, flags=flags) if flags != reading.flags else reading

    def _faults(self, reading: Reading, unit: Unit | None) -> Flags:
        air, humidity = reading.temperature_c, reading.humidity_pct
        zeros = _is_zero(air, unit) and humidity == 0.0
        power_up = unit != "f" and air is not None and _near(air, POWER_UP_C)
        return Flags(
            _fault(zeros or power_up or _is_code(air, unit)),
            _fault(zeros or _is_code(humidity, None)),
            _fault(self._surface_fault(reading, unit)),
        )

    def _surface_fault(self, reading: Reading, unit: Unit | None) -> bool:
        surface, before = reading.surface_c, self._surface_before
        if surface is None:
            return False
        fault = _is_code(surface, unit)
        if _near(surface, POWER_UP_C):
            # Thick resin runs through 85 on its way up; a probe that just woke jumps there.
            fault = (
                before is None
                or reading.at - before[0] > POWER_UP_MEMORY
                or abs(before[1] - surface) > POWER_UP_JUMP_C
            )
        if not fault:
            self._surface_before = (reading.at, surface)
        return fault

    def _columns(self, reading: Reading, faults: Flags, unit: Unit | None) -> Flags:
        """Fahrenheit taken for Celsius, or humidity in the temperature's place.

        Both are suspected from the first values only, and then until the unit is set or the
        values no longer fit: a sensor that has been right does not change its unit in the sun.
        """
        air, humidity = reading.temperature_c, reading.humidity_pct
        if air is None or faults.temperature:
            return Flags()
        if unit is None:
            self._suspect_fahrenheit(air)
            return _temperatures(reading, self._looks_fahrenheit, Doubt.LOOKS_FAHRENHEIT)
        if humidity is None or faults.humidity:
            return Flags()
        self._suspect_swapped(air, humidity)
        doubt = Doubt.SWAPPED if unit == "c" and self._looks_swapped else NO_DOUBT
        return Flags(doubt, doubt)

    def _suspect_fahrenheit(self, air: float) -> None:
        if not self._seen_celsius and FAHRENHEIT_FROM <= air <= FAHRENHEIT_TO:
            self._looks_fahrenheit = True
        elif not self._looks_fahrenheit and air < SURELY_CELSIUS_BELOW:
            self._seen_celsius = True

    def _suspect_swapped(self, air: float, humidity: float) -> None:
        if self._looks_swapped and humidity > SWAPPED_ENDS_ABOVE:
            self._looks_swapped, self._seen_upright = False, True
        elif not self._looks_swapped and air <= SWAPPED_ABOVE_C:
            self._seen_upright = True
        elif not self._seen_upright and SWAPPED_HUMIDITY[0] <= humidity <= SWAPPED_HUMIDITY[1]:
            self._looks_swapped = True

    def _ranges(self, reading: Reading, flags: Flags) -> Flags:
        return Flags(
            _outside(reading.temperature_c, AIR_LIMITS_C, flags.temperature),
            _outside(reading.humidity_pct, HUMIDITY_LIMITS_PCT, flags.humidity),
            _outside(reading.surface_c, SURFACE_LIMITS_C, flags.surface),
        )

    def _spikes(self, reading: Reading, flags: Flags) -> Flags:
        air, surface = reading.temperature_c, reading.surface_c
        return Flags(
            temperature=_spike(self._air_spikes, reading.at, air, flags.temperature),
            surface=_spike(self._surface_spikes, reading.at, surface, flags.surface),
        )


def _near(value: float, code: float) -> bool:
    return abs(value - code) < 0.005


def _fault(is_fault: bool) -> Doubt:
    return Doubt.FAULT_CODE if is_fault else NO_DOUBT


def _is_zero(air: float | None, unit: Unit | None) -> bool:
    return air is not None and _near(f_from_c(air) if unit == "f" else air, 0.0)


def _is_code(value: float | None, unit: Unit | None) -> bool:
    """Codes are numbers of the wire; some libraries convert them to °F like any value."""
    if value is None:
        return False
    if math.isnan(value):
        return True
    spellings = (value, f_from_c(value)) if unit == "f" else (value,)
    return any(_near(spelling, code) for spelling in spellings for code in FAULT_CODES)


def _outside(value: float | None, limits: tuple[float, float], known: Doubt) -> Doubt:
    if value is None or known or limits[0] <= value <= limits[1]:
        return NO_DOUBT
    return Doubt.OUT_OF_RANGE


def _spike(watch: SpikeWatch, at: datetime, value: float | None, known: Doubt) -> Doubt:
    if value is None or known:
        return NO_DOUBT
    return Doubt.SPIKE if watch.departs(at, value) else NO_DOUBT


def _temperatures(reading: Reading, suspected: bool, doubt: Doubt) -> Flags:
    if not suspected:
        return Flags()
    return Flags(temperature=doubt, surface=NO_DOUBT if reading.surface_c is None else doubt)


def _on_given(reading: Reading, doubt: Doubt) -> Flags:
    return Flags(
        NO_DOUBT if reading.temperature_c is None else doubt,
        NO_DOUBT if reading.humidity_pct is None else doubt,
        NO_DOUBT if reading.surface_c is None else doubt,
    )
