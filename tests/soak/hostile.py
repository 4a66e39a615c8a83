"""Serial lines that no sensor should send, and ways to spoil any bytes; all from one seed."""

import random
from collections.abc import Callable, Iterator
from itertools import pairwise

import pynmea2

from tests.sensing.streams import STREAMS

MEGABYTE = 1 << 20
ENDINGS = (b"\n", b"\r\n", b"\r", b"\n\r", b"\r\r\n", b" \r\n", b"\n\n\n", b"")
ODD_ENDINGS = ("\x0b", "\x0c", "\x1c", "\x1e", "\x85", "\u2028", "\u2029")
ESCAPES = (b"\x1b[2J", b"\x1b[31m", b"\x1b]0;title\x07", b"\x1b[6n", b"\x9b1A", b"\x08", b"\x7f")
NO_UTF_8 = (
    b"\xff",
    b"\xc0\xaf",
    b"\xed\xa0\x80",
    b"\xf5\x80\x80\x80",
    b"\xe2\x82",
    b"\xb0",
    b"\x80",
)
NUMBERS = (
    *("nan", "-nan", "inf", "-inf", "1e999", "-1e999", "1e308", "1e-999", "0x15", "1_000", "+-1"),
    *("9" * 40, "9" * 240, "0." + "0" * 200 + "1", "-0", "1,2,3", "21.4.5", "२१.४", "21٫4", "２１"),
    *("true", "null", "NaN", "Infinity", "85.0", "-127", "-999", "999.9", "", "-", "--", "1e", "."),
)
SHAPES = (
    *("{},{}", "{};{}", "{} {}", "T={} H={}", "temp: {} C, humidity: {} %"),
    *('{{"t":{},"h":{}}}', '{{"temperature":"{}","humidity":"{}"}}', '{{"t":21,"unit":{},"h":{}}}'),
)
TALKERS = ("GPGGA", "GPRMC", "IIMWV", "WIMDA", "YXXDR", "INMTW", "AIVDM", "PGRME", "HEHDT", "WIMWD")
PLAIN = tuple(
    dict.fromkeys(
        line for stream in STREAMS for line in stream.data.splitlines() if line and len(line) < 200
    )
)
"""Real lines of every format."""
BAUDS = (1200, 4800, 9600, 19200, 38400, 115200)


def spoilt(dice: random.Random, data: bytes) -> bytes:
    """The bytes with one to three faults: cut, flipped, doubled, swapped, or something let in."""
    for _ in range(dice.choice((1, 1, 2, 3))):
        data = dice.choice(FAULTS)(dice, data)
    return data


def _cut_front(dice: random.Random, data: bytes) -> bytes:
    return data[dice.randrange(len(data) + 1) :]


def _cut_end(dice: random.Random, data: bytes) -> bytes:
    return data[: dice.randrange(len(data) + 1)]


def _cut_out(dice: random.Random, data: bytes) -> bytes:
    first = dice.randrange(len(data) + 1)
    return data[:first] + data[first + dice.randrange(1, 12) :]


def _flip(dice: random.Random, data: bytes) -> bytes:
    flipped = bytearray(data)
    for _ in range(dice.choice((1, 1, 2, 8)) if data else 0):
        flipped[dice.randrange(len(data))] ^= 1 << dice.randrange(8)
    return bytes(flipped)


def _double(dice: random.Random, data: bytes) -> bytes:
    first = dice.randrange(len(data) + 1)
    part = data[first : first + dice.randrange(1, 40)]
    return data[:first] + part * dice.choice((2, 2, 9)) + data[first:]


def _let_in(*what: bytes) -> Callable[[random.Random, bytes], bytes]:
    def let_in(dice: random.Random, data: bytes) -> bytes:
        at = dice.randrange(len(data) + 1)
        return data[:at] + dice.choice(what) + data[at:]

    return let_in


def _noise(dice: random.Random, data: bytes) -> bytes:
    at = dice.randrange(len(data) + 1)
    return data[:at] + dice.randbytes(dice.randrange(1, 20)) + data[at:]


FAULTS = (
    *(_cut_front, _cut_end, _cut_out, _flip, _double, _noise),
    _let_in(b"\x00", b"\x00" * 9),
    _let_in(*ESCAPES),
    _let_in(*NO_UTF_8),
    _let_in(*(ending.encode() for ending in ODD_ENDINGS)),
    _let_in(*(number.encode() for number in NUMBERS)),
)


