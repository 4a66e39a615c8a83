"""Bytes to lines: the same whatever way they were cut, and never much memory."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.sensing.framing import MAX_LINE_BYTES, Framer

XDR = b"$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44"
LONG = b"x" * (MAX_LINE_BYTES + 1)

CAPTURES = [
    pytest.param(XDR + b"\r\n", [XDR.decode()], {}, id="crlf"),
    pytest.param(b"21.4,56.0\n21.5,56.1\n", ["21.4,56.0", "21.5,56.1"], {}, id="lf"),
    pytest.param(b"21.4,56.0\r21.5,56.1\r", ["21.4,56.0", "21.5,56.1"], {}, id="cr"),
    pytest.param(b"\r\n\n \r\n21.4,56.0\n\n", ["21.4,56.0"], {}, id="blank lines are left out"),
    pytest.param(b"21.4\t56.0\n", ["21.4\t56.0"], {}, id="a tab is text"),
    pytest.param("T=21.4°C\n".encode(), ["T=21.4°C"], {}, id="utf-8"),
    pytest.param(b"T=21.4\xb0C\n", ["T=21.4°C"], {}, id="degree sign as one byte"),
    pytest.param(b"\x00\x00\n21.4,56.0\n", ["21.4,56.0"], {"garbled": 1}, id="junk before"),
    pytest.param(b"21.\x004,56.0\n21.5,56\n", ["21.5,56"], {"garbled": 1}, id="junk in"),
    pytest.param(b"21.4,56.0\n\xff\xfe\n", ["21.4,56.0"], {"garbled": 1}, id="junk after"),
    pytest.param(b"\x1b[2J21.4,56.0\n", [], {"garbled": 1}, id="terminal codes"),
    pytest.param(b"\x7f\n\x9f\n", [], {"garbled": 2}, id="delete and C1"),
    pytest.param(LONG[1:] + b"\n", [LONG[1:].decode()], {}, id="the longest line"),
    pytest.param(LONG + b"\n21.4,56.0\n", ["21.4,56.0"], {"too-long": 1}, id="one too long"),
    pytest.param(LONG * 9 + b"\r\n21.4,56.0\n", ["21.4,56.0"], {"too-long": 1}, id="far too long"),
    pytest.param(LONG + b"\na,b\r", ["a,b"], {"too-long": 1}, id="too long, mixed endings"),
    pytest.param(LONG + b"\ra,b\n", ["a,b"], {"too-long": 1}, id="too long, mixed otherwise"),
    pytest.param(LONG, [], {"too-long": 1}, id="never ended"),
    pytest.param(b"\xff" * 300 + b"\n", [], {"too-long": 1}, id="long garbage"),
    pytest.param(b"21.4,56.0", [], {}, id="unfinished"),
    pytest.param(b"a\x00\n" + LONG, [], {"garbled": 1, "too-long": 1}, id="two troubles"),
]


def fed(data: bytes, size: int) -> tuple[list[str], Framer]:
    framer = Framer()
    lines = [line for at in range(0, len(data), size) for line in framer.feed(data[at : at + size])]
    return lines, framer


@pytest.mark.parametrize(("data", "lines", "rejects"), CAPTURES)
def test_a_capture_reads_the_same_cut_anywhere(
    data: bytes, lines: list[str], rejects: dict[str, int]
) -> None:
    """Whole, byte by byte, and in two at every place."""
    whole, framer = fed(data, len(data))
    assert whole == lines
    assert dict(framer.rejects) == rejects
    bytewise, other = fed(data, 1)
    assert (bytewise, other.rejects, other.last_reject) == (
        lines,
        framer.rejects,
        framer.last_reject,
    )
    for cut in range(len(data) + 1):
        halves = Framer()
        assert halves.feed(data[:cut]) + halves.feed(data[cut:]) == lines
        assert halves.rejects == framer.rejects


@given(st.binary(max_size=1500), st.integers(1, 400))
def test_any_bytes_read_the_same_in_pieces_of_any_size(data: bytes, size: int) -> None:
    """And no piece makes it fail."""
    whole, framer = fed(data, max(1, len(data)))
    pieces, other = fed(data, size)
    assert pieces == whole
    assert (other.rejects, other.last_reject) == (framer.rejects, framer.last_reject)


@given(st.binary(max_size=3000))
def test_a_good_line_is_read_after_any_junk_and_a_newline(junk: bytes) -> None:
    """However bad it was before."""
    framer = Framer()
    framer.feed(junk)
    assert framer.feed(b"\n" + XDR + b"\r\n")[-1:] == [XDR.decode()]


@given(st.lists(st.binary(max_size=600), max_size=30))
def test_what_is_held_is_bounded(blocks: list[bytes]) -> None:
    """At most a line's bytes and a few short rejects, whatever is fed."""
    framer = Framer()
    for block in blocks:
        framer.feed(block)
        assert len(framer._pending) <= MAX_LINE_BYTES
    taken = framer.take_rejects()
    assert len(taken) <= 16
    assert all(len(reject.text) <= 260 for reject in taken)
    assert set(framer.rejects) <= {"too-long", "garbled"}
    assert framer.take_rejects() == ()


def test_a_babbling_sensor_is_counted_once_and_holds_nothing() -> None:
    """A megabyte without an ending is one line too long."""
    framer = Framer()
    for _ in range(256):
        assert framer.feed(b"U" * 4096) == []
    assert dict(framer.rejects) == {"too-long": 1}
    assert framer._pending == b""


def test_a_reject_shows_how_it_looked_and_why() -> None:
    """Odd bytes are escaped, so that a terminal can show them."""
    framer = Framer()
    framer.feed(b"21.\x00\xff\x1b4\n")
    assert framer.last_reject is not None
    assert framer.last_reject.reason == "garbled"
    assert framer.last_reject.text == "21.\\x00\\xff\\x1b4"


def test_reset_forgets_the_half_line_and_keeps_the_counts() -> None:
    """A port that was opened anew starts a new line."""
    framer = Framer()
    framer.feed(b"\x00\n21.")
    framer.reset()
    assert framer.feed(b"5,56.0\n") == ["5,56.0"]
    assert dict(framer.rejects) == {"garbled": 1}
