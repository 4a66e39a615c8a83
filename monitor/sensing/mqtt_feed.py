"""Sensors that publish to a message broker (MQTT 3.1.1, OASIS), heard over one connection."""

import ssl
import threading
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from monitor.errors import HostError
from monitor.records import Reading
from monitor.sensing.framing import MAX_LINE_BYTES, Reject
from monitor.sensing.line_reader import NOT_UNDERSTOOD, Heard, LineReader, in_celsius
from monitor.sensing.measured import Measured, number
from monitor.sensing.plausibility import Plausibility
from monitor.sensing.sources import (
    DeliverNamed,
    HearNamed,
    SourceStatus,
    nobody_hears_names,
)
from monitor.sensing.stamps import Clock, Stamps
from monitor.wires import Columns, MqttBroker, MqttTopic

if TYPE_CHECKING:
    from paho.mqtt.client import Client, MQTTMessage

ONE_MOMENT = timedelta(minutes=2)
"""Bare values of one sensor on several topics belong together where they came this close."""
KEEP_ALIVE_S = 20
LONGEST_WAIT_S = 5
KEPT = "kept-by-the-broker"
ColumnsOf = Callable[[str], Columns | None]


class MqttFeed:
    """One broker and its topics.

    What the broker had kept from before (a retained message) is shown and never taken as new:
    nobody can say how old it is. A last will makes the sensor silent, at once and with its reason.
    """

    def __init__(
        self, broker: MqttBroker, *, clock: Clock, columns_of: ColumnsOf = lambda sensor: None
    ) -> None:
        self.name = f"{broker.host}:{broker.port}"
        self._broker, self._clock = broker, clock
        self._stamps = Stamps(clock)
        self._topics = {
            topic.topic: _Topic(topic, columns_of(topic.sensor)) for topic in broker.topics
        }
        self._gone = {
            topic.status_topic: topic for topic in broker.topics if topic.status_topic is not None
        }
        self._statuses = {
            topic.sensor: SourceStatus(topic.sensor, f"{self.name} {topic.topic}", format="mqtt")
            for topic in broker.topics
        }
        self._rejects: dict[str, Counter[str]] = {t.sensor: Counter() for t in broker.topics}
        self._bare = {topic.sensor: _Bare(broker, topic.sensor) for topic in broker.topics}
        self._stopping = threading.Event()
        self._deliver: DeliverNamed = _nowhere
        self._hear: HearNamed = nobody_hears_names

    @property
    def statuses(self) -> tuple[SourceStatus, ...]:
        return tuple(self._statuses.values())

    def stop(self) -> None:
        """End `run`, from any thread."""
        self._stopping.set()

    def run(self, deliver: DeliverNamed, hear: HearNamed | None = None) -> None:
        """Hear until stopped; a broker that is away is waited for. Raises HostError without the
        library, or where the certificate can't be used."""
        self._deliver, self._hear = deliver, hear or nobody_hears_names
        client = self._client()
        client.connect_async(self._broker.host, self._broker.port, KEEP_ALIVE_S)
        client.loop_start()
        try:
            self._stopping.wait()
        finally:
            client.disconnect()
            client.loop_stop()
            self._note_all(connected_since=None)

    def _client(self) -> "Client":
        try:
            from paho.mqtt.client import Client
            from paho.mqtt.enums import CallbackAPIVersion
        except ImportError:
            raise HostError(
                "The library for message brokers is not installed.",
                "Install layupwatch[mqtt], or take [mqtt] out of shop.toml.",
            ) from None
        client = Client(CallbackAPIVersion.VERSION2)
        if self._broker.user is not None:
            client.username_pw_set(self._broker.user, self._broker.password)
        if self._broker.ca_file is not None:
            try:
                client.tls_set(ca_certs=str(self._broker.ca_file))
            except (OSError, ssl.SSLError) as trouble:
                raise HostError(
                    f"The broker's certificate {self._broker.ca_file} can't be used: {trouble}.",
                    "Put the file of the authority that signed it there.",
                ) from None
        client.reconnect_delay_set(min_delay=1, max_delay=LONGEST_WAIT_S)
        client.on_connect, client.on_disconnect = self._connected, self._disconnected
        client.on_connect_fail, client.on_subscribe = self._not_there, self._subscribed
        client.on_message = self._message
        return client

    def _connected(
        self, client: "Client", userdata: Any, flags: Any, reason: Any, properties: Any
    ) -> None:
        if reason.is_failure:
            self._note_all(
                connected_since=None,
                error=(
                    f"The broker {self.name} refuses: {reason}.",
                    "Look at user and password under [mqtt] in shop.toml.",
                ),
            )
            return
        # Here and not once before: a broker that was started anew knows nothing of us.
        client.subscribe([(topic, 0) for topic in (*self._topics, *self._gone)])
        self._note_all(connected_since=None, error=None)

    def _subscribed(
        self, client: "Client", userdata: Any, number: int, reasons: Any, properties: Any
    ) -> None:
        """From here on nothing is missed; what was said before the broker took it up was."""
        self._note_all(connected_since=self._clock())
        told = [(topic, one.sensor) for topic, one in self._topics.items()]
        told += [(topic, one.sensor) for topic, one in self._gone.items()]
        for (topic, sensor), reason in zip(told, reasons, strict=True):
            if reason.is_failure:
                before = self._statuses[sensor]
                # Without its last will it is heard all the same.
                self._statuses[sensor] = replace(
                    before,
                    connected_since=None if topic in self._topics else before.connected_since,
                    error=(
                        f"The broker {self.name} doesn't let us hear {topic}.",
                        f"Give the user under [mqtt] in shop.toml the right to read {topic}.",
                    ),
                )

    def _disconnected(
        self, client: "Client", userdata: Any, flags: Any, reason: Any, properties: Any
    ) -> None:
        if not self._stopping.is_set():
            self._away()

    def _not_there(self, client: "Client", userdata: Any) -> None:
        self._away()

    def _away(self) -> None:
        if any(status.error for status in self.statuses) and not any(
            status.connected_since for status in self.statuses
        ):
            return
        self._note_all(
            connected_since=None,
            error=(
                f"The broker {self.name} can't be reached.",
                "See that it runs and that the network is there; it is tried again by itself.",
            ),
        )

    def _message(self, client: "Client", userdata: Any, message: "MQTTMessage") -> None:
        at = self._stamps.block()
        left = self._gone.get(message.topic)
        if left is not None:
            self._left_or_back(left, message)
        topic = self._topics.get(message.topic)
        if topic is None:
            return
        for heard in self._heard(topic, message, at):
            self._note(topic.sensor, heard)
            self._hear(topic.sensor, heard)
            if heard.reading is not None:
                self._deliver(topic.sensor, heard.reading)

    def _left_or_back(self, topic: MqttTopic, message: "MQTTMessage") -> None:
        gone = message.payload.strip() == topic.gone.encode()
        self._statuses[topic.sensor] = replace(
            self._statuses[topic.sensor],
            error=(
                f"Sensor {topic.sensor} has left the broker: its last will says {topic.gone!r}.",
                "Look at its supply and its network.",
            )
            if gone
            else None,
        )

    def _heard(self, topic: "_Topic", message: "MQTTMessage", at: datetime) -> list[Heard]:
        text = message.payload[: MAX_LINE_BYTES + 1].decode(errors="replace").strip()
        line = "".join(sign if sign.isprintable() else " " for sign in text)
        if message.retain:
            return [Heard(at, line, None, KEPT, harmless=True)]
        if len(message.payload) > MAX_LINE_BYTES:
            return [Heard(at, line[:60] + "…", None, "too-long")]
        if topic.value is None:
            return topic.reader.read(line, at)
        value = number(line, decimal_comma=True)
        if value is None:
            return [Heard(at, line, None, NOT_UNDERSTOOD)]
        reading = self._bare[topic.sensor].with_value(topic, value, at, line)
        return [] if reading is None else [Heard(at, reading.raw, reading)]

    def _note_all(self, **changed: object) -> None:
        for name, status in self._statuses.items():
            self._statuses[name] = replace(status, **changed)  # type: ignore[arg-type] # by name

    def _note(self, sensor: str, heard: Heard) -> None:
        before = self._statuses[sensor]
        refused = heard.reason is not None and not heard.harmless
        rejects = self._rejects[sensor]
        if refused:
            rejects[heard.reason or ""] += 1
        self._statuses[sensor] = replace(
            before,
            last_line=heard.line,
            last_line_at=heard.at,
            lines=before.lines + 1,
            readings=before.readings + (heard.reading is not None),
            rejects=tuple(rejects.most_common()),
            last_reject=Reject(heard.reason or "", heard.line) if refused else before.last_reject,
            # Who speaks is there, whatever its last will said.
            error=None if heard.reading is not None else before.error,
        )


