"""The server in its thread: ports, streams, and an end that doesn't wait for anybody."""

import asyncio
import logging
import socket
import threading
from collections.abc import Iterator
from datetime import timedelta

import httpx
import pytest
from starlette.applications import Starlette

from dashboards.changes import Changes, fingerprint, waking
from dashboards.serve import WebServer
from monitor.alerts.dispatch import ask_again
from monitor.errors import HostError, StoreError
from monitor.logbook import parse_address
from monitor.records import Aloud, MarkKind
from tests.dashboards.conftest import NOW, say
from tests.scenarios.shop import ShopAtHand


@pytest.fixture
def server(app: Starlette) -> Iterator[WebServer]:
    running = WebServer(app, 0)
    yield running
    running.stop()


def test_port_0_takes_any_that_is_free(server: WebServer) -> None:
    """The address that comes back is the one that answers."""
    address = server.start()
    assert address.startswith("http://127.0.0.1:")
    assert httpx.get(address).status_code == 200


def test_no_packet_of_an_answer_waits_for_another(
    server: WebServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every connection is set to send at once (TCP_NODELAY; RFC 9293, 3.7.4)."""
    accepted = []
    real = socket.socket.accept

    def accept(listening: socket.socket) -> tuple[socket.socket, object]:
        connection, peer = real(listening)
        accepted.append(connection)
        return connection, peer

    monkeypatch.setattr(socket.socket, "accept", accept)
    address = server.start()
    with httpx.Client() as client:
        assert client.get(address).status_code == 200
        (connection,) = accepted
        assert connection.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY) != 0


def test_a_taken_port_is_two_lines(app: Starlette) -> None:
    """What is wrong and what to do, before anything runs."""
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(HostError) as told:
            WebServer(app, port).start()
    assert str(port) in told.value.what
    assert "--port" in told.value.remedy


def test_a_server_can_be_stopped_before_it_started_and_twice(app: Starlette) -> None:
    """Stopping is always safe."""
    server = WebServer(app, 0)
    server.stop()
    address = server.start()
    server.stop()
    server.stop()
    with pytest.raises(httpx.ConnectError):
        httpx.get(address)


def test_it_stops_with_listeners_still_there(
    server: WebServer, caplog: pytest.LogCaptureFixture
) -> None:
    """Open streams are ended first, so nothing is cut off and nothing is complained about.

    The time allowed here is the server's own patience: past it, it would log an error.
    """
    address = server.start()
    listening, ended = threading.Semaphore(0), []

    def listen() -> None:
        with httpx.stream("GET", address + "events", timeout=30) as stream:
            assert stream.headers["content-type"].startswith("text/event-stream")
            for line in stream.iter_lines():
                if line.startswith("retry"):
                    listening.release()
        ended.append(True)

    listeners = [threading.Thread(target=listen) for _ in range(5)]
    for thread in listeners:
        thread.start()
    for _ in listeners:
        assert listening.acquire(timeout=20)
    with caplog.at_level(logging.WARNING):
        server.stop()
    for thread in listeners:
        thread.join(20)
    assert len(ended) == 5
    assert [record.message for record in caplog.records] == []


def test_a_new_reading_rings(server: WebServer, filled: ShopAtHand) -> None:
    """An event reaches a page that listens when something was stored."""
    address = server.start()
    heard = []
    with httpx.stream("GET", address + "events", timeout=30) as stream:
        for line in stream.iter_lines():
            if line.startswith("retry"):
                # The first look is behind the first line: what is stored now is new, or is seen
                # as new at the latest with the second reading.
                say(filled, "shed", NOW, 20.1)
                threading.Timer(3.0, say, (filled, "shed", NOW.replace(minute=1), 20.2)).start()
            heard.append(line)
            if line == "event: changed":
                break
    assert heard[-1] == "event: changed"


def test_whatever_changes_a_page_changes_the_fingerprint(filled: ShopAtHand) -> None:
    """Reading, mark, batch, layup, alert, alert seen, alert over."""
    store = filled.store
    seen = [fingerprint(store)]

    def changed() -> bool:
        seen.append(fingerprint(store))
        return seen[-1] != seen[-2]

    assert not changed()
    say(filled, "shed", NOW.replace(minute=1), 20.0)
    assert changed()
    filled.book.add_mark(parse_address("1"), MarkKind.FLIPPED, at=NOW, note=None, now=NOW)
    assert changed()
    filled.mix("3/skin-b", "P1", NOW)
    assert changed()
    filled.lay_up(8, "E1", NOW)
    assert changed()
    alert = store.alerts.raise_alert("cold", "shed", NOW, NOW, (1,), "Cold.", "Warm it.")
    assert changed()
    assert alert is not None
    store.alerts.mark_seen(alert.id, NOW)
    assert changed()
    store.alerts.clear(alert.id, NOW)
    assert changed()
    filled.book.correct("mark-1", "note", "late", NOW)
    assert changed()
    filled.book.end_layup(8, NOW)
    assert changed()
    store.health.say("readings", ("The disk is full.", "Make room."))
    assert changed()
    store.health.well("readings")
    assert changed()


LISTENING = b"retry: 3000\n\nevent: listening\ndata: 1\n\n"


async def first_events(changes: Changes, wanted: int) -> list[bytes]:
    heard = []
    async for event in changes.events():
        heard.append(event)
        if len(heard) == wanted:
            changes.close()
    return heard


@pytest.mark.parametrize("trouble_first", [True, False])
def test_trouble_rings_and_so_does_its_end(
    monkeypatch: pytest.MonkeyPatch, trouble_first: bool
) -> None:
    """A full disk reaches the page at once, and its recovery too."""
    monkeypatch.setattr("dashboards.changes.LOOK_EVERY_S", 0.01)
    turns = iter([trouble_first, not trouble_first])
    last = [trouble_first]

    def look() -> str:
        last[0] = next(turns, last[0])
        if last[0]:
            raise StoreError("The disk is full.", "Make room.")
        return "well"

    heard = asyncio.run(first_events(Changes(look), 2))
    woken = b"event: waking\ndata: \n\n"
    assert heard == [LISTENING + woken, b"event: changed\ndata: 1\n\n" + woken]


def test_a_quiet_stream_says_it_is_still_there(monkeypatch: pytest.MonkeyPatch) -> None:
    """A comment, which no page acts on, keeps the connection from being given up."""
    monkeypatch.setattr("dashboards.changes.HEARTBEAT_S", 0.01)
    heard = asyncio.run(first_events(Changes(lambda: "the same"), 3))
    assert heard[1:] == [b": still here\n\n", b": still here\n\n"]


def test_what_wakes_is_told_by_number(filled: ShopAtHand, monkeypatch: pytest.MonkeyPatch) -> None:
    """At first and with each change: those that may wake someone, until seen or over."""
    monkeypatch.setattr("dashboards.changes.LOOK_EVERY_S", 0.01)
    alerts = filled.store.alerts

    def alert(rule: str, aloud: Aloud) -> int:
        told = alerts.raise_alert(rule, rule, NOW, NOW, (1,), "Cold.", "Warm it.", aloud=aloud)
        assert told is not None
        return told.id

    alert("recoat-shuts", Aloud.BY_DAY)
    first, second = alert("below-floor", Aloud.ANY_HOUR), alert("hot-part", Aloud.ANY_HOUR)
    assert waking(filled.store, NOW) == (f"{first}.1", f"{second}.1")
    alerts.mark_seen(first, NOW)
    assert waking(filled.store, NOW) == (f"{second}.1",)
    changes = Changes(lambda: object(), lambda: waking(filled.store, NOW))
    heard = asyncio.run(first_events(changes, 2))
    assert all(f"event: waking\ndata: {second}.1\n\n".encode() in event for event in heard)
    alerts.clear(second, NOW)
    assert waking(filled.store, NOW) == ()


@pytest.mark.parametrize("comes_before", ["what is seen", "what wakes"])
def test_an_alert_that_comes_in_the_middle_of_a_look_wakes(
    monkeypatch: pytest.MonkeyPatch, comes_before: str
) -> None:
    """At that look or the next, whichever of the two questions it came before."""
    monkeypatch.setattr("dashboards.changes.LOOK_EVERY_S", 0.01)
    monkeypatch.setattr("dashboards.changes.HEARTBEAT_S", 0.5)
    asked = {"what is seen": 0, "what wakes": 0}

    def there(question: str) -> tuple[str, ...]:
        asked[question] += 1
        return ("7.1",) if asked[comes_before] >= 2 else ()

    changes = Changes(lambda: there("what is seen"), lambda: there("what wakes"))
    heard = asyncio.run(first_events(changes, 3))
    told = b"event: changed\ndata: 1\n\nevent: waking\ndata: 7.1\n\n"
    assert heard[0] == LISTENING + b"event: waking\ndata: \n\n"
    assert told in heard[1:]


def test_what_is_asked_again_wakes_again(filled: ShopAtHand) -> None:
    """By itself in 20 and 40 minutes, and when somebody wished so; seen, it is quiet."""
    alerts, minute = filled.store.alerts, timedelta(minutes=1)
    told = alerts.raise_alert(
        "hot-part", "bow", NOW, NOW, (1,), "Hot.", "Clear it.", aloud=Aloud.ANY_HOUR
    )
    assert told is not None
    asked = [waking(filled.store, NOW + n * minute) for n in (0, 19, 20, 39, 41, 300)]
    assert asked == [(f"{told.id}.{n}",) for n in (1, 1, 2, 2, 3, 3)]
    alerts.mark_seen(told.id, NOW + 50 * minute)
    assert waking(filled.store, NOW + 60 * minute) == ()
    ask_again(filled.store, told.id, NOW + 60 * minute, ())
    assert waking(filled.store, NOW + 61 * minute) == (f"{told.id}.3",)
    assert waking(filled.store, NOW + 81 * minute) == (f"{told.id}.4",)


def test_a_store_in_trouble_wakes_nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    """The stream goes on, and says nothing of what it can't know."""
    monkeypatch.setattr("dashboards.changes.LOOK_EVERY_S", 0.01)

    def refused() -> tuple[str, ...]:
        raise StoreError("The disk is full.", "Make room.")

    (first,) = asyncio.run(first_events(Changes(lambda: "the same", refused), 1))
    assert first == LISTENING + b": not known\n\n"
