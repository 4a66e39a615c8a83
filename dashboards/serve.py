"""The web server in a thread of its own."""

import socket
import threading

import uvicorn
from starlette.applications import Starlette

from monitor.errors import HostError

_WAIT_S = 10.0


class WebServer:
    """Serves one app on one port until stopped. Port 0 takes any that is free."""

    def __init__(self, app: Starlette, port: int, host: str = "127.0.0.1") -> None:
        self._app, self._host, self._port = app, host, port
        self._thread: threading.Thread | None = None
        config = uvicorn.Config(
            app,
            http="h11",
            loop="asyncio",
            ws="none",
            access_log=False,
            log_config=None,
            log_level="warning",
            timeout_graceful_shutdown=1,
            server_header=False,
        )
        self._server = uvicorn.Server(config)

    def start(self) -> str:
        """The address it answers at. Raises HostError where the port can't be had."""
        listening = self._listen()
        self._thread = threading.Thread(
            target=self._server.run, args=([listening],), name="web", daemon=True
        )
        self._thread.start()
        ticks = threading.Event()
        for _ in range(int(_WAIT_S / 0.01)):
            if self._server.started or not self._thread.is_alive():
                break
            ticks.wait(0.01)
        if not self._server.started:
            raise HostError(
                "The web server did not start.", "Look at the lines above, or run with --no-web."
            )
        return f"http://{self._host}:{listening.getsockname()[1]}/"

    def stop(self) -> None:
        """End the open streams, then the server. Does nothing where it isn't running."""
        if self._thread is None:
            return
        # Streams first: the server waits for open answers, and these never end by themselves.
        self._app.state.changes.close()
        self._server.should_exit = True
        self._thread.join(_WAIT_S)
        self._thread = None

    def _listen(self) -> socket.socket:
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((self._host, self._port))
        except (OSError, OverflowError) as fault:
            listening.close()
            why = fault.strerror if isinstance(fault, OSError) else "no such port"
            raise HostError(
                f"The pages can't be served on port {self._port}: {why}.",
                "Another program may have it: choose another with --port, or 0 for any.",
            ) from None
        return listening