class _Topic:
    """A topic, and how its messages are read."""

    def __init__(self, told: MqttTopic, columns: Columns | None) -> None:
        self.sensor, self.topic, self.value, self.unit = (
            told.sensor,
            told.topic,
            told.value,
            told.unit,
        )
        self.reader = LineReader(unit=told.unit, format="json-line", columns=columns)


class _Bare:
    """Puts the bare values of one sensor's topics together."""

    def __init__(self, broker: MqttBroker, sensor: str) -> None:
        topics = [t for t in broker.topics if t.sensor == sensor and t.value is not None]
        values = [topic.value for topic in topics]
        # One reading a message of the leading value; the others are held until it comes.
        self._leading = next(
            (v for v in ("temperature", "surface", "humidity") if v in values), None
        )
        self._unit = next((topic.unit for topic in topics if topic.unit), None)
        self._plausibility = Plausibility(self._unit)
        self._held: dict[str, tuple[datetime, float, str]] = {}

    def with_value(self, topic: _Topic, value: float, at: datetime, line: str) -> Reading | None:
        """The reading that this value completes; None: it waits for the leading one."""
        if topic.value is None:
            return None
        self._held[topic.value] = (at, value, f"{topic.topic} {line}")
        if topic.value != self._leading:
            return None
        fresh = {name: held for name, held in self._held.items() if abs(at - held[0]) <= ONE_MOMENT}
        values = {name: held[1] for name, held in fresh.items()}
        raw = "; ".join(held[2] for held in fresh.values())
        measured = Measured(
            values.get("temperature"), values.get("humidity"), values.get("surface"), self._unit
        )
        return self._plausibility.check(in_celsius(measured, self._unit, at, raw), self._unit)


def _nowhere(sensor: str, reading: Reading) -> None:
    """Before it runs."""
