"""What stands at the other end in a test: a webhook that answers, a mail server that keeps."""

import json
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from socket import AF_INET, SOCK_STREAM, socket
from typing import Any

from aiosmtpd.controller import Controller


def free_port() -> int:
    with socket(AF_INET, SOCK_STREAM) as taken:
        taken.bind(("127.0.0.1", 0))
        port: int = taken.getsockname()[1]
        return port


@contextmanager
def answering(answer: Callable[[BaseHTTPRequestHandler], None]) -> Iterator[str]:
    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            answer(self)

        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        server.shutdown()
        server.server_close()


def body_of(handler: BaseHTTPRequestHandler) -> Any:
    return json.loads(handler.rfile.read(int(handler.headers["Content-Length"])))


class Box:
    """A mail server that keeps what it is given."""

    def __init__(self) -> None:
        self.letters: list[str] = []
        self.recipients: set[tuple[str, ...]] = set()

    async def handle_DATA(  # noqa: N802 # the library's name for it
        self, _server: Any, _session: Any, envelope: Any
    ) -> str:
        self.letters.append(envelope.content.decode())
        self.recipients.add(tuple(envelope.rcpt_tos))
        return "250 taken"


@contextmanager
def mail() -> Iterator[tuple[Box, int]]:
    box, port = Box(), free_port()
    controller = Controller(box, hostname="127.0.0.1", port=port)
    controller.start()
    try:
        yield box, port
    finally:
        controller.stop()


def mailto(port: int) -> str:
    return f"mailto://127.0.0.1:{port}/?from=watch@shed.test&to=me@yard.test&mode=insecure"
