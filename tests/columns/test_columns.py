"""Columns in memory of their own: what is in them, whose they are, and where it goes."""

import re
from pathlib import Path

import numpy as np
import pytest

from monitor.columns import own, room

MANY = 4_000_000


def held_bytes() -> int:
    """What this process has of memory that no file lies behind."""
    told = Path("/proc/self/status").read_text(encoding="ascii")
    found = re.search(r"^RssAnon:\s+(\d+) kB", told, re.MULTILINE)
    assert found is not None
    return int(found[1]) * 1024


def test_room_is_zeros_of_each_kind_to_write_into() -> None:
    """Side by side: what is written into one is not in the other."""
    temperature_c, flags = room(3, np.float64, np.int64)
    assert (temperature_c.dtype, flags.dtype) == (np.float64, np.int64)
    temperature_c[:] = [20.5, np.nan, -3.0]
    flags[2] = -1
    np.testing.assert_array_equal(temperature_c, [20.5, np.nan, -3.0])
    assert flags.tolist() == [0, 0, -1]


@pytest.mark.parametrize("length", [0, 1, 513])
def test_a_copy_is_nobody_else_s(length: int) -> None:
    """Of columns that hold nothing too, and of views that skip."""
    source = np.arange(2.0 * length)
    first, second = own(source[::2], source[1::2])
    source[:] = -1.0
    assert first.tolist() == list(range(0, 2 * length, 2))
    assert second.tolist() == list(range(1, 2 * length, 2))


def test_what_was_never_written_takes_nothing_and_all_goes_back() -> None:
    """32 MB of room: an eighth written, then let go."""
    before = held_bytes()
    (column,) = room(MANY, np.float64)
    assert held_bytes() - before < MANY
    column[: MANY // 8] = 1.0
    assert held_bytes() - before > MANY // 2
    del column
    assert held_bytes() - before < MANY // 2
