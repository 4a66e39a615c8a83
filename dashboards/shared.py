"""Pages that many phones ask for at once are made once."""

import asyncio
import math
from collections.abc import Callable
from dataclasses import dataclass, field

from starlette.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from dashboards.guard import READS

KEPT_S = 1.0
"""How long a page serves others too. It says to the minute how things stand."""

AT_ONCE = 2
"""Pages made at once; more would only take longer, each of them."""


@dataclass(eq=False)
class _Made:
    """A page waited for, being made, or made: when that begins, and after which writing."""

    begun: float = math.inf
    begun_s: float = math.inf
    after_writes: float = math.inf
    done: asyncio.Event = field(default_factory=asyncio.Event)
    body: bytes | None = None


class Shared:
    """Whoever asks while a page is made waits for it, or for the next one.

    A page is handed to who asked before it was begun, and with `steady`, a clock that nobody sets,
    also to who asks within a second after; never across something that was written meanwhile.
    """

    def __init__(self, steady: Callable[[], float] | None = None) -> None:
        self._steady = steady
        self._turn = self._writes = 0
        self._made: dict[str, _Made] = {}
        self._hands = asyncio.Semaphore(AT_ONCE)

    async def page(self, name: str, make: Callable[[], bytes]) -> bytes:
        """The page of that name, made now in a thread or a moment ago. Raises what `make` does."""
        self._turn += 1
        asked, writes = self._turn, self._writes
        while True:
            made = self._made.get(name)
            good = made is not None and self._serves(made, asked, writes)
            if made is None or (made.done.is_set() and not (good and made.body is not None)):
                return await self._make(name, make)
            await made.done.wait()
            if good and made.body is not None:
                return made.body

    def written(self) -> None:
        """Something was written: no page that was begun before it serves who asks after it."""
        self._writes += 1

    def _serves(self, made: _Made, asked: int, writes: int) -> bool:
        if made.after_writes < writes:
            return False
        if made.begun > asked:
            return True
        return self._fresh(made)

    def _fresh(self, made: _Made) -> bool:
        return self._steady is not None and self._steady() - made.begun_s < KEPT_S

    def _let_go(self) -> None:
        """Of the pages that serve nobody any more; who waited for one holds it."""
        for name, made in list(self._made.items()):
            if made.done.is_set() and (made.body is None or not self._fresh(made)):
                del self._made[name]

    async def _make(self, name: str, make: Callable[[], bytes]) -> bytes:
        self._let_go()
        made = self._made[name] = _Made()
        try:
            async with self._hands:
                self._turn += 1
                made.begun, made.after_writes = self._turn, self._writes
                made.begun_s = 0.0 if self._steady is None else self._steady()
                made.body = await run_in_threadpool(make)
            return made.body
        finally:
            made.done.set()


class Writings:
    """Says when something was written, before its answer goes out."""

    def __init__(self, app: ASGIApp, shared: Shared) -> None:
        self._app, self._shared = app, shared

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] in READS:
            await self._app(scope, receive, send)
            return

        async def after(message: Message) -> None:
            if message["type"] == "http.response.start":
                self._shared.written()
            await send(message)

        await self._app(scope, receive, after)
