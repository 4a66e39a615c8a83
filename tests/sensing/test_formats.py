"""Lines to values, one table a format."""

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import monitor.sensing.formats as package
from monitor.errors import BadInput
from monitor.sensing.formats import FORMATS, delimited, format_named, json_line, key_value, xdr
from monitor.sensing.measured import DamagedLine, Measured

NAN = float("nan")


def same(found: Measured | None, wanted: Measured | None) -> bool:
    """Equal, with nan equal to nan."""
    return repr(found) == repr(wanted)


def test_the_registry_is_the_folder() -> None:
    """A module that is not in FORMATS would be forgotten, and the name is the module's."""
    stems = {path.stem for path in Path(package.__file__).parent.glob("*.py")} - {"__init__"}
    assert {form.name.replace("-", "_") for form in FORMATS} == stems
    assert len(FORMATS) == len(stems)


def test_an_unknown_format_is_refused_with_the_names_there_are() -> None:
    """Two lines: what, and what to do."""
    with pytest.raises(BadInput, match="morse") as refused:
        format_named("morse")
    assert "key-value" in refused.value.remedy


# The first two sentences are examples printed in the public documentation of a free NMEA 0183
# navigation daemon; the third's checksum was worked out by hand from the standard's rule.
SENTENCES = [
    ("$SDXDR,C,23.15,C,WTHI*70", Measured(23.15, None, None, "c")),
    ("$WIXDR,C,18.4,C,TEMP,H,65.2,P,RH*52", Measured(18.4, 65.2, None, "c")),
    ("$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44", Measured(18.4, 65.2, None, "c")),
    (
        "$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR,C,16.9,C,PART*43",
        Measured(18.4, 65.2, 16.9, "c"),
    ),
]
MAGNET = "$HCXDR,A,171,D,PITCH,A,-37,D,ROLL,G,367,,MAGX,G,2420,,MAGY,G,-8984,,MAGZ*41"


def summed(body: str) -> str:
    """A sentence with its checksum by the rule of NMEA 0183: exclusive or of all between."""
    total = 0
    for byte in body.encode():
        total ^= byte
    return f"${body}*{total:02X}"


@pytest.mark.parametrize(("line", "measured"), SENTENCES)
def test_a_sentence_with_its_checksum_is_read(line: str, measured: Measured) -> None:
    """Published checksums fit, and one wrong digit or character doesn't."""
    assert xdr.parse(line) == measured
    assert summed(line[1:-3]) == line
    for at in range(7, len(line) - 3):
        spoilt = line[:at] + ("8" if line[at] != "8" else "9") + line[at + 1 :]
        with pytest.raises(DamagedLine) as refused:
            xdr.parse(spoilt)
        assert refused.value.reason == "checksum"


def test_another_instruments_sentence_passes_its_checksum_and_has_no_values_for_us() -> None:
    """The published checksum is checked before the fields are."""
    with pytest.raises(DamagedLine) as refused:
        xdr.parse(MAGNET)
    assert refused.value.reason == "no-values"


@pytest.mark.parametrize(
    ("body", "measured"),
    [
        ("IIXDR,C,16.9,C,PART", Measured(None, None, 16.9, "c")),
        ("IIXDR,C,30.0,C,ENGINE,C,18.4,C,AIR", Measured(18.4, None, None, "c")),
        ("IIXDR,C,16.9,C,PART,C,18.4,C,TENT,H,60,P,X", Measured(18.4, 60.0, 16.9, "c")),
        ("IIXDR,C,68.0,F,AIR,H,54,P,AIR", Measured(68.0, 54.0, None, "f")),
        ("IIXDR,C,68.0,,AIR,H,54,,AIR", Measured(68.0, 54.0, None, None)),
        ("IIXDR,C,nan,C,AIR,H,54,P,AIR", Measured(NAN, 54.0, None, "c")),
        ("IIXDR,C,,C,AIR,H,54,P,AIR", Measured(None, 54.0, None, None)),
        ("IIXDR,P,1.013,B,BARO,C,18.4,C,AIR", Measured(18.4, None, None, "c")),
        ("IIXDR,C,291.5,K,AIR,H,54,P,AIR", Measured(None, 54.0, None, None)),
        ("IIXDR,C,-3.5,C,AIR,H", Measured(-3.5, None, None, "c")),
        ("iixdr,c,18.4,c,air", Measured(18.4, None, None, "c")),
    ],
)
def test_transducers_are_told_by_type_and_name(body: str, measured: Measured) -> None:
    """C is a temperature, H a humidity, PART the surface; the talker is any."""
    assert same(xdr.parse(summed(body)), measured)


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("$WIXDR,C,18.4,C,AIR", "checksum"),
        ("$WIXDR,C,18.4,C,AIR*4", "damaged"),
        ("$WIXDR,C,18.4,C,AIR*", "damaged"),
        (summed("WIXDR,C,18.4,C,AIR,C,60.0,F,PART"), "two-units"),
        (summed("WIXDR,"), "no-values"),
    ],
)
def test_a_damaged_sentence_says_why(line: str, reason: str) -> None:
    """And what to do about it."""
    with pytest.raises(DamagedLine) as refused:
        xdr.parse(line)
    assert refused.value.reason == reason
    assert all(refused.value.lines())


