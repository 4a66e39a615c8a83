"""Says the air's temperature and humidity every ten seconds, as one NMEA 0183 XDR sentence:

    $WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44

For a hobby board that runs MicroPython, with a digital temperature and humidity chip of the usual
sort on its two-wire bus: 16-bit commands, address 0x44 (or 0x45), six bytes an answer, each pair
of bytes with a CRC-8. Check those three against your chip's own sheet first. Wiring and placing:
see board.md. Copy this file onto the board as main.py and set the two pins below.

Every value that goes out is the middle one of three whose checksums fit. What can't be measured
goes out as "nan", which the watch keeps as a fault; it never goes out as an old value.
"""

import time

from machine import I2C, WDT, Pin

BUS, DATA_PIN, CLOCK_PIN = 0, 4, 5  # as you wired it
CHIP = 0x44
EVERY_MS = 10_000
NAP_MS = 500  # the watchdog is fed this often while it waits
WATCHDOG_MS = 8_000  # a board that hangs starts anew after this
TRIES = 6  # for three good measurements

# The chip's commands, from its kind's public sheet.
MEASURE = b"\x24\x00"  # once, highest repeatability, the bus left free
MEASURE_MS = 20  # it needs 15.5 at most
READ_STATUS = b"\xf3\x2d"
HEATER_OFF = b"\x30\x66"
HEATER_BIT = 1 << 13


def crc8(pair):
    """Polynomial 0x31, begun at 0xFF, nothing reflected, nothing turned over at the end."""
    crc = 0xFF
    for byte in pair:
        crc ^= byte
        for _ in range(8):
            crc = ((crc << 1) ^ 0x31 if crc & 0x80 else crc << 1) & 0xFF
    return crc


class Chip:
    """The chip on its bus. Its methods give None where it didn't answer, or not whole."""

    def __init__(self, bus, sleep_ms):
        self._bus, self._sleep_ms = bus, sleep_ms

    def _told(self, command):
        try:
            self._bus.writeto(CHIP, command)
        except OSError:
            return False
        return True

    def _words(self, command, count, wait_ms):
        if not self._told(command):
            return None
        self._sleep_ms(wait_ms)
        try:
            got = self._bus.readfrom(CHIP, 3 * count)
        except OSError:
            return None
        words = []
        for at in range(0, 3 * count, 3):
            if crc8(got[at : at + 2]) != got[at + 2]:
                return None
            words.append(got[at] << 8 | got[at + 1])
        return words

    def heater_is_off(self):
        """Its small heater, left on by a glitch, makes it read warm and dry: the dangerous way.

        So it is looked at before every round. False: it is on, or nobody can say.
        """
        for _ in range(3):
            status = self._words(READ_STATUS, 1, 1)
            if status is None:
                continue
            if not status[0] & HEATER_BIT:
                return True
            self._told(HEATER_OFF)
        return False

    def measure(self):
        """Raw temperature and humidity, 0 to 65535."""
        return self._words(MEASURE, 2, MEASURE_MS)


def tenths_c(raw):
    """Tenths of a degree Celsius: -45 + 175 raw / 65535, rounded to the nearest."""
    return (1750 * raw + 32767) // 65535 - 450


def tenths_pct(raw):
    """Tenths of a percent: 100 raw / 65535, rounded to the nearest."""
    return (1000 * raw + 32767) // 65535


def written(tenths):
    sign = "-" if tenths < 0 else ""
    return f"{sign}{abs(tenths) // 10}.{abs(tenths) % 10}"


def sentence(air, humidity):
    """With its checksum: all characters between $ and * exclusive-ored."""
    body = f"WIXDR,C,{air},C,AIR,H,{humidity},P,AIR"
    total = 0
    for character in body:
        total ^= ord(character)
    return f"${body}*{total:02X}"


def measured(chip, watchdog):
    """One sentence: the middle of three good measurements, or nan."""
    air, humidity = [], []
    if chip.heater_is_off():
        for _ in range(TRIES):
            watchdog.feed()
            raw = chip.measure()
            if raw is not None:
                air.append(raw[0])
                humidity.append(raw[1])
            if len(air) == 3:
                return sentence(
                    written(tenths_c(sorted(air)[1])), written(tenths_pct(sorted(humidity)[1]))
                )
    return sentence("nan", "nan")


def run(bus, watchdog, ticks_ms, sleep_ms, say, rounds=None):
    """Round after round, for ever where `rounds` is None."""
    chip = Chip(bus, sleep_ms)
    said_at = ticks_ms()
    while rounds is None or rounds > 0:
        say(measured(chip, watchdog))
        rounds = None if rounds is None else rounds - 1
        while time.ticks_diff(ticks_ms(), said_at) < EVERY_MS:
            watchdog.feed()
            sleep_ms(NAP_MS)
        said_at = time.ticks_add(said_at, EVERY_MS)


if __name__ == "__main__":
    run(
        I2C(BUS, sda=Pin(DATA_PIN), scl=Pin(CLOCK_PIN), freq=100_000),
        WDT(timeout=WATCHDOG_MS),
        time.ticks_ms,
        time.sleep_ms,
        print,
    )
