"""Nobody is waited for without end, and nobody asks without end."""

import asyncio
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

import h11
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send
from uvicorn.protocols.http.h11_impl import H11Protocol

from dashboards.guard import HEADERS

HEAD_WITHIN_S = 10.0
"""A request's first lines come in one piece from any browser, whatever the network."""

CONNECTIONS = 256
"""At once. A phone takes two or three; past that the rest are told to come back."""

_MACHINES = 4_096
"""Machines whose pace is remembered; the one longest unseen is forgotten first."""


_CLOSING = {**HEADERS, "Cache-Control": "no-cache", "Connection": "close"}

_NO_REQUEST = "That is not a request.\nAsk with a browser.\n"

_TOO_MANY = PlainTextResponse(
    "More ask these pages at once than can be answered.\nTry again in a minute.\n",
    503,
    {**_CLOSING, "Retry-After": "60"},
)


class PatientProtocol(H11Protocol):
    """Hangs up on a connection that doesn't get to the end of a request's first lines.

    What is answered without the app carries the headers of every other answer.
    """

    _hurry: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override] # as the class above
        super().connection_made(transport)
        if len(self.connections) > CONNECTIONS:
            self.app = _TOO_MANY
        self._wait()

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        if self.conn.their_state is not h11.IDLE:
            self._stop_waiting()
        elif self._hurry is None:
            self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop_waiting()
        super().connection_lost(exc)

    def send_400_response(self, msg: str) -> None:
        # A body can turn out to be none after its answer has gone out.
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            told = PlainTextResponse(_NO_REQUEST, 400, _CLOSING)
            head = h11.Response(status_code=400, headers=told.raw_headers, reason=b"Bad Request")
            for event in (head, h11.Data(data=bytes(told.body)), h11.EndOfMessage()):
                self.transport.write(self.conn.send(event) or b"")
        self.transport.close()

    def _wait(self) -> None:
        self._hurry = self.loop.call_later(HEAD_WITHIN_S, self.transport.abort)

    def _stop_waiting(self) -> None:
        if self._hurry is not None:
            self._hurry.cancel()
            self._hurry = None


@dataclass(frozen=True, slots=True)
class Rate:
    """So many at once, and so many a second after that."""

    at_once: float
    a_second: float


READS = Rate(400.0, 40.0)
WRITES = Rate(40.0, 1.0)
"""A page with its charts and files is a dozen reads; nobody presses once a second for long."""


class Pace:
    """Tells a machine that asks faster than anybody presses to wait."""

    def __init__(
        self,
        app: ASGIApp,
        steady: Callable[[], float],
        reads: Rate = READS,
        writes: Rate = WRITES,
    ) -> None:
        self._app, self._steady = app, steady
        self._rates = {False: reads, True: writes}
        self._left: OrderedDict[tuple[str, bool], tuple[float, float]] = OrderedDict()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http":
            wait_s = self._wait_s(scope)
            if wait_s > 0.0:
                refused = PlainTextResponse(
                    "That is more than these pages are asked by anybody.\nWait a little.\n",
                    429,
                    {"Retry-After": str(int(wait_s) + 1)},
                )
                await refused(scope, receive, send)
                return
        await self._app(scope, receive, send)

    def _wait_s(self, scope: Scope) -> float:
        writes = scope["method"] not in ("GET", "HEAD", "OPTIONS")
        key = ((scope.get("client") or ("?",))[0], writes)
        rate, now_s = self._rates[writes], self._steady()
        left, then_s = self._left.pop(key, (rate.at_once, now_s))
        left = min(left + (now_s - then_s) * rate.a_second, rate.at_once)
        wait_s = max(1.0 - left, 0.0) / rate.a_second
        self._left[key] = (left if wait_s else left - 1.0), now_s
        while len(self._left) > _MACHINES:
            self._left.popitem(last=False)
        return wait_s
