"""Tells open pages that something changed, so that they fetch themselves anew."""

import asyncio
from collections.abc import AsyncIterator, Callable, Hashable, Iterable, Iterator
from datetime import datetime

from starlette.concurrency import run_in_threadpool

from monitor.alerts.dispatch import AGAIN, ASKED_AGAIN
from monitor.errors import MonitorError
from monitor.records import Alert, Aloud
from monitor.store import Store

LOOK_EVERY_S = 2.0
HEARTBEAT_S = 15.0
APART_S = 0.15
"""Listeners are told one after another, so that fifty don't fetch their page in one moment; the
next look comes when all were told."""


def fingerprint(store: Store) -> Hashable:
    """What differs when a page would look different: readings, the book, alerts, troubles."""
    return (
        store.book.open_layups(),
        tuple(store.readings.newest().items()),
        store.alerts.open(),
        store.health.troubles(),
    )


def waking(store: Store, now: datetime) -> tuple[str, ...]:
    """The open alerts that may wake someone and that nobody has seen yet.

    Each by its number and by how often it was asked by now (`12.1`): asked again it is another.
    """
    return tuple(
        f"{alert.id}.{sum(at <= now for at in _asked_at(alert))}"
        for alert in store.alerts.open()
        if alert.aloud is Aloud.ANY_HOUR and alert.seen_at is None
    )


def _asked_at(alert: Alert) -> Iterator[datetime]:
    """When it is said, and said again: by itself, and where somebody wished so."""
    for times in range(ASKED_AGAIN + 1):
        yield alert.raised_at + times * AGAIN
    if alert.again_at is not None:
        yield alert.again_at


class Changes:
    """One look at the store every two seconds, later where many pages listen; none for none.

    `wakes` gives the alerts that a page with its sound on is to sound for; other ones than at
    the last look are a change too.
    """

    def __init__(
        self, look: Callable[[], Hashable], wakes: Callable[[], Iterable[str]] = tuple
    ) -> None:
        self._look, self._wakes = look, wakes
        self._bells: dict[asyncio.Event, None] = {}
        self._watch: asyncio.Task[None] | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._looked = asyncio.Event()
        self._closed = False
        self._woken = b""

    async def events(self) -> AsyncIterator[bytes]:
        """A stream of server-sent events: `listening`, then `changed`, each with what wakes.

        When it was long quiet, a comment.
        """
        bell = asyncio.Event()
        self._bells[bell] = None
        self._loop = asyncio.get_running_loop()
        if self._watch is None:
            self._looked = asyncio.Event()
            self._watch = asyncio.create_task(self._keep_looking())
        try:
            # Only what comes after the first look rings: a page is to fetch itself after that.
            await self._looked.wait()
            await asyncio.sleep(self._turn(bell))
            yield b"retry: 3000\n\nevent: listening\ndata: 1\n\n" + self._woken
            while not self._closed:
                try:
                    await asyncio.wait_for(bell.wait(), HEARTBEAT_S)
                except TimeoutError:
                    yield b": still here\n\n"
                    continue
                await asyncio.sleep(self._turn(bell))
                bell.clear()
                if not self._closed:
                    yield b"event: changed\ndata: 1\n\n" + self._woken
        finally:
            self._bells.pop(bell, None)
            if not self._bells and self._watch is not None:
                self._watch.cancel()
                self._watch = None

    def close(self) -> None:
        """End every stream. May be called from any thread, and more than once."""
        self._closed = True
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._ring)

    def _turn(self, bell: asyncio.Event) -> float:
        """How long this listener is told after the first, in seconds; none is kept at the end."""
        return 0.0 if self._closed else APART_S * list(self._bells).index(bell)

    def _ring(self) -> None:
        for bell in self._bells:
            bell.set()

    async def _keep_looking(self) -> None:
        before = await run_in_threadpool(self._seen)
        self._looked.set()
        while not self._closed:
            await asyncio.sleep(max(LOOK_EVERY_S, APART_S * len(self._bells)))
            after = await run_in_threadpool(self._seen)
            if after != before:
                self._ring()
            before = after

    def _waking(self) -> bytes:
        try:
            ids = " ".join(self._wakes())
        except MonitorError:
            # What stands in the way is on the pages; for this moment nothing is known to wake.
            return b": not known\n\n"
        return f"event: waking\ndata: {ids}\n\n".encode()

    def _seen(self) -> Hashable:
        try:
            looked = self._look()
        except MonitorError as trouble:
            # The pages then fetch themselves and say what is wrong.
            looked = trouble.lines()
        self._woken = self._waking()
        # What was told is part of it: an alert that came between the two is told with the next.
        return looked, self._woken
