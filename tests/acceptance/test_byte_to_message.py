"""From a sensor's bytes to a letter and a webhook, the watch killed in between."""

import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler
from pathlib import Path
from typing import Any

import pytest

from monitor.records import Reading
from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.simulated import SimulatedPort
from tests.alerts.sinks import answering, body_of, mail, mailto
from tests.scenarios.shop import ShopAtHand, open_demo_shop

PATIENCE_S = 150.0
"""More than a message is left alone that a killed run had begun."""


@dataclass
class Hook:
    """A webhook that takes what it is given, once it is open."""

    open: bool = True
    took: list[Any] = field(default_factory=list)
    at_s: list[float] = field(default_factory=list)
    turned_away: int = 0

    def __call__(self, handler: BaseHTTPRequestHandler) -> None:
        body = body_of(handler)
        if self.open:
            self.at_s.append(time.monotonic())
            self.took.append(body)
        else:
            self.turned_away += 1
        handler.send_response(204 if self.open else 503)
        handler.end_headers()


@contextmanager
def watching(folder: Path) -> Iterator["subprocess.Popen[str]"]:
    with subprocess.Popen(
        [sys.executable, "-m", "tests.alerts.watch", str(folder)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[2],
    ) as process:
        try:
            assert process.stdout is not None
            assert process.stdout.readline() == "watching\n"
            yield process
        finally:
            process.kill()


def wait_for(happened: Callable[[], object]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not happened():
        assert time.monotonic() < end, "it did not happen"
        time.sleep(0.01)


def cold_mix(shop: ShopAtHand, number: int, sensor: str, port: SimulatedPort) -> None:
    """A cup mixed just now beside a sensor that was last heard yesterday."""
    now = datetime.now(UTC)
    beside = shop.store.book.add_sensor(sensor, port.device, "c")
    shop.store.readings.add(beside.id, [Reading(now - timedelta(days=1), 12.0, 60.0)])
    shop.lay_up(number, "P1", now - timedelta(seconds=1))
    shop.put(str(number), sensor, now - timedelta(seconds=1))


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[ShopAtHand]:
    at_hand = open_demo_shop(tmp_path / "shop")
    yield at_hand
    at_hand.store.close()


def set_channels(shop: ShopAtHand, hook: str, port: int) -> None:
    path = shop.shop.folder / "shop.toml"
    section = f'\n[alerts]\nnight = ["00:00", "00:00"]\nwebhook = "{hook}/ring"\n'
    path.write_text(f'{path.read_text("utf-8")}{section}addresses = ["{mailto(port)}"]\n')


def test_from_byte_to_message(shop: ShopAtHand) -> None:
    """Each event reaches each channel once: the watch is killed after the first message, and
    again while the second waits for a webhook that turns it away. How long it took is printed."""
    hook = Hook()
    with answering(hook) as address, mail() as (box, port), SimulatedPort() as shed:
        set_channels(shop, address, port)
        cold_mix(shop, 1, "shed", shed)
        with watching(shop.shop.folder) as watch:
            shed_id = shop.store.book.sensor("shed").id
            wait_for(lambda: shed.say(xdr_sentence(12.0, 60.0)))
            said_s = time.monotonic()
            wait_for(lambda: hook.took and box.letters)
            wait_for(lambda: all(one.sent_at for one in shop.store.messages.of([1])))
            print(f"from byte to webhook {hook.at_s[0] - said_s:.2f} s")
            watch.send_signal(signal.SIGKILL)
            watch.wait(PATIENCE_S)
        assert shop.store.readings.count(shed_id) == 2
        hook.open = False
        with SimulatedPort() as boat:
            cold_mix(shop, 2, "boat", boat)
            with watching(shop.shop.folder) as watch:
                wait_for(lambda: boat.say(xdr_sentence(12.0, 60.0)))
                wait_for(lambda: hook.turned_away and len(box.letters) == 2)
                wait_for(lambda: any(one.trouble for one in shop.store.messages.of([2])))
                wait_for(lambda: any(one.sent_at for one in shop.store.messages.of([2])))
                watch.send_signal(signal.SIGKILL)
                watch.wait(PATIENCE_S)
            hook.open = True
            with watching(shop.shop.folder) as watch:
                wait_for(lambda: len(hook.took) == 2)
                time.sleep(2.0)  # some looks more, in which nothing may be said twice
                watch.send_signal(signal.SIGTERM)
                assert watch.wait(PATIENCE_S) == 0
    assert len(box.letters) == 2
    assert [(body["alert"], body["kind"]) for body in hook.took] == [(1, "said"), (2, "said")]
    assert [body["text"] for body in hook.took] == [
        "Part 1: 12.0 °C at shed, under the sheet's 15.0 °C. There is time: the next cup is not "
        "mixed yet. Wait with the next cup, or warm the place first.",
        "Part 2: 12.0 °C at boat, under the sheet's 15.0 °C. There is time: the next cup is not "
        "mixed yet. Wait with the next cup, or warm the place first.",
    ]
    messages = shop.store.messages.of([1, 2])
    assert [message.sent_at is not None for message in messages] == [True] * 4
