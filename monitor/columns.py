"""Columns in memory of their own: for what is kept long, and grows or is replaced with a reading.

What such a column leaves goes back to the system at once, and what of it was never written takes
none. On the heap each leaves a hole that the next, longer one doesn't fit into.
"""

from mmap import MAP_ANONYMOUS, MAP_PRIVATE, mmap
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

from monitor.records import FloatArray

_ITEM = 8


def room(length: int, *dtypes: DTypeLike) -> tuple[NDArray[Any], ...]:
    """A column of zeros of each kind, eight bytes a value."""
    size = _ITEM * length
    memory = mmap(-1, max(1, size * len(dtypes)), MAP_PRIVATE | MAP_ANONYMOUS)
    return tuple(np.frombuffer(memory, dtype, length, size * n) for n, dtype in enumerate(dtypes))


def own(*columns: FloatArray) -> tuple[FloatArray, ...]:
    """Copies of columns, all of one length."""
    copies = room(len(columns[0]), *(np.float64 for _ in columns))
    for copy, column in zip(copies, columns, strict=True):
        copy[:] = column
    return copies
