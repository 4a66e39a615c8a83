"""Every stream whole, cut at every byte, with noise let in at every byte; and any bytes at all."""

import random
import tracemalloc
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.records import Reading
from monitor.sensing.formats import FORMATS
from monitor.sensing.framing import Framer
from monitor.sensing.line_reader import LineReader
from tests.sensing.streams import STREAMS, Stream, Values

AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
NOISE = b"\x00\xfe\x80"


def read(stream: Stream, blocks: Iterable[bytes]) -> list[Values]:
    """The readings that come out, to a hundredth, in order."""
    framer = Framer()
    reader = LineReader(unit=stream.unit, columns=stream.columns)
    found: list[Reading] = []
    at = AT
    for block in blocks:
        for line in framer.feed(block):
            at += timedelta(seconds=10)
            found += [heard.reading for heard in reader.read(line, at) if heard.reading]
    return [_values(reading) for reading in found]


def _values(reading: Reading) -> Values:
    def near(value: float | None) -> float | None:
        return None if value is None else round(value, 2)

    return near(reading.temperature_c), near(reading.humidity_pct), near(reading.surface_c)


def same(found: Iterable[Values], wanted: Iterable[Values]) -> bool:
    """Equal, with nan equal to nan."""
    return repr(list(found)) == repr(list(wanted))


def test_there_are_many_and_each_has_its_own_name() -> None:
    """Sixty and more."""
    assert len({stream.name for stream in STREAMS}) == len(STREAMS) >= 60


@pytest.mark.parametrize("stream", STREAMS, ids=lambda stream: stream.name)
def test_a_stream_whole_and_byte_by_byte(stream: Stream) -> None:
    """The same readings, however it comes in."""
    assert same(read(stream, [stream.data]), stream.readings)
    assert same(read(stream, [bytes([byte]) for byte in stream.data]), stream.readings)


@pytest.mark.parametrize("stream", STREAMS, ids=lambda stream: stream.name)
def test_a_stream_cut_at_every_byte(stream: Stream) -> None:
    """In two blocks: the same readings."""
    for cut in range(1, len(stream.data)):
        assert same(read(stream, [stream.data[:cut], stream.data[cut:]]), stream.readings), cut


@pytest.mark.parametrize("stream", STREAMS, ids=lambda stream: stream.name)
def test_noise_at_every_byte_makes_no_reading_and_hides_at_most_its_own_line(
    stream: Stream,
) -> None:
    """The stream before it, so that its format is known; then once with noise, then well again."""
    wanted = list(stream.readings)
    known = stream.data[: 1 + max(map(stream.data.rfind, (b"\n", b"\r")))]
    for cut in range(len(known)):
        noisy = known[:cut] + NOISE + known[cut:]
        found = read(stream, [known, noisy, known])
        assert same(found[: len(wanted)], wanted)
        assert same(found[-len(wanted) :], wanted)
        between = found[len(wanted) : -len(wanted)]
        assert len(wanted) - 1 <= len(between) <= len(wanted)
        assert set(map(repr, between)) <= set(map(repr, wanted))


SURE = [stream for stream in STREAMS if stream.proves_itself]


@pytest.mark.parametrize("stream", SURE, ids=lambda stream: stream.name)
def test_a_half_line_of_a_format_that_proves_itself_is_never_read(stream: Stream) -> None:
    """From any byte to any end; and half of it run into the next, as after a board's restart."""
    wanted = set(map(repr, stream.readings))
    for cut in range(len(stream.data)):
        for blocks in (
            [stream.data[cut:]],
            [stream.data[:cut] + b"\r\n"],
            [stream.data[:cut] + stream.data],
        ):
            assert set(map(repr, read(stream, blocks))) <= wanted


@pytest.mark.parametrize("seed", range(8))
def test_streams_of_all_kinds_run_together_with_junk(seed: int) -> None:
    """Nothing fails, and the sentences after it are all read."""
    dice = random.Random(seed)
    mixed = dice.sample(STREAMS, len(STREAMS))
    framer, reader = Framer(), LineReader()
    for stream in mixed:
        junk = dice.randbytes(dice.randrange(400))
        for line in framer.feed(junk + stream.data + junk + b"\n"):
            reader.read(line, AT)
    good = b"$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44\r\n" * 20
    heard = [each for line in framer.feed(good) for each in reader.read(line, AT)]
    # A format found before is given up after ten lines that it can't read.
    assert [each.reading for each in heard[-5:] if each.reading]
    assert {each.reading.temperature_c for each in heard if each.reading} == {18.4}


PIECES = [piece for stream in STREAMS for piece in (stream.data[:9], stream.data[-9:])]


@given(st.lists(st.binary(max_size=80) | st.sampled_from(PIECES), max_size=60))
def test_any_bytes_at_all_and_then_good_lines(blocks: list[bytes]) -> None:
    """Every line comes back once as a reading or a reason, and good lines after junk are read."""
    for form in FORMATS:
        framer = Framer()
        reader = LineReader(format=form.name)
        lines = [line for block in blocks for line in framer.feed(block)]
        heard = [each for line in lines for each in reader.read(line, AT)]
        assert len(heard) == len(lines)
        assert all((each.reading is None) != (each.reason is None) for each in heard)
        framer.feed(b"\n")
        good = {"xdr": "$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44", "json-line": '{"t":18.4,"h":65.2}',
                "key-value": "T=18.4 H=65.2", "delimited": "18.4,65.2"}[form.name]  # fmt: skip
        (line,) = framer.feed(good.encode() + b"\r\n")
        (last,) = reader.read(line, AT)
        assert last.reading is not None
        assert (last.reading.temperature_c, last.reading.humidity_pct) == (18.4, 65.2)


@given(st.binary(min_size=1, max_size=400).filter(lambda data: b"\n" not in data))
def test_what_is_held_of_a_line_is_bounded(data: bytes) -> None:
    """Whatever comes, of whatever length."""
    tracemalloc.start()
    try:
        framer, reader = Framer(), LineReader()
        for _ in range(20):
            for line in framer.feed(data):
                reader.read(line, AT)
        before = tracemalloc.get_traced_memory()[0]
        for _ in range(200):
            for line in framer.feed(data):
                reader.read(line, AT)
        assert tracemalloc.get_traced_memory()[0] - before < 40_000
    finally:
        tracemalloc.stop()
