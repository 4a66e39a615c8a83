"""Pages made once for many: who gets which, what a writing does, and what a failed one leaves."""

import asyncio
import sys
import threading
from collections.abc import Callable, Coroutine
from typing import Any

import httpx
import pytest

from dashboards.app import build_app
from dashboards.shared import KEPT_S, Shared
from monitor.errors import StoreError
from tests.dashboards.asking import ORIGIN
from tests.dashboards.conftest import Clock
from tests.scenarios.shop import ShopAtHand


class Kitchen:
    """Makes numbered pages, each when it is let."""

    def __init__(self) -> None:
        self.begun: list[int] = []
        self.fails = False
        self._let, self._begins = threading.Semaphore(0), threading.Semaphore(0)

    def make(self) -> bytes:
        number = len(self.begun)
        self.begun.append(number)
        self._begins.release()
        assert self._let.acquire(timeout=20)
        if self.fails:
            raise StoreError("The disk is full.", "Make room.")
        return f"page {number}".encode()

    async def begins(self) -> None:
        while not self._begins.acquire(blocking=False):
            await asyncio.sleep(0.001)

    def let(self) -> None:
        self._let.release()


def played(story: Callable[[], Coroutine[Any, Any, None]]) -> None:
    asyncio.run(asyncio.wait_for(story(), 60))


async def all_waiting() -> None:
    for _ in range(20):
        await asyncio.sleep(0)


def test_who_asks_meanwhile_gets_the_next_one() -> None:
    """All of them the same; never one that was begun before they asked."""

    async def story() -> None:
        kitchen, shared = Kitchen(), Shared()
        first = asyncio.create_task(shared.page("/", kitchen.make))
        await kitchen.begins()
        others = [asyncio.create_task(shared.page("/", kitchen.make)) for _ in range(30)]
        await all_waiting()
        kitchen.let()
        assert await first == b"page 0"
        await kitchen.begins()
        kitchen.let()
        assert set(await asyncio.gather(*others)) == {b"page 1"}
        assert kitchen.begun == [0, 1]

    played(story)


def test_within_a_second_it_serves_others_too() -> None:
    """By a clock that nobody sets; after that it is made anew, and each page is its own."""

    async def story() -> None:
        now_s = [50.0]
        kitchen, shared = Kitchen(), Shared(lambda: now_s[0])
        for _ in range(3):
            kitchen.let()
        assert await shared.page("/", kitchen.make) == b"page 0"
        now_s[0] += KEPT_S / 2
        assert await shared.page("/", kitchen.make) == b"page 0"
        assert await shared.page("/layups/3", kitchen.make) == b"page 1"
        now_s[0] += KEPT_S
        assert await shared.page("/", kitchen.make) == b"page 2"

    played(story)


def test_a_page_that_serves_nobody_any_more_is_let_go() -> None:
    """When the next one is made: fifty phones' pages are not held until they ask again."""

    async def story() -> None:
        now_s = [50.0]
        kitchen, shared = Kitchen(), Shared(lambda: now_s[0])
        for _ in range(3):
            kitchen.let()
        page = await shared.page("/", kitchen.make)
        await shared.page("/mix", kitchen.make)
        held = sys.getrefcount(page)
        now_s[0] += KEPT_S
        await shared.page("/mix", kitchen.make)
        assert sys.getrefcount(page) < held

    played(story)


def test_no_page_is_served_across_a_writing() -> None:
    """Whoever asks after it sees it, also where a page was half made when it came."""

    async def story() -> None:
        kitchen, shared = Kitchen(), Shared(lambda: 50.0)
        first = asyncio.create_task(shared.page("/", kitchen.make))
        await kitchen.begins()
        shared.written()
        after = asyncio.create_task(shared.page("/", kitchen.make))
        await all_waiting()
        kitchen.let()
        await kitchen.begins()
        kitchen.let()
        assert (await first, await after) == (b"page 0", b"page 1")
        kitchen.let()
        shared.written()
        assert await shared.page("/", kitchen.make) == b"page 2"

    played(story)


def test_a_page_that_fails_is_everybody_s_own() -> None:
    """Its maker is told why; whoever waited makes the next, and it comes back by itself."""

    async def story() -> None:
        kitchen, shared = Kitchen(), Shared(lambda: 50.0)
        kitchen.fails = True
        first = asyncio.create_task(shared.page("/", kitchen.make))
        await kitchen.begins()
        second = asyncio.create_task(shared.page("/", kitchen.make))
        await all_waiting()
        kitchen.let()
        with pytest.raises(StoreError):
            await first
        await kitchen.begins()
        kitchen.fails = False
        kitchen.let()
        assert await second == b"page 1"

    played(story)


def test_a_press_is_seen_by_the_next_page(filled: ShopAtHand, clock: Clock) -> None:
    """Through the app: within the same second, with what was just marked in it."""
    app = build_app(filled.store, filled.shop, clock=clock, steady=lambda: 50.0)

    async def story() -> None:
        wire = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=wire, base_url=ORIGIN) as phone:
            before = await phone.get("/layups/1")
            assert (await phone.get("/layups/1")).content == before.content
            asked = len(clock.asked)
            assert (await phone.get("/layups/1")).content == before.content
            assert len(clock.asked) == asked
            ((_, seal),) = phone.cookies.items()
            headers = {"X-Seal": seal, "Origin": ORIGIN}
            fields = {"kind": "note", "note": "a thumb was pressed here"}
            told = await phone.post("/layups/1/marks", data=fields, headers=headers)
            assert told.status_code == 303
            assert "a thumb was pressed here" in (await phone.get("/layups/1")).text

    played(story)
