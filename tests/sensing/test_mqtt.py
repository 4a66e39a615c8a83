"""Sensors behind a message broker: a real one, that goes away and comes back."""

import json
import queue
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from getpass import getuser
from pathlib import Path

import pytest
from paho.mqtt import publish
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from monitor.errors import HostError
from monitor.records import Reading
from monitor.sensing.line_reader import Heard
from monitor.sensing.mqtt_feed import KEPT, MqttFeed
from monitor.wires import Columns, MqttBroker, MqttTopic
from tests.sensing.broker import Broker

PATIENCE_S = 30.0
SHED = MqttTopic("shed", "shed/air", status_topic="shed/here")


def all_but(topic: str) -> dict[str, object]:
    """Everybody's rights at the broker, as its plugin for them takes it."""
    allowed = ("publishClientSend", "publishClientReceive", "subscribe", "unsubscribe")
    denied = {"acltype": "subscribeLiteral", "topic": topic, "allow": False}
    return {
        "defaultACLAccess": dict.fromkeys(allowed, True),
        "anonymousGroup": "all",
        "groups": [{"groupname": "all", "roles": [{"rolename": "some"}]}],
        "roles": [{"rolename": "some", "acls": [denied]}],
    }


def now() -> datetime:
    return datetime.now(UTC)


def wait_until(true: Callable[[], object]) -> None:
    tick = threading.Event()
    for _ in range(round(PATIENCE_S / 0.02)):
        if true():
            return
        tick.wait(0.02)
    pytest.fail("it never happened")


class Heards:
    def __init__(self) -> None:
        self.readings: queue.Queue[tuple[str, Reading]] = queue.Queue()
        self.heard: queue.Queue[tuple[str, Heard]] = queue.Queue()

    def reading(self) -> tuple[str, float | None, float | None, float | None]:
        name, reading = self.readings.get(timeout=PATIENCE_S)
        return name, reading.temperature_c, reading.humidity_pct, reading.surface_c

    def reason(self) -> str | None:
        return self.heard.get(timeout=PATIENCE_S)[1].reason


@contextmanager
def hearing(broker: Broker, *topics: MqttTopic, **more) -> Iterator[tuple[MqttFeed, Heards]]:
    columns = more.pop("columns", None)
    told = MqttBroker("127.0.0.1", topics, broker.port, **more)
    feed = MqttFeed(told, clock=now, columns_of=lambda sensor: columns)
    heards = Heards()
    thread = threading.Thread(
        target=feed.run,
        args=(
            lambda name, reading: heards.readings.put((name, reading)),
            lambda name, heard: heards.heard.put((name, heard)),
        ),
        daemon=True,
    )
    thread.start()
    try:
        yield feed, heards
    finally:
        feed.stop()
        thread.join(PATIENCE_S)
    assert not thread.is_alive()


def say(broker: Broker, topic: str, payload: str | bytes, retain: bool = False) -> None:
    publish.single(topic, payload, retain=retain, hostname="127.0.0.1", port=broker.port)


def connected(feed: MqttFeed) -> Callable[[], bool]:
    return lambda: all(status.connected_since for status in feed.statuses)


def test_json_and_bare_values() -> None:
    """One sensor sends objects, another a number a topic, put together as they come."""
    topics = (
        SHED,
        MqttTopic("hull", "hull/rh", "humidity"),
        MqttTopic("hull", "hull/t", "temperature", "f"),
        MqttTopic("hull", "hull/skin", "surface"),
    )
    with Broker() as broker, hearing(broker, *topics) as (feed, heards):
        wait_until(connected(feed))
        say(broker, "shed/air", '{"temperature": 21.4, "humidity": 56.0}')
        assert heards.reading() == ("shed", 21.4, 56.0, None)
        say(broker, "hull/rh", "56,0")
        say(broker, "hull/skin", b"50.0\n")
        say(broker, "hull/t", "68.0")
        assert heards.reading() == ("hull", 20.0, 56.0, 10.0)
        say(broker, "hull/t", "50.0")
        assert heards.reading() == ("hull", 10.0, 56.0, 10.0)
        say(broker, "hull/t", "warm")
        wait_until(lambda: feed.statuses[1].rejects)
        shed, hull = feed.statuses
    assert (shed.readings, hull.readings, hull.rejects) == (1, 2, (("not-understood", 1),))
    assert heards.readings.empty()


def test_keys_that_somebody_named() -> None:
    """As for a board on a port."""
    columns = Columns("shed", "env.t", "env.h")
    with Broker() as broker, hearing(broker, SHED, columns=columns) as (feed, heards):
        wait_until(connected(feed))
        say(broker, "shed/air", '{"t": 1, "env": {"t": 21.4, "h": 56}}')
        assert heards.reading() == ("shed", 21.4, 56.0, None)


def test_what_the_broker_had_kept_is_not_taken_as_new() -> None:
    """Nobody can say how old it is; the same message is taken once it comes live."""
    with Broker() as broker:
        say(broker, "shed/air", '{"t": 5.0, "h": 90}', retain=True)
        with hearing(broker, SHED) as (feed, heards):
            assert heards.reason() == KEPT
            assert feed.statuses[0].rejects == ()
            say(broker, "shed/air", '{"t": 21.4, "h": 56}', retain=True)
            assert heards.reading() == ("shed", 21.4, 56.0, None)
            assert heards.readings.empty()


