"""Slow clients are hung up on, hasty ones told to wait; nobody else notices."""

import asyncio
import contextlib
import logging
import socket
import time
from collections.abc import Iterator

import httpx
import pytest
from starlette.applications import Starlette
from starlette.responses import PlainTextResponse

from dashboards import guard, patience
from dashboards.patience import Pace, Rate
from dashboards.serve import WebServer
from tests.dashboards.asking import Asking


@pytest.fixture
def port(app: Starlette, monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """A real server that waits for next to nothing."""
    monkeypatch.setattr(patience, "HEAD_WITHIN_S", 0.4)
    monkeypatch.setattr(guard, "BODY_WITHIN_S", 0.4)
    server = WebServer(app, 0)
    yield int(server.start().rstrip("/").rpartition(":")[2])
    server.stop()


def _connected(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), timeout=10)


@pytest.mark.parametrize("begun", [b"", b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: "])
def test_a_head_that_never_ends_is_hung_up_on(port: int, begun: bytes) -> None:
    """Nothing at all, or a few lines and no end, one letter now and then."""
    with _connected(port) as slow:
        slow.sendall(begun)
        gone = b"still there"
        for _ in range(40):
            slow.settimeout(0.1)
            try:
                if begun:
                    slow.sendall(b"x")
                gone = slow.recv(100)
            except TimeoutError:
                continue
            except ConnectionError:
                gone = b""
            break
        assert gone == b""


def test_a_second_question_on_the_same_line(port: int) -> None:
    """A connection that is kept answers again, and is hung up on when the next one drags."""
    whole = b"GET /alive HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
    with _connected(port) as kept:
        for _ in range(3):
            kept.sendall(whole)
            assert kept.recv(4096).startswith(b"HTTP/1.1 204")
            time.sleep(0.2)
        kept.sendall(whole[:20])
        with contextlib.suppress(ConnectionError):
            assert kept.recv(4096) == b""


def test_a_stream_is_not_slow(port: int) -> None:
    """Whoever listens for changes sends nothing for long, and is let listen."""
    with _connected(port) as listening:
        listening.sendall(b"GET /events HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        assert b"text/event-stream" in listening.recv(4096)
        time.sleep(1.0)
        listening.settimeout(0.2)
        with contextlib.suppress(TimeoutError):
            assert listening.recv(4096) != b""


def test_a_form_that_drags_is_refused(port: int) -> None:
    """In two lines, and the next one on a new connection is answered."""
    head = (
        b"POST /layups/1/marks HTTP/1.1\r\nHost: 127.0.0.1\r\nOrigin: http://127.0.0.1\r\n"
        b"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 500\r\n\r\nseal="
    )
    with _connected(port) as slow:
        slow.sendall(head)
        answer = slow.recv(4096)
    assert answer.startswith(b"HTTP/1.1 408")
    assert httpx.get(f"http://127.0.0.1:{port}/alive").status_code == 204


def test_a_body_that_turns_out_to_be_none(port: int, caplog: pytest.LogCaptureFixture) -> None:
    """Refused before its body came, which then is none: hung up on, and nothing is complained of.

    A request that was answered already can't be answered once more.
    """
    head = b"POST /log/part HTTP/1.1\r\nHost: evil.example\r\nTransfer-Encoding: chunked\r\n\r\n"
    with _connected(port) as asked:
        asked.sendall(head)
        assert asked.recv(4096).startswith(b"HTTP/1.1 400")
        asked.sendall(b"no chunk\r\n")
        with contextlib.suppress(ConnectionError):
            while asked.recv(4096):
                pass
    assert httpx.get(f"http://127.0.0.1:{port}/alive").status_code == 204
    assert [record.message for record in caplog.records if record.levelno >= logging.ERROR] == []


def test_more_connections_than_are_answered(port: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Those that are there go on; one more is told to come back, and is hung up on."""
    monkeypatch.setattr(patience, "CONNECTIONS", 1)
    whole = b"GET /alive HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
    with _connected(port) as first:
        first.sendall(whole)
        assert first.recv(4096).startswith(b"HTTP/1.1 204")
        with _connected(port) as second:
            second.sendall(whole)
            told = b"".join(iter(lambda: second.recv(4096), b"")).decode()
        first.sendall(whole)
        assert first.recv(4096).startswith(b"HTTP/1.1 204")
    assert told.startswith("HTTP/1.1 503")
    for name, value in guard.HEADERS.items():
        assert f"{name.lower()}: {value}" in told


class _Steady:
    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def _paced(steady: _Steady) -> Pace:
    return Pace(PlainTextResponse("done"), steady, Rate(5.0, 1.0), Rate(2.0, 0.5))


def _asked(app: Pace, method: str, machine: str = "192.168.1.5") -> httpx.Response:
    async def once() -> httpx.Response:
        wire = httpx.ASGITransport(app, client=(machine, 1))
        async with httpx.AsyncClient(transport=wire, base_url="http://shed.local") as client:
            return await client.request(method, "/")

    return asyncio.run(once())


def test_a_machine_that_asks_too_fast_waits() -> None:
    """Its own pace for reading and for writing; another machine isn't held up."""
    steady = _Steady()
    app = _paced(steady)
    assert [_asked(app, "GET").status_code for _ in range(6)] == [200] * 5 + [429]
    assert [_asked(app, "POST").status_code for _ in range(3)] == [200, 200, 429]
    assert _asked(app, "GET", "192.168.1.6").status_code == 200
    waits = _asked(app, "POST")
    assert waits.headers["retry-after"] == "3"
    assert len(waits.text.splitlines()) == 2
    steady.now_s += 2.0
    assert [_asked(app, "GET").status_code for _ in range(3)] == [200, 200, 429]
    assert [_asked(app, "POST").status_code for _ in range(2)] == [200, 429]


def test_few_machines_are_remembered(monkeypatch: pytest.MonkeyPatch) -> None:
    """However many ask, what is kept of them is bounded."""
    monkeypatch.setattr(patience, "_MACHINES", 10)
    app = _paced(_Steady())
    for n in range(50):
        _asked(app, "GET", f"10.0.0.{n}")
    assert len(app._left) == 10


def test_at_the_machine_itself_there_is_no_pace(client: Asking) -> None:
    """Without a network, nobody but the person at the machine asks."""
    assert {client.get("/alive").status_code for _ in range(500)} == {204}
