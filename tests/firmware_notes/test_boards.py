"""The boards' own programs, run against a made-up chip, and read as the watch reads them."""

import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pynmea2
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from monitor.sensing.framing import Framer
from monitor.sensing.line_reader import LineReader

NOTES = Path(__file__).parents[2] / "firmware_notes"
BENCH = Path(__file__).parent / "bench"
AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
Program = Callable[[str], tuple[list[str], dict[str, int]]]


def told(output: bytes) -> tuple[list[str], dict[str, int]]:
    """What came over the wire, read as the watch does, and what the bench says of the run."""
    wire, _, end = output.decode("ascii").rpartition("# ")
    lines = Framer().feed(wire.encode())
    reader = LineReader(format="xdr")
    for line in lines:
        pynmea2.parse(line, check=True)
    said = [heard.said() for line in lines for heard in reader.read(line, AT)]
    return said, {name: int(value) for name, value in re.findall(r"(\w+)=(\d+)", end)}


@pytest.fixture(scope="module")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The C++ program, without a warning."""
    folder = tmp_path_factory.mktemp("board")
    shutil.copy(NOTES / "board_cpp" / "board_cpp.ino", folder / "board.cpp")
    program = folder / "board"
    subprocess.run(
        ["g++", "-std=c++11", "-O1", "-D__AVR__", "-Wall", "-Wextra", "-Werror", "-I", str(BENCH),
         str(folder / "board.cpp"), str(BENCH / "bench.cpp"), "-o", str(program)],
        check=True,
    )  # fmt: skip
    return program


@pytest.fixture(params=["cpp", "micropython"])
def program(request: pytest.FixtureRequest, compiled: Path) -> Program:
    """Either program, as a function of the chip's script."""
    micropython = Path(sys.executable).with_name("micropython")
    asked = [str(compiled)]
    if request.param == "micropython":
        folder = NOTES / "board_micropython"
        asked = [str(micropython), str(BENCH / "bench.py"), str(folder), str(BENCH)]

    def run(script: str) -> tuple[list[str], dict[str, int]]:
        done = subprocess.run(asked, input=script.encode(), capture_output=True, check=True)
        assert done.stderr == b""
        return told(done.stdout)

    return run


def raw_c(temperature_c: float) -> int:
    """What such a chip sends for a temperature, by its public sheet (from memory)."""
    return round((temperature_c + 45.0) * 65535 / 175)


def raw_pct(humidity_pct: float) -> int:
    return round(humidity_pct * 65535 / 100)


def measured(temperature_c: float, humidity_pct: float, how: str = "g") -> str:
    return f"{raw_c(temperature_c)} {raw_pct(humidity_pct)} {how}\n"


NAN = "air no value, humidity no value (temperature:fault-code humidity:fault-code)"


@pytest.mark.parametrize(
    ("temperature_c", "humidity_pct"),
    [(18.4, 65.2), (-9.7, 80.0), (-0.1, 100.0), (0.0, 0.1), (44.9, 5.0), (-39.9, 50.0)],
)
def test_what_the_chip_measures_is_what_is_read(
    program: Program, temperature_c: float, humidity_pct: float
) -> None:
    """Frost and heat, damp and dry, to the tenth."""
    said, _ = program(measured(temperature_c, humidity_pct) * 3)
    assert said == [f"air {temperature_c:.1f} °C, humidity {humidity_pct:.1f} %"]


def test_the_middle_one_of_three_goes_out(program: Program) -> None:
    """A single leap of the chip, of either value, at any of the three, is not said."""
    calm = measured(18.4, 65.2)
    for script in (measured(60, 0) + calm + calm, calm + measured(-40, 100) + calm,
                   calm + calm + measured(60, 100)):  # fmt: skip
        assert program(script)[0] == ["air 18.4 °C, humidity 65.2 %"]
    spread = measured(18.2, 66.0) + measured(18.8, 64.0) + measured(18.4, 65.0)
    assert program(spread)[0] == ["air 18.4 °C, humidity 65.0 %"]


