"""What a sensor says, line by line, with nothing stored."""

import json
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.simulated import SimulatedPort
from tests.cli.process import PATIENCE_S, started


@contextmanager
def chatting(*lines: str) -> Iterator[SimulatedPort]:
    """A sensor that says its lines over and over."""
    done = threading.Event()
    with SimulatedPort() as port:

        def chat() -> None:
            while not done.is_set():
                for line in lines:
                    port.say(line)
                    done.wait(0.15)

        thread = threading.Thread(target=chat)
        thread.start()
        try:
            yield port
        finally:
            done.set()
            thread.join()


def test_each_line_and_how_it_is_read(tmp_path: Path) -> None:
    """Readings in words, and a damaged line with its reason."""
    damaged = xdr_sentence(18.4, 65.2)[:-2] + "00"
    with (
        chatting(xdr_sentence(18.4, 65.2), damaged) as port,
        started("--shop", str(tmp_path / "shop"), "listen", port.device, "--lines", "6") as process,
    ):
        said, _ = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 0
    assert "'$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44'  →  air 18.4 °C, humidity 65.2 %" in said
    assert "refused: checksum" in said
    assert not (tmp_path / "shop").exists()


def test_as_json(tmp_path: Path) -> None:
    """One object a line, for scripts; °F is converted."""
    with (
        chatting("68.0 54") as port,
        started("listen", port.device, "--unit", "f", "--lines", "4", "--json") as process,
    ):
        said, _ = process.communicate(timeout=PATIENCE_S)
    objects = [json.loads(line) for line in said.splitlines()]
    assert len(objects) >= 4
    assert objects[-1]["temperature_c"] == 20.0
    assert objects[-1]["refused"] is None


def test_silence_is_told(tmp_path: Path) -> None:
    """Nothing came: it says what to look at, and Ctrl-C ends it at any time."""
    with SimulatedPort() as port:
        with started("listen", port.device, "--for", "1") as process:
            said, _ = process.communicate(timeout=PATIENCE_S)
            assert process.returncode == 0
            assert f"Nothing came from {port.device}" in said
        with chatting("21.4,56.0") as talking, started("listen", talking.device) as process:
            assert process.stdout is not None
            process.stdout.readline()
            process.send_signal(signal.SIGINT)
            process.communicate(timeout=PATIENCE_S)
            assert process.returncode == 0
