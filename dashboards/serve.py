"""The web server in a thread of its own."""

import socket
import ssl
import threading
from pathlib import Path

import uvicorn
from starlette.applications import Starlette

from dashboards.patience import PatientProtocol
from monitor.errors import HostError

_WAIT_S = 10.0


EVERYWHERE = "0.0.0.0"


class WebServer:
    """Serves one app on one port until stopped. Port 0 takes any that is free.

    `tls`: a certificate and its key. Raises HostError where they can't be used.
    """

    def __init__(
        self,
        app: Starlette,
        port: int,
        host: str = "127.0.0.1",
        tls: tuple[Path, Path] | None = None,
    ) -> None:
        self._app, self._host, self._port = app, host, port
        self._scheme = "http" if tls is None else "https"
        certificate, key = (None, None) if tls is None else _usable(tls)
        self._thread: threading.Thread | None = None
        config = uvicorn.Config(
            app,
            http=PatientProtocol,
            loop="asyncio",
            ws="none",
            access_log=False,
            log_config=None,
            # Whoever sends what is no request would fill the log with warnings.
            log_level="error",
            timeout_graceful_shutdown=1,
            server_header=False,
            # Who asks is who is connected, whatever a header says.
            proxy_headers=False,
            ssl_certfile=certificate,
            ssl_keyfile=key,
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
        here = "127.0.0.1" if self._host == EVERYWHERE else self._host
        return f"{self._scheme}://{here}:{listening.getsockname()[1]}/"

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
        # Named as TCP: else asyncio leaves small packets waiting for each other, 40 ms an answer.
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
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


def _usable(tls: tuple[Path, Path]) -> tuple[Path, Path]:
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(*tls)
    except (OSError, ValueError) as fault:
        why = fault.strerror or fault if isinstance(fault, OSError) else fault
        raise HostError(
            f"The certificate {tls[0]} can't be used with its key {tls[1]}: {why}.",
            "Put right certificate and key under [web] in shop.toml, or take both out.",
        ) from None
    return tls


def own_names() -> frozenset[str]:
    """What other machines on the network may call this one."""
    name = socket.gethostname().lower()
    address = own_address()
    return frozenset({name, f"{name.partition('.')[0]}.local"} | ({address} if address else set()))


def own_address() -> str | None:
    """This machine's address on its network. None: it is on none."""
    # Nothing is sent: only which of its addresses the machine would send from is asked.
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))
        except OSError:
            return None
        address: str = asked.getsockname()[0]
    return address
