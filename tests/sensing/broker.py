"""A real broker, started on a free port of this machine."""

import socket
import subprocess
import tempfile
import threading
from pathlib import Path

MOSQUITTO = "/usr/sbin/mosquitto"


class Broker:
    """Started, stopped and started again on the same port; nothing is kept over a restart."""

    def __init__(self) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        self._folder = tempfile.TemporaryDirectory()
        self._settings = Path(self._folder.name, "broker.conf")
        self._process: subprocess.Popen[bytes] | None = None

    def start(self, more: str = "allow_anonymous true") -> None:
        self._settings.write_text(f"listener {self.port} 127.0.0.1\n{more}\n", encoding="utf-8")
        self._process = subprocess.Popen(
            [MOSQUITTO, "-c", str(self._settings)],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for _ in range(1000):
            try:
                socket.create_connection(("127.0.0.1", self.port), timeout=5).close()
            except ConnectionRefusedError:
                assert self._process.poll() is None
                threading.Event().wait(0.01)
            else:
                return
        raise AssertionError("the broker did not start")

    def stop(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def __enter__(self) -> "Broker":
        self.start()
        return self

    def __exit__(self, *raised: object) -> None:
        self.stop()
        self._folder.cleanup()
