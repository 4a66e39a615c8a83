"""From lines to readings: telling the format, the unit, and losing nothing on the way."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.errors import BadInput
from monitor.records import Doubt
from monitor.sensing.formats import Recognised, recognise
from monitor.sensing.line_reader import Heard, LineReader

AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
XDR = "$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44"
BROKEN = "$WIXDR,C,19.4,C,AIR,H,65.2,P,AIR*44"
CHATTER = [
    "start Jun  8 2016 00:22:57",
    "reset:0x1 (power up),mode:0x13 (from flash)",
    "load:0x20001000,len:1184",
    "jump to 0x20001000",
    "sensor at 0x76 ready",
]


def read_all(reader: LineReader, lines: list[str]) -> list[Heard]:
    return [
        heard
        for minute, line in enumerate(lines)
        for heard in reader.read(line, AT + timedelta(minutes=minute))
    ]


@pytest.mark.parametrize(
    ("lines", "found"),
    [
        ([XDR], Recognised("xdr", 1, 1)),
        (['{"t": 21.4}'], Recognised("json-line", 1, 1)),
        (["21.4,56.0"], None),
        (["21.4,56.0", "21.5,56.0"], Recognised("delimited", 2, 2)),
        (["T=21.4 H=56"] * 3, Recognised("key-value", 3, 3)),
        (CHATTER, None),
        ([*CHATTER, "21.4,56.0", "21.5,56.0"], Recognised("delimited", 2, 2)),
        (["1 2", *CHATTER, "3 4"], None),
        ([XDR, BROKEN, BROKEN], None),
        ([BROKEN, BROKEN, XDR], Recognised("xdr", 1, 1)),
        (["21.4,56.0"] * 40, Recognised("delimited", 10, 10)),
        ([], None),
    ],
)
def test_a_format_is_told_from_most_of_up_to_ten_lines(
    lines: list[str], found: Recognised | None
) -> None:
    """Start-up chatter before the first line that reads doesn't count against it."""
    assert recognise(lines) == found


@pytest.mark.parametrize("lines", [["21.4,56.0"] * 3, ["T=21.4 H=56.0"] * 3, [XDR] * 3])
def test_no_reading_is_lost_while_the_format_is_told(lines: list[str]) -> None:
    """A line that waited keeps the time it came at."""
    heard = read_all(LineReader(), [*CHATTER, *lines])
    readings = [each.reading for each in heard if each.reading]
    assert [reading.at for reading in readings] == [
        AT + timedelta(minutes=len(CHATTER) + place) for place in range(3)
    ]
    assert [reading.raw for reading in readings] == lines
    assert [each.reason for each in heard if each.reason] == ["not-understood"] * len(CHATTER)


def test_a_format_that_was_told_is_kept_to() -> None:
    """What the person said is not second-guessed."""
    reader = LineReader(format="key-value")
    heard = read_all(reader, ["21.4,56.0"] * 30)
    assert {each.reason for each in heard} == {"not-understood"}
    assert reader.format_name == "key-value"
    assert reader.rejects["not-understood"] == 30


def test_a_format_found_by_itself_is_looked_for_anew() -> None:
    """A board that got a new sketch speaks otherwise; after ten lines that is clear."""
    reader = LineReader()
    read_all(reader, ["21.4,56.0"] * 3)
    heard = read_all(reader, ["T=21.4 H=56.0"] * 14)
    assert reader.format_name == "key-value"
    assert [each.reason for each in heard] == ["not-understood"] * 10 + [None] * 4


def test_an_unknown_format_is_refused_at_once() -> None:
    """Before any line."""
    with pytest.raises(BadInput):
        LineReader(format="morse")


def test_fahrenheit_is_turned_into_celsius_and_the_raw_line_kept() -> None:
    """68 °F is 20 °C exactly; humidity stays. Source: NIST SP 811, B.8."""
    (heard,) = LineReader(unit="f", format="delimited").read("68.0 54", AT)
    assert heard.reading is not None
    assert heard.reading.temperature_c == pytest.approx(20.0, abs=1e-12)
    assert (heard.reading.humidity_pct, heard.reading.raw) == (54.0, "68.0 54")
    assert not heard.reading.flags


def test_the_lines_own_unit_goes_before_what_was_said() -> None:
    """A sentence that states C is not converted by a sensor's setting."""
    (heard,) = LineReader(unit="f", format="xdr").read(XDR, AT)
    assert heard.reading is not None
    assert heard.reading.temperature_c == 18.4


def test_a_bilge_cover_in_fahrenheit_without_a_unit_is_doubted_from_the_first_reading() -> None:
    """`68.0 54` is no workplace in °C: kept, flagged, and fine once the unit is set."""
    heard = read_all(LineReader(), ["68.0 54"] * 3)
    assert [each.reading.flags.temperature for each in heard if each.reading] == [
        Doubt.LOOKS_FAHRENHEIT
    ] * 3
    assert heard[0].said() == ("air 68.0 °C, humidity 54.0 % (temperature:looks-fahrenheit)")


@pytest.mark.parametrize(
    ("line", "kept"),
    [("1.4,56.0", False), ("=21.4 H=56.0", False), (XDR, True), ('{"t": 21.4}', True)],
)
def test_the_first_line_in_mid_stream_is_trusted_only_if_it_proves_itself(
    line: str, kept: bool
) -> None:
    """`1.4,56.0` may be the end of `21.4,56.0`."""
    heard = LineReader().restarted(line, AT)
    assert [each.reason for each in heard] == [None if kept else "may-be-cut"]


@given(
    st.lists(st.text(max_size=60) | st.sampled_from([XDR, "21.4,56", "T=1", *CHATTER]), max_size=60)
)
def test_every_line_comes_back_at_most_once_and_few_wait(lines: list[str]) -> None:
    """Readings, refusals and at most ten that wait add up."""
    reader = LineReader()
    heard = read_all(reader, lines)
    assert len(lines) - 10 <= len(heard) <= len(lines)
    assert sum(reader.rejects.values()) == sum(each.reason is not None for each in heard)
    assert [each.at for each in heard if each.reading] == sorted(
        each.at for each in heard if each.reading
    )