def test_a_sentence_written_is_the_one_of_the_standard_and_reads_back() -> None:
    """To a tenth, the part only where there is a probe."""
    assert xdr.xdr_sentence(18.4, 65.2) == "$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44"
    with_part = "$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR,C,16.9,C,PART*43"
    assert xdr.xdr_sentence(18.4, 65.2, 16.9) == with_part


@given(st.integers(-400, 600), st.integers(0, 1000), st.none() | st.integers(-400, 2000))
def test_every_sentence_reads_back(air: int, humidity: int, surface: int | None) -> None:
    """In tenths, over the whole range of sensors."""
    surface_c = None if surface is None else surface / 10
    line = xdr.xdr_sentence(air / 10, humidity / 10, surface_c)
    assert line == summed(line[1:-3])
    assert xdr.parse(line) == Measured(air / 10, humidity / 10, surface_c, "c")


DELIMITED = [
    ("21.4,56.0", Measured(21.4, 56.0)),
    (" 21.4 , 56.0 ", Measured(21.4, 56.0)),
    ("21,56", Measured(21.0, 56.0)),
    ("21.4\t56.0\t16.9", Measured(21.4, 56.0, 16.9)),
    ("21,4;56,0", Measured(21.4, 56.0)),
    ("21.4;56.0;16.9", Measured(21.4, 56.0, 16.9)),
    ("21,4\t56,0", Measured(21.4, 56.0)),
    ("21,4 56,0", Measured(21.4, 56.0)),
    ("68.0 54", Measured(68.0, 54.0)),
    ("68.0F 54%", Measured(68.0, 54.0, None, "f")),
    ("21.4 °C, 56.0 %RH", Measured(21.4, 56.0, None, "c")),
    ("21.4 C 56.0 %", Measured(21.4, 56.0, None, "c")),
    ("-3.5,+80.0", Measured(-3.5, 80.0)),
    ("nan,nan", Measured(NAN, NAN)),
    ("21.4,,16.9", Measured(21.4, None, 16.9)),
    ("21.4,56.0,", Measured(21.4, 56.0)),
    ("21.4", None),
    ("21.4,56.0,16.9,3", None),
    ("21,4,56,0", None),
    ("21.4.1,56", None),
    ("1_0,5", None),
    ("٢١,٥٦", None),
    ("hello,world", None),
    (",", None),
    ("", None),
    ("start Jun  8 2016 00:22:57", None),
]


@pytest.mark.parametrize(("line", "measured"), DELIMITED)
def test_bare_columns(line: str, measured: Measured | None) -> None:
    """Temperature, humidity, surface; a decimal comma where the separator allows it."""
    assert same(delimited.parse(line), measured)


KEY_VALUE = [
    ("T=21.4 H=56.0", Measured(21.4, 56.0)),
    ("temp: 21.4", Measured(21.4)),
    ("T:21,4;RH:56,0", Measured(21.4, 56.0)),
    ("H=56.0 T=21.4", Measured(21.4, 56.0)),
    ("Temperature: 21.4 °C  Humidity: 56 %", Measured(21.4, 56.0, None, "c")),
    ("temperature_f=68.0, humidity_pct=54", Measured(68.0, 54.0, None, "f")),
    ("node3 T=21.4 H=56", Measured(21.4, 56.0)),
    ("[12] Sensor 1: T=21.4 H=56", Measured(21.4, 56.0)),
    ("temp1=21.4 part=16.9", Measured(21.4, None, 16.9)),
    ("t=1714641234 temp=21.4", Measured(21.4)),
    ("T=nan H=--", Measured(NAN, NAN)),
    ("Dew point: 12.3 C Temp: 21.4 C", Measured(21.4, None, None, "c")),
    (
        "Humidity: 56.00%  Temperature: 21.40°C 70.52°F  Heat index: 21.0°C",
        Measured(21.4, 56.0, None, "c"),
    ),
    ("time=12:30:05 T=21.4", Measured(21.4)),
    ("t=12:30:05", None),
    ("T=2026-05-02", None),
    ("T=0x13", None),
    ("T=1.2.3", None),
    ("cpu temp: 45.1", None),
    ("reset:0x1 (power up),mode:0x13 (from flash)", None),
    ("load:0x20001000,len:1184", None),
    ("baud: 9600", None),
    ("sensor ready", None),
    ("", None),
]


