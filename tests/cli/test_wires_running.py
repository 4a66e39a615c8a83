"""A whole watch over a bus and a broker, as shop.toml describes them."""

import json
import signal
import subprocess
from pathlib import Path

from paho.mqtt import publish

from monitor.sensing.simulated import SimulatedPort
from tests.cli.process import PATIENCE_S, PROGRAM, read_until, started, wait_for
from tests.sensing.broker import Broker
from tests.sensing.rs485 import Probe, cable, serving

SHOP = """time_zone = "UTC"

[[modbus]]
port = "{port}"
every_s = 1

[[modbus.probe]]
sensor = "shed"
address = 1
temperature = 0
humidity = 1

[[modbus.probe]]
sensor = "hull"
address = 3
table = "input"
surface = 0

[mqtt]
host = "127.0.0.1"
port = {broker}

[[mqtt.topic]]
sensor = "boat"
topic = "boat/air"

[[columns]]
sensor = "bench"
temperature = 2
humidity = 1
"""


def sensors(shop: Path) -> dict[str, dict[str, object]]:
    done = subprocess.run(
        [*PROGRAM, "--shop", str(shop), "sensor", "list", "--json"],
        capture_output=True,
        check=True,
        timeout=PATIENCE_S,
    )
    return {row["sensor"]: row for row in json.loads(done.stdout)}


def test_a_watch_reads_probes_topics_and_named_columns(tmp_path: Path) -> None:
    """All four at once, under their names; taken over into the book by themselves."""
    probes = (Probe(1, {0: 0xFF9F, 1: 652}), Probe(3, {0: 1}, {0: 169}))
    with cable() as line, serving(line.far, *probes), Broker() as broker, SimulatedPort() as bench:
        text = SHOP.format(port=line.near, broker=broker.port)
        (tmp_path / "shop.toml").write_text(text, encoding="utf-8")
        arguments = (
            "--shop",
            str(tmp_path),
            "run",
            "--no-web",
            "--sensor",
            f"bench={bench.device}",
        )
        with started(*arguments) as process:
            read_until(process, "Watching")

            def all_heard() -> bool:
                publish.single(
                    "boat/air", '{"t": 21.4, "h": 56}', hostname="127.0.0.1", port=broker.port
                )
                bench.say("40.0,12.5")
                found = sensors(tmp_path)
                return all(row["last"] for row in found.values()) and len(found) == 4

            wait_for(all_heard)
            process.send_signal(signal.SIGTERM)
            read_until(process, "Stopped")
            assert process.wait(PATIENCE_S) == 0
    found = sensors(tmp_path)
    values = {
        name: (row["temperature_c"], row["humidity_pct"], row["surface_c"], row["port"])
        for name, row in found.items()
    }
    assert values == {
        "shed": (-9.7, 65.2, None, f"rs485 {line.near} address 1"),
        "hull": (None, None, 16.9, f"rs485 {line.near} address 3"),
        "boat": (21.4, 56.0, None, "mqtt boat/air"),
        "bench": (12.5, 40.0, None, bench.device),
    }


def test_a_probe_is_found_from_the_terminal() -> None:
    """What it prints for shop.toml is what shop.toml takes."""
    with cable() as line, serving(line.far, Probe(1, {0: 214, 1: 560})):
        asked = [*PROGRAM, "listen", line.near, "--rs485"]
        done = subprocess.run(asked, capture_output=True, check=True, timeout=PATIENCE_S)
        as_json = subprocess.run([*asked, "--json"], capture_output=True, check=True)
    said = done.stdout.decode()
    assert "A probe answers at address 1, 9600 baud." in said
    assert "Most likely: 21.4 °C in holding 0, 56.0 % in 1, times 0.1." in said
    assert f'[[modbus]]\nport = "{line.near}"\nbaud = 9600\n' in said
    found = json.loads(as_json.stdout)
    assert (found["address"], found["registers"]["input"]["1"]) == (1, 560)
    assert found["layouts"][0]["temperature"] == 0


def test_ports_and_silence_are_told(tmp_path: Path) -> None:
    """A port that says nothing leads to --rs485; none at all to the plug."""
    with SimulatedPort() as port:
        done = subprocess.run(
            [*PROGRAM, "listen", port.device, "--for", "0.5"], capture_output=True, check=True
        )
    assert b"--rs485" in done.stdout
    with SimulatedPort() as port:
        done = subprocess.run(
            [*PROGRAM, "listen", port.device, "--rs485", "--for", "0.5"],
            capture_output=True,
            check=True,
        )
    assert b"No probe answered" in done.stdout
