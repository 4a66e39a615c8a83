"""`run --lan` in a process of its own, in a shop with parts in it, and a wire to ask it over."""

import re
import select
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from subprocess import STDOUT, Popen
from urllib.parse import urlencode

from dashboards.guard import HEADERS
from monitor.records import Leave
from tests.cli.process import PROGRAM, wait_for
from tests.dashboards.conftest import fill
from tests.scenarios.shop import open_demo_shop

THERE = "shed.example"
HEAD = re.compile(rb"HTTP/1\.1 (\d{3}) [^\r\n]*\r\n(.*?)\r\n\r\n", re.DOTALL)
LONGEST_WAIT_S = 30.0
ANSWERED_WITHIN_S, AFTER_AN_ANSWER_S = 0.3, 0.05
SEAL_PASSED = re.compile(rb"set-cookie: (seal-\w+)=([^;]+);", re.IGNORECASE)


@dataclass(frozen=True)
class Answer:
    """`status` 0: it hung up without a word. `wrong`: what no answer may be."""

    status: int
    body: bytes
    wrong: tuple[str, ...]


@dataclass(frozen=True)
class Lan:
    port: int
    folder: Path
    process: "Popen[bytes]"
    tokens: dict[str, str]
    seal: tuple[str, str]

    def cookies(self, who: str) -> str:
        token = f"; door={self.tokens[who]}" if who in self.tokens else ""
        return f"{self.seal[0]}={self.seal[1]}{token}"

    def send(self, data: bytes, own: str, *, whole: bool = True) -> Answer:
        """Ask with these bytes from that address; `whole` False: nothing says where it ends."""
        with socket.create_connection(("127.0.0.1", self.port), LONGEST_WAIT_S, (own, 0)) as asked:
            told = bytearray()
            try:
                asked.sendall(data)
                if not whole and not _answered(asked):
                    asked.shutdown(socket.SHUT_WR)
                while block := asked.recv(1 << 16):
                    told += block
                    if b"text/event-stream" in told:
                        break
                    if not whole:
                        asked.settimeout(AFTER_AN_ANSWER_S)
            except TimeoutError:
                if not told:
                    return Answer(0, b"", ("it never answered",))
            except ConnectionError:
                # It needn't hear somebody out whom it has refused.
                pass
        return _read(bytes(told))

    def page(self, path: str, who: str = "writer", own: str = "127.0.0.1") -> Answer:
        lines = (
            f"GET {path} HTTP/1.1",
            f"Host: {THERE}",
            "Accept: text/html",
            f"Cookie: {self.cookies(who)}",
            "Connection: close",
        )
        return self.send("\r\n".join((*lines, "", "")).encode(), own)

    def press(self, path: str, fields: dict[str, str], who: str, own: str) -> Answer:
        body = urlencode({"seal": self.seal[1], **fields})
        lines = (
            f"POST {path} HTTP/1.1",
            f"Host: {THERE}",
            f"Origin: http://{THERE}",
            f"Cookie: {self.cookies(who)}",
            "Content-Type: application/x-www-form-urlencoded",
            f"Content-Length: {len(body)}",
            "Connection: close",
        )
        return self.send("\r\n".join((*lines, "", body)).encode(), own)


def _answered(asked: socket.socket) -> bool:
    """Whether it answers by itself, soon; else it waits for more."""
    return bool(select.select([asked], [], [], ANSWERED_WITHIN_S)[0])


def _read(told: bytes) -> Answer:
    # To be told to go on is no answer yet.
    told = told.removeprefix(b"HTTP/1.1 100 Continue\r\n\r\n")
    if not told:
        return Answer(0, b"", ())
    heads = list(HEAD.finditer(told))
    if not heads or heads[0].start():
        return Answer(0, told, (f"no answer begins so: {told[:40]!r}",))
    wrong = [
        each for head in heads for each in _wrong_with(int(head[1]), head[2].decode("latin-1"))
    ]
    if b"Traceback (most recent" in told:
        wrong.append("it tells what the program is made of")
    return Answer(int(heads[0][1]), told[heads[0].end() :], tuple(wrong))


def _wrong_with(status: int, head: str) -> Iterator[str]:
    """Every answer, whatever it is, carries the same headers and isn't the program's own fault."""
    headers = dict(line.lower().split(": ", 1) for line in head.split("\r\n"))
    if status >= 500 and not (status == 503 and headers.get("retry-after") == "60"):
        yield f"status {status}"
    for name, value in HEADERS.items():
        if headers.get(name.lower()) != value.lower():
            yield f"{status} without {name}"
    if "server" in headers or "access-control-allow-origin" in headers:
        yield f"{status} says too much"
    if "cache-control" not in headers:
        yield f"{status} without Cache-Control"


@contextmanager
def open_to_the_network(folder: Path, log: Path) -> Iterator[Lan]:
    """A demo shop with two parts, two sensors and an alert, a writer and a looker signed in."""
    at_hand = open_demo_shop(folder)
    fill(at_hand)
    tokens = {}
    now = datetime.now(UTC)
    for name, leave in (("writer", Leave.WRITE), ("looker", Leave.LOOK)):
        at_hand.store.door.set_passcode(leave, f"{name}, tide table nine", now)
        tokens[name] = at_hand.store.door.sign_in(leave, name, now + timedelta(minutes=1))
    at_hand.store.close()
    settings = folder / "shop.toml"
    told = settings.read_text(encoding="utf-8")
    named = told.replace("[web]\n", f'[web]\naddress = "http://{THERE}"\n')
    settings.write_text(named, encoding="utf-8")
    with log.open("wb") as out:
        command = [*PROGRAM, "--shop", str(folder), "run", "--lan", "--port", "0"]
        process = Popen(command, stdout=out, stderr=STDOUT)
        try:
            wait_for(lambda: b"Watching" in log.read_bytes())
            found = re.search(rb"127\.0\.0\.1:(\d+)", log.read_bytes())
            assert found is not None
            lan = Lan(int(found[1]), folder, process, tokens, ("", ""))
            seal = SEAL_PASSED.search(_first_page(lan.port))
            assert seal is not None
            yield Lan(lan.port, folder, process, tokens, (seal[1].decode(), seal[2].decode()))
        finally:
            process.terminate()
            process.wait(timeout=60)


def _first_page(port: int) -> bytes:
    """As it is given to anybody: with the shop's word in a cookie."""
    with socket.create_connection(("127.0.0.1", port), LONGEST_WAIT_S) as asked:
        lines = f"GET /sign-in HTTP/1.1\r\nHost: {THERE}\r\nConnection: close\r\n\r\n"
        asked.sendall(lines.encode())
        return b"".join(iter(lambda: asked.recv(1 << 16), b""))