@pytest.mark.parametrize("how", ["t", "h", "n", "s"])
def test_a_spoilt_measurement_is_taken_again_and_never_said(program: Program, how: str) -> None:
    """One CRC off, no answer, half an answer: three good ones are waited for, or it says nan."""
    bad, good = measured(60.0, 1.0, how), measured(18.4, 65.2)
    assert program(bad + good + bad + good + bad + good)[0] == ["air 18.4 °C, humidity 65.2 %"]
    said, _ = program(bad * 4 + good * 2 + good * 3)
    assert said == [NAN, "air 18.4 °C, humidity 65.2 %"]


def test_the_heater_is_off_before_anything_is_measured(program: Program) -> None:
    """It was on at the start, and comes on again once: each time it is put out first."""
    calm = measured(18.4, 65.2)
    said, run = program(calm * 3 + calm * 3)
    assert (run["heater"], run["hot"]) == (0, 0)
    # It comes on in the middle of a round: that round's last ones are warm, the next is not.
    said, run = program(calm + "heater\n" + calm * 2 + calm * 3)
    assert said == ["air 18.4 °C, humidity 65.2 %"] * 2
    assert (run["heater"], run["hot"]) == (0, 2)


def test_a_heater_that_stays_on_makes_no_reading(program: Program) -> None:
    """Warm and dry is the dangerous way to be wrong."""
    calm = measured(18.4, 65.2)
    script = calm * 2 + "stuck\n" + calm
    assert program(script)[0] == ["air 18.4 °C, humidity 65.2 %"]


def test_the_watchdog_is_fed_in_time(program: Program) -> None:
    """Over twenty rounds, the longest wait is well under its eight seconds."""
    said, run = program(measured(18.4, 65.2) * 60)
    assert len(said) == 20
    assert 0 < run["worst_ms"] <= 1000


def test_the_compiled_one_allocates_nothing_and_speaks_at_9600(compiled: Path) -> None:
    """Its watchdog is on from the start, while the clock's counter turns over."""
    done = subprocess.run(
        [str(compiled)], input=(measured(1.5, 50) * 30).encode(), capture_output=True, check=True
    )
    said, run = told(done.stdout)
    assert said == ["air 1.5 °C, humidity 50.0 %"] * 10
    assert done.stdout.count(b"\r\n") == 10
    assert (run["allocated"], run["watched"], run["baud"]) == (0, 1, 9600)


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(0, 65535), st.integers(0, 65535)), min_size=20, max_size=20))
def test_every_raw_value_is_said_as_the_sheet_has_it(
    program: Program, raws: list[tuple[int, int]]
) -> None:
    """To the nearest tenth, over all that sixteen bits can hold."""
    said, _ = program("".join(f"{air} {humidity} g\n" * 3 for air, humidity in raws))
    for line, (air, humidity) in zip(said, raws, strict=True):
        values = [float(text) for text in re.findall(r"(-?[\d.]+) [°%]", line)]
        assert values[0] == pytest.approx(-45 + 175 * air / 65535, abs=0.0501)
        assert values[1] == pytest.approx(100 * humidity / 65535, abs=0.0501)


def test_the_checksum_is_the_published_one() -> None:
    """CRC-8/NRSC-5 of G. Cook's catalogue: F7 for the nine digits; 92 for BE EF, as such chips'
    sheets print it (from memory)."""
    folder = NOTES / "board_micropython"
    asked = (
        "import sys; sys.path[0:0] = sys.argv[1:]; import main; "
        "print(main.crc8(b'123456789'), main.crc8(bytes([0xBE, 0xEF])))"
    )
    done = subprocess.run(
        [str(Path(sys.executable).with_name("micropython")), "-c", asked, str(folder), str(BENCH)],
        capture_output=True,
        check=True,
    )
    assert done.stdout.split() == [b"247", b"146"]
