"""The door for other machines: who has signed in, and what they have leave to do.

Whoever sits at the machine itself is in already. Everyone else gives a passcode once; their phone
keeps a token, and the shop keeps what that token may do and can take it back.
"""

import asyncio
from collections import defaultdict, deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from ipaddress import ip_address
from math import ceil
from urllib.parse import parse_qsl, quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.requests import Request, cookie_parser
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from dashboards.guard import DOOR, LOOPBACK_NAMES, name_of
from monitor.records import Leave
from monitor.store.doorbook import FORGOTTEN, DoorBook, SignIn

_OPEN = (DOOR, "/static/", "/alive")
_READS = frozenset({"GET", "HEAD", "OPTIONS"})


@dataclass
class Tries:
    """Wrong passcodes lately, from each machine and in all. Nobody guesses long."""

    clock: Callable[[], datetime]
    within: timedelta = timedelta(minutes=10)
    from_one: int = 5
    from_all: int = 40
    _wrong: dict[str, deque[datetime]] = field(default_factory=lambda: defaultdict(deque))

    def wait(self, peer: str) -> timedelta:
        """How long that machine must wait before it may try again; nothing: it may."""
        now = self.clock()
        for known in [
            known for known, times in self._wrong.items() if now - times[-1] > self.within
        ]:
            del self._wrong[known]
        for times in self._wrong.values():
            while times and now - times[0] > self.within:
                times.popleft()
        mine = self._wrong.get(peer)
        if mine is not None and len(mine) >= self.from_one:
            return mine[0] + self.within - now
        every = sorted(time for times in self._wrong.values() for time in times)
        if len(every) >= self.from_all:
            return every[-self.from_all] + self.within - now
        return timedelta(0)

    def was_wrong(self, peer: str) -> None:
        self._wrong[peer].append(self.clock())

    def was_right(self, peer: str) -> None:
        self._wrong.pop(peer, None)


class Door:
    """Lets in who has signed in, and lets them do what they have leave for."""

    def __init__(self, app: ASGIApp, book: DoorBook, clock: Callable[[], datetime]) -> None:
        self._app, self._book, self._clock = app, book, clock

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or is_here(scope) or scope["path"].startswith(_OPEN):
            await self._app(scope, receive, send)
            return
        token = cookie_parser(Headers(scope=scope).get("cookie", "")).get(cookie_name(scope), "")
        found = (
            await run_in_threadpool(self._book.signed_in, token, self._clock()) if token else None
        )
        scope.setdefault("state", {})["signed_in"] = found
        await (self._refusal(scope, found) or self._app)(scope, receive, send)

    def _refusal(self, scope: Scope, found: SignIn | None) -> Response | None:
        if found is None:
            wants_page = "text/html" in Headers(scope=scope).get("accept", "")
            if scope["method"] in _READS and wants_page:
                there = scope["path"] + (f"?{q.decode()}" if (q := scope["query_string"]) else "")
                return RedirectResponse(f"{DOOR}?next={quote(there, safe='/')}", 303)
            return _two_lines(401, "Nobody is signed in here.", "Open the pages and sign in.")
        if found.leave is Leave.LOOK and scope["method"] not in _READS and not _own(scope):
            return _two_lines(
                403,
                "This phone has leave to look, not to write; nothing was written.",
                "Sign in with the passcode for writing.",
            )
        return None


def _own(scope: Scope) -> bool:
    """Signing oneself out is nobody else's business."""
    return bool(scope["path"] == "/sign-out")


def is_here(scope: Scope) -> bool:
    """Whether somebody at the machine itself asks: by its own address and its own name."""
    client = scope.get("client")
    if not client or not _is_loopback(client[0]):
        return False
    return name_of(Headers(scope=scope).get("host", "")) in LOOPBACK_NAMES


def _is_loopback(address: str) -> bool:
    try:
        return ip_address(address).is_loopback
    except ValueError:
        return False


def cookie_name(scope: Mapping[str, object]) -> str:
    """Over TLS the browser itself vouches that the cookie is this host's own."""
    return "__Host-door" if scope.get("scheme") == "https" else "door"


def _two_lines(status: int, what: str, remedy: str) -> Response:
    return PlainTextResponse(f"{what}\n{remedy}\n", status)


class Doorkeeper:
    """Takes a passcode and hands out a token, one at a time: each guess costs 32 MB of memory."""

    def __init__(self, book: DoorBook, clock: Callable[[], datetime]) -> None:
        self._book, self._clock = book, clock
        self.tries = Tries(clock)
        self._one = asyncio.Lock()

    async def let_in(self, request: Request) -> "LetIn":
        peer = request.client.host if request.client else "?"
        form = dict(parse_qsl((await request.body()).decode("utf-8", "replace")))
        there = within(form.get("next", "/"))
        async with self._one:
            wait = self.tries.wait(peer)
            if wait > timedelta(0):
                return LetIn(there, wait_min=max(ceil(wait.total_seconds() / 60), 1))
            leave = await run_in_threadpool(self._book.leave_by, form.get("passcode", ""))
        if leave is None:
            self.tries.was_wrong(peer)
            return LetIn(there)
        self.tries.was_right(peer)
        device = request.headers.get("user-agent", "")[:120] or "unknown"
        token = await run_in_threadpool(self._book.sign_in, leave, device, self._clock())
        return LetIn(there, token)


@dataclass(frozen=True)
class LetIn:
    """`token`: let in. Neither that nor a wait: the passcode was wrong."""

    there: str
    token: str | None = None
    wait_min: int | None = None


def within(address: str) -> str:
    """An address of these pages, or the first of them: nobody is led elsewhere."""
    ours = (
        address.startswith("/") and not address.startswith(("//", "/\\")) and address.isprintable()
    )
    return address if ours and "\\" not in address else "/"


def with_token(answer: Response, token: str | None, scope: Mapping[str, object]) -> Response:
    """The answer with its cookie; None takes the cookie back."""
    secure = scope.get("scheme") == "https"
    name = cookie_name(scope)
    if token is None:
        answer.delete_cookie(name, secure=secure, httponly=True, samesite="strict")
    else:
        answer.set_cookie(
            name,
            token,
            max_age=int(FORGOTTEN.total_seconds()),
            secure=secure,
            httponly=True,
            samesite="strict",
        )
    return answer