def at_another_rate(data: bytes, sent: int, heard: int) -> bytes:
    """What a receiver at one rate makes of bytes sent at another: 8 bits, no parity, one stop bit.

    A start bit is 0, the bits follow lowest first, and it looks at the middle of each.
    """
    wire = [1, 1]
    for byte in data:
        wire += [0, *(byte >> bit & 1 for bit in range(8)), 1]
    wire += [1] * 12
    step = sent / heard
    found, at = bytearray(), 0.0
    while at + 10 * step < len(wire):
        if wire[int(at)]:
            # The line is idle; on to the next edge.
            at = int(at) + 1.0
            continue
        bits = [wire[int(at + step * (bit + 1.5))] for bit in range(8)]
        found.append(sum(bit << place for place, bit in enumerate(bits)))
        at += 10 * step
    return bytes(found)


class HostileLines:
    """Endless. Each item is one line, or what is sent in the place of one, mostly with an end."""

    def __init__(self, seed: int) -> None:
        self._dice = random.Random(seed)
        self._misheard = tuple(
            at_another_rate(line, sent, heard)
            for line in PLAIN[:30]
            for sent, heard in (*pairwise(BAUDS), (115200, 9600), (9600, 115200), (1200, 115200))
        )

    def __iter__(self) -> Iterator[bytes]:
        makers, weights = zip(*_KINDS, strict=True)
        while True:
            for make in self._dice.choices(makers, weights, k=1000):
                yield make(self) + self._dice.choice(ENDINGS)

    def junk(self) -> bytes:
        return self._dice.randbytes(self._dice.randrange(400))

    def spoilt_one(self) -> bytes:
        return spoilt(self._dice, self._dice.choice(PLAIN))

    def joined(self) -> bytes:
        return b"".join(self._dice.choices(PLAIN, k=self._dice.randrange(2, 6)))

    def halves(self) -> bytes:
        one, other = self._dice.choices(PLAIN, k=2)
        return _cut_end(self._dice, one) + _cut_front(self._dice, other)

    def numbers(self) -> bytes:
        one, two = self._dice.choices(NUMBERS, k=2)
        return self._dice.choice(SHAPES).format(one, two).encode()

    def nested(self) -> bytes:
        opened, closed = self._dice.choice((('{"t":', "}"), ("[", "]"), ('{"a":[', "]}")))
        deep = self._dice.choice((3, 20, 40, 2000))
        return (opened * deep + "21.4" + closed * self._dice.choice((deep, deep - 1, 0))).encode()

    def sentence(self) -> bytes:
        """Any talker's, its checksum right or wrong."""
        values = self._dice.choices((*NUMBERS, "C", "H", "P", "AIR", "21.4", "56.0", "M"), k=9)
        body = ",".join((self._dice.choice(TALKERS), *values[: self._dice.randrange(10)]))
        told = pynmea2.NMEASentence.checksum(body) ^ self._dice.choice((0, 0, 1, 0x20, 0xFF))
        return f"${body}*{told:02X}".encode()

    def wrong_sum(self) -> bytes:
        line = self._dice.choice([line for line in PLAIN if line.startswith(b"$")])
        return line[:-2] + f"{self._dice.randrange(256):02x}".encode()

    def pathological(self) -> bytes:
        piece = self._dice.choice(
            (b"a", b"a ", b"T=", b": ", b"a.a/", b"-", b"\t", b",", b"\\", b"%")
        )
        return piece * self._dice.randrange(1, 300 // len(piece))

    def misheard(self) -> bytes:
        return self._dice.choice(self._misheard)

    def megabyte(self) -> bytes:
        piece = self._dice.choice((b"U", b"\x00", b"21.4,56.0 ", self._dice.randbytes(64)))
        return piece.translate(None, b"\r\n") * (MEGABYTE // len(piece))


_KINDS: tuple[tuple[Callable[[HostileLines], bytes], float], ...] = (
    (HostileLines.junk, 10),
    (HostileLines.spoilt_one, 40),
    (HostileLines.joined, 5),
    (HostileLines.halves, 10),
    (HostileLines.numbers, 12),
    (HostileLines.nested, 4),
    (HostileLines.sentence, 6),
    (HostileLines.wrong_sum, 4),
    (HostileLines.pathological, 4),
    (HostileLines.misheard, 5),
    (HostileLines.megabyte, 0.02),
)