@pytest.mark.parametrize(("line", "measured"), KEY_VALUE)
def test_labelled_values(line: str, measured: Measured | None) -> None:
    """Labels are taken loosely, chatter with colons is not taken at all."""
    assert same(key_value.parse(line), measured)


JSON = [
    ('{"temperature": 21.4, "humidity": 56.0}', Measured(21.4, 56.0)),
    ('{"t":21,"n":118,"h":56}', Measured(21.0, 56.0)),
    ('{"n":1,"Temp":"21.4","RH":"56","probe":16.9}', Measured(21.4, 56.0, 16.9)),
    ('{"temp_f": 68.0, "hum": 54}', Measured(68.0, 54.0, None, "f")),
    ('{"temp": 68.0, "hum": 54, "unit": "F"}', Measured(68.0, 54.0, None, "f")),
    ('{"t": 1714641234, "temp": 21.4}', Measured(21.4)),
    ('{"temp": nan, "hum": NaN}', Measured(NAN, NAN)),
    ('{"temp": -inf, "hum": 1e999}', Measured(NAN, NAN)),
    ('{"temp": null, "hum": 54}', Measured(None, 54.0)),
    ('{"temp": true, "hum": 54}', Measured(None, 54.0)),
    ("[21.4, 56.0]", None),
    ("21.4,56.0", None),
]


@pytest.mark.parametrize(("line", "measured"), JSON)
def test_json_objects(line: str, measured: Measured | None) -> None:
    """Keys are taken loosely; a bare nan is a fault, null is not given."""
    assert same(json_line.parse(line), measured)


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ('{"temp": 21.4, "hu', "damaged"),
        ("{temp: 21.4}", "damaged"),
        ("{" * 250, "damaged"),
        ('{"a":' * 40_000, "damaged"),
        ('{"status": "ready"}', "no-values"),
        ('{"air": {"t": 21.4}}', "no-values"),
    ],
)
def test_damaged_json_says_why(line: str, reason: str) -> None:
    """A brace at the front makes it JSON, whatever follows."""
    with pytest.raises(DamagedLine) as refused:
        json_line.parse(line)
    assert refused.value.reason == reason


VALUES = st.floats(-50, 150).map(lambda value: round(value, 1))


@given(VALUES, VALUES)
def test_the_formats_agree_on_the_same_values(air: float, humidity: float) -> None:
    """One reading, four spellings."""
    wanted = Measured(air, humidity)
    assert delimited.parse(f"{air},{humidity}") == wanted
    assert key_value.parse(f"T={air} H={humidity}") == wanted
    assert json_line.parse(f'{{"t": {air}, "h": {humidity}}}') == wanted
    assert xdr.parse(summed(f"WIXDR,C,{air},,AIR,H,{humidity},P,AIR")) == wanted


NUMBERS = ["21.4", "nan", "1e999", "9" * 50, "-", "0x"]
PIECES = st.sampled_from(
    [
        *NUMBERS,
        "T=",
        "temp: ",
        ",",
        ";",
        "\t",
        " ",
        "$WIXDR,",
        "C,",
        "*44",
        "{",
        "}",
        '"t":',
        "°C",
        "é",
    ]
)


def values_or_reason(parse: Callable[[str], Measured | None], line: str) -> Measured | str | None:
    try:
        return parse(line)
    except DamagedLine as damaged:
        return damaged.reason


@given(st.text(max_size=300) | st.lists(PIECES, max_size=40).map("".join))
def test_no_line_makes_a_format_fail(line: str) -> None:
    """Values, None or a reason: nothing else comes out, and no infinity."""
    for form in FORMATS:
        found = values_or_reason(form.parse, line)
        if isinstance(found, Measured):
            values = [found.temperature, found.humidity_pct, found.surface]
            told = [value for value in values if value is not None]
            assert told
            assert not any(math.isinf(value) for value in told)
        else:
            assert found in {
                None,
                "checksum",
                "damaged",
                "no-values",
                "other-sentence",
                "two-units",
            }
