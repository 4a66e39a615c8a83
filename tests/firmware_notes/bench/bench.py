"""Runs the board's program under MicroPython against a made-up chip. See bench.cpp for the script.

Arguments: the folder of the program, the folder of this file. The script comes on standard input.
"""

import sys

sys.path.insert(0, sys.argv[1])
sys.path.insert(0, sys.argv[2])
import main


class Bench:
    def __init__(self, script):
        self.script, self.next = script, 0
        self.now_ms = self.fed_ms = self.worst_ms = 0
        self.heater, self.stuck, self.hot = True, False, 0
        self.answer = b""

    def ticks_ms(self):
        return self.now_ms

    def sleep_ms(self, ms):
        self.now_ms += ms

    def feed(self):
        self.worst_ms = max(self.worst_ms, self.now_ms - self.fed_ms)
        self.fed_ms = self.now_ms

    def writeto(self, address, command):
        if address != 0x44:
            raise OSError(19)
        if command == b"\x30\x66" and not self.stuck:
            self.heater = False
        elif command == b"\xf3\x2d":
            self.answer = word(0x2010 if self.heater else 0x0010)
        elif command == b"\x24\x00":
            self._measure()

    def readfrom(self, address, count):
        if len(self.answer) < count:
            raise OSError(5)
        return self.answer[:count]

    def _measure(self):
        while self.next < len(self.script) and " " not in self.script[self.next]:
            self.heater = True
            self.stuck = self.stuck or self.script[self.next] == "stuck"
            self.next += 1
        if self.next >= len(self.script):
            raise OSError(19)
        air, humidity, how = self.script[self.next].split()
        self.next += 1
        if how == "n":
            raise OSError(19)
        self.hot += self.heater
        self.answer = word(int(air), how == "t") + word(int(humidity), how == "h")
        if how == "s":
            self.answer = self.answer[:4]


def word(value, spoilt=False):
    # By long division, bit by bit over the whole message: not the program's own way.
    rest = (value ^ 0xFF00) << 8
    for bit in range(23, 7, -1):
        if rest & 1 << bit:
            rest ^= 0x131 << bit - 8
    return bytes([value >> 8, value & 0xFF, rest ^ 1 if spoilt else rest])


bench = Bench([line.strip() for line in sys.stdin])
while bench.next < len(bench.script):
    main.run(bench, bench, bench.ticks_ms, bench.sleep_ms, print, rounds=1)
print(f"# worst_ms={bench.worst_ms} heater={int(bench.heater)} hot={bench.hot}")
