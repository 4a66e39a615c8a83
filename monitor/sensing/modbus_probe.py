"""What the registers of a probe mean, and how they are asked for. No port in sight.

Source for the frames: MODBUS Application Protocol V1.1b3 and MODBUS over Serial Line V1.02. What
probes keep in their registers is common practice, no source.
"""

from collections.abc import Iterator, Mapping
from itertools import product

from monitor.sensing.measured import Measured
from monitor.units import Unit
from monitor.wires import ModbusProbe

UNSET = 0xFFFF
FUNCTIONS = {"holding": 3, "input": 4}
_TIMES = (0.1, 0.01)
_LIKELY_C = (-20.0, 45.0)
_LIKELY_PCT = (8.0, 100.0)


def signed(register: int) -> int:
    """Sixteen bits as a two's complement number: 0xFF9F is -97."""
    return register - 0x10000 if register & 0x8000 else register


def runs(probe: ModbusProbe) -> tuple[tuple[int, int], ...]:
    """First register and count of each stretch to be asked for.

    Only registers that lie side by side are asked for in one go: a probe may refuse a stretch
    that holds one it doesn't have.
    """
    wanted = sorted(
        {r for r in (probe.temperature, probe.humidity, probe.surface) if r is not None}
    )
    found: list[tuple[int, int]] = []
    for register in wanted:
        if found and register == found[-1][0] + found[-1][1]:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        else:
            found.append((register, 1))
    return tuple(found)


def measured(probe: ModbusProbe, registers: Mapping[int, int]) -> Measured:
    """The values in the probe's unit. Temperatures are signed, a humidity never is.

    All bits set in every register is a probe whose sensor is lost; it is left as 6553.5, which
    is known as a fault code, and not read as -0.1.
    """
    lost = len(registers) > 1 and all(value == UNSET for value in registers.values())

    def temperature(register: int | None) -> float | None:
        if register is None:
            return None
        return UNSET / 10 if lost else round(signed(registers[register]) * probe.times, 6)

    humidity = None
    if probe.humidity is not None:
        raw = registers[probe.humidity]
        humidity = UNSET / 10 if raw == UNSET else round(raw * probe.humidity_times, 6)
    return Measured(
        temperature(probe.temperature), humidity, temperature(probe.surface), probe.unit
    )


def raw_line(probe: ModbusProbe, registers: Mapping[int, int]) -> str:
    """`address 1, holding 0=00D6 1=0230`: what is kept as the reading's own line."""
    cells = " ".join(f"{number}={value:04X}" for number, value in sorted(registers.items()))
    return f"address {probe.address}, {probe.table} {cells}"


def likely_layouts(
    address: int, table: str, registers: Mapping[int, int], unit: Unit = "c"
) -> Iterator[ModbusProbe]:
    """How registers may be read as the air's temperature and humidity, the likeliest first.

    Neighbours only, in both orders, in tenths and then in hundredths.
    """
    for times, first in product(_TIMES, sorted(registers)):
        for temperature, humidity in ((first, first + 1), (first + 1, first)):
            if temperature not in registers or humidity not in registers:
                continue
            probe = ModbusProbe(
                "NAME",
                address,
                "input" if table == "input" else "holding",
                temperature,
                humidity,
                times=times,
                humidity_times=times,
                unit=unit,
            )
            if _likely(measured(probe, registers)):
                yield probe


def _likely(values: Measured) -> bool:
    air, humidity = values.temperature, values.humidity_pct
    if air is None or humidity is None:
        return False
    return _LIKELY_C[0] <= air <= _LIKELY_C[1] and _LIKELY_PCT[0] <= humidity <= _LIKELY_PCT[1]
