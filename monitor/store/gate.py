"""Lets everybody use the database, or nobody but one who exchanges its file."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager


class Gate:
    """Any number of threads inside, `with` it, each as often as it likes; shut it lets none in."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._inside = 0
        self._shut = False
        self._mine = threading.local()

    def __enter__(self) -> None:
        depth = getattr(self._mine, "depth", 0)
        if depth == 0:
            with self._changed:
                while self._shut:
                    self._changed.wait()
                self._inside += 1
        self._mine.depth = depth + 1

    def __exit__(self, *_: object) -> None:
        self._mine.depth -= 1
        if self._mine.depth == 0:
            with self._changed:
                self._inside -= 1
                if self._shut:
                    self._changed.notify_all()

    @contextmanager
    def shut(self, patience_s: float) -> Iterator[bool]:
        """Alone, for one thread that isn't inside. Gives whether the others left in time."""
        with self._changed:
            self._changed.wait_for(lambda: not self._shut)
            self._shut = True
            left = self._changed.wait_for(lambda: self._inside == 0, patience_s)
        try:
            # The thread that shut it may use the database itself.
            self._mine.depth = 1
            yield left
        finally:
            self._mine.depth = 0
            with self._changed:
                self._shut = False
                self._changed.notify_all()