def test_a_broker_that_is_started_again_in_the_middle() -> None:
    """Told while it is away; every topic is heard again by itself, and nothing comes twice."""
    with Broker() as broker, hearing(broker, SHED) as (feed, heards):
        for count in range(3):
            wait_until(connected(feed))
            say(broker, "shed/air", f'{{"t": {20 + count}, "h": 56}}')
            assert heards.reading() == ("shed", 20.0 + count, 56.0, None)
            broker.stop()
            wait_until(lambda: feed.statuses[0].error)
            error = feed.statuses[0].error
            assert error is not None
            assert "can't be reached" in error[0]
            broker.start()
        wait_until(connected(feed))
        assert feed.statuses[0].error is None
        assert heards.readings.empty()


def test_a_broker_that_is_not_there_yet() -> None:
    """The daemon may start before it."""
    broker = Broker()
    with hearing(broker, SHED) as (feed, heards), broker:
        wait_until(connected(feed))
        say(broker, "shed/air", '{"t": 21.4}')
        assert heards.reading() == ("shed", 21.4, None, None)


def test_a_last_will_is_silence_and_no_reading() -> None:
    """A sensor that vanishes: its will is told at once; its next reading takes that back."""
    with Broker() as broker, hearing(broker, SHED) as (feed, heards):
        wait_until(connected(feed))
        sensor = Client(CallbackAPIVersion.VERSION2)
        sensor.will_set("shed/here", "offline")
        sensor.connect("127.0.0.1", broker.port)
        sensor.loop_start()
        sensor.publish("shed/air", '{"t": 21.4, "h": 56}').wait_for_publish(PATIENCE_S)
        assert heards.reading() == ("shed", 21.4, 56.0, None)
        # The cable is pulled: no goodbye, so the broker speaks its will.
        link = sensor.socket()
        assert link is not None
        sensor.on_disconnect = None
        sensor.loop_stop()
        link.close()
        wait_until(lambda: feed.statuses[0].error)
        error = feed.statuses[0].error
        assert error is not None
        assert "last will" in error[0]
        assert heards.readings.empty()
        say(broker, "shed/air", '{"t": 21.5, "h": 56}')
        heards.reading()
        wait_until(lambda: feed.statuses[0].error is None)


@pytest.mark.parametrize(
    ("payload", "reason"),
    [
        (b"", "not-understood"),
        (b"offline", "not-understood"),
        (b"\xff\xfe\x00", "not-understood"),
        (b'{"t": 21.4, "h', "damaged"),
        (b'{"t": 21.4, "x": "' + b"a" * 300 + b'"}', "too-long"),
        (b"[21.4]", "not-understood"),
    ],
)
def test_what_is_no_reading_is_refused(payload: bytes, reason: str) -> None:
    """And counted, and the next message is read."""
    with Broker() as broker, hearing(broker, SHED) as (feed, heards):
        wait_until(connected(feed))
        say(broker, "shed/air", payload)
        assert heards.reason() == reason
        say(broker, "shed/air", '{"t": 21.4}')
        assert heards.reading() == ("shed", 21.4, None, None)
        assert dict(feed.statuses[0].rejects) == {reason: 1}


def test_a_broker_that_refuses_says_where_to_look() -> None:
    """A wrong password is not an absent broker."""
    with Broker() as broker:
        broker.stop()
        broker.start("allow_anonymous false")
        with hearing(broker, SHED, user="yard", password="wrong") as (feed, _):
            wait_until(lambda: feed.statuses[0].error)
            error = feed.statuses[0].error
    assert error is not None
    assert "refuses" in error[0]
    assert "password" in error[1]


@pytest.mark.parametrize("kept_from_us", ["shed/air", "shed/here"])
def test_a_broker_that_keeps_a_topic_from_us(tmp_path: Path, kept_from_us: str) -> None:
    """It takes the connection; that sensor alone is out of reach, or heard without its will."""
    rights = tmp_path / "rights.json"
    rights.write_text(json.dumps(all_but(kept_from_us)), encoding="utf-8")
    (plugin,) = Path("/usr/lib").glob("*/mosquitto_dynamic_security.so")
    with Broker() as broker:
        broker.stop()
        broker.start(
            f"allow_anonymous true\nuser {getuser()}\n"
            f"plugin {plugin}\nplugin_opt_config_file {rights}"
        )
        with hearing(broker, SHED, MqttTopic("hull", "hull/air")) as (feed, heards):
            wait_until(lambda: feed.statuses[1].connected_since)
            wait_until(lambda: feed.statuses[0].error)
            say(broker, "hull/air", '{"t": 21.4}')
            assert heards.reading() == ("hull", 21.4, None, None)
            shed = feed.statuses[0]
    assert (shed.connected_since is None) == (kept_from_us == "shed/air")
    assert shed.error is not None
    assert kept_from_us in shed.error[0]


def test_a_certificate_that_is_none_is_told(tmp_path: Path) -> None:
    """Before anything is sent."""
    (tmp_path / "ca.pem").write_text("no certificate", encoding="utf-8")
    for name in ("ca.pem", "missing.pem"):
        told = MqttBroker("127.0.0.1", (SHED,), ca_file=tmp_path / name)
        with pytest.raises(HostError, match="can't be used"):
            MqttFeed(told, clock=now).run(lambda name, reading: None)
