"""One RS-485 port, open: asks a probe for registers, and says in a word why it got none."""

from typing import Literal

import minimalmodbus
import serial

from monitor.sensing.modbus_probe import FUNCTIONS
from monitor.sensing.ports import PORT_TROUBLE, open_port, unplugged

NO_ANSWER, DAMAGED, REFUSED = "no-answer", "checksum", "refused-register"
ANSWER_S = 0.5
_PARITY = {"none": serial.PARITY_NONE, "even": serial.PARITY_EVEN, "odd": serial.PARITY_ODD}


class NoRegisters(Exception):
    """Why a request brought nothing, in one word."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


class ModbusLine:
    """Raises PortError where the port itself fails, NoRegisters where a probe does."""

    def __init__(
        self, port: str, baud: int, parity: str = "none", answer_s: float = ANSWER_S
    ) -> None:
        self._name = port
        self._port = open_port(port, baud, _PARITY[parity], answer_s)
        self._probes: dict[int, minimalmodbus.Instrument] = {}

    def ask(
        self, address: int, table: Literal["holding", "input"], first: int, count: int
    ) -> list[int]:
        """The registers, unsigned, in order."""
        try:
            if address not in self._probes:
                self._probes[address] = minimalmodbus.Instrument(self._port, address)
            found: list[int] = self._probes[address].read_registers(
                first, count, functioncode=FUNCTIONS[table]
            )
        # These first: the library's errors are OSErrors too.
        except minimalmodbus.NoResponseError:
            raise NoRegisters(NO_ANSWER) from None
        except minimalmodbus.SlaveReportedException:
            raise NoRegisters(REFUSED) from None
        except minimalmodbus.ModbusException:
            raise NoRegisters(DAMAGED) from None
        except PORT_TROUBLE as trouble:
            raise unplugged(self._name) from trouble
        return found

    def close(self) -> None:
        self._port.close()
