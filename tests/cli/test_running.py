"""The daemon and the demo as processes of their own: started, asked, told to stop."""

import signal
from pathlib import Path
from urllib.request import urlopen

from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.simulated import SimulatedPort
from monitor.store import Store
from tests.cli.process import PATIENCE_S, read_until, started, wait_for


def test_run_from_an_empty_folder(tmp_path: Path) -> None:
    """`run` makes the shop, registers a sensor by itself, stores what it says, serves pages, and
    stops on SIGTERM with everything that came in stored."""
    folder = tmp_path / "shop"
    with (
        SimulatedPort() as port,
        started(
            "--shop", str(folder), "run", "--sensor", f"shed={port.device}", "--port", "0", TZ="UTC"
        ) as process,
    ):
        address = read_until(process, r"http://\S+")[0]
        with urlopen(address, timeout=PATIENCE_S) as page:
            assert page.status == 200
            assert "default-src 'self'" in page.headers["Content-Security-Policy"]
        read_until(process, "Watching")
        with Store.open(folder / "layupwatch.db") as store:
            sensor = store.book.sensor("shed")
            # The port may not be open yet, and a wire doesn't wait for a listener.
            wait_for(
                lambda: port.say(xdr_sentence(18.0, 60.0)) and store.readings.latest(sensor.id)
            )
            heard = store.readings.count(sensor.id)
            for tenths in range(100):
                assert port.say(xdr_sentence(18.0 + tenths / 100, 60.0))
            wait_for(lambda: store.readings.count(sensor.id) >= heard + 100)
        process.send_signal(signal.SIGTERM)
        rest, _ = process.communicate(timeout=PATIENCE_S)
        assert process.returncode == 0, rest
        assert "Stopped; everything that came in is stored." in rest
        assert "Traceback" not in rest


def test_a_port_taken_by_another(tmp_path: Path) -> None:
    """Two on one port: the second says so in two lines and exits with 3."""
    with started("--shop", str(tmp_path / "one"), "run", "--port", "0", TZ="UTC") as first:
        port = read_until(first, r"http://127\.0\.0\.1:(\d+)")[1]
        with started("--shop", str(tmp_path / "two"), "run", "--port", port, TZ="UTC") as second:
            said, _ = second.communicate(timeout=PATIENCE_S)
            assert second.returncode == 3
            assert f"can't be served on port {port}" in said
        first.send_signal(signal.SIGINT)
        first.communicate(timeout=PATIENCE_S)
        assert first.returncode == 0


def test_the_demo_answers_and_leaves_nothing(tmp_path: Path) -> None:
    """The demo's page shows its three made-up parts; Ctrl-C ends it and its folder is gone."""
    with started("demo", "--port", "0", TMPDIR=str(tmp_path)) as process:
        address = read_until(process, r"http://\S+")[0]
        assert list(tmp_path.iterdir()), "the demo keeps its shop here while it runs"
        with urlopen(address, timeout=PATIENCE_S) as page:
            text = page.read().decode()
        for part in ("dinghy rudder", "deck hatch lid", "canoe bow"):
            assert part in text
        process.send_signal(signal.SIGINT)
        rest, _ = process.communicate(timeout=PATIENCE_S)
        assert process.returncode == 0, rest
        assert "Traceback" not in rest
        assert list(tmp_path.iterdir()) == []
