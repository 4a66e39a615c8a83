"""Nobody gets in: each address of the app, asked over a socket as no page of ours would ask it."""

import http.client
import re
import socket
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from urllib.parse import urlencode

import pytest
from starlette.routing import Route

from dashboards import assets
from dashboards.app import build_app
from dashboards.guard import HEADERS
from monitor.records import Leave
from monitor.store.doorbook import FORGOTTEN
from tests.cli.process import read_until, started
from tests.dashboards.conftest import NOW, fill
from tests.scenarios.shop import ShopAtHand, open_demo_shop

WRITE, LOOK = "tide table nine", "looking only 77"
THERE = "shed.example"
PAGE = {"Accept": "text/html"}
PRIVATE = re.compile(r"part [13]\b|patch|skin|shed\b(?!\.example)|bow\b|°C|demo-laminating")
FILLED_IN = {
    "number": "1",
    "id": "1",
    "entry": "batch-1",
    "batch": "skin-b",
    "name": "bow",
    "stem": "demo-laminating",
    "key": "count.base_c",
}
BOOK = (
    *("layups", "batches", "stays", "marks", "corrections", "reviews", "sensors", "kept_sheets"),
    *("passcodes", "sign_ins"),
)
"""What a person writes. Readings and alerts come by themselves while the watch runs."""

ADDRESSES = count(2)


@dataclass(frozen=True)
class Answer:
    status: int
    headers: dict[str, str]
    cookies: tuple[str, ...]
    body: str


@dataclass(frozen=True)
class Running:
    """`run --lan` in a process of its own, and what somebody would have to know to get in."""

    port: int
    folder: Path
    seal: tuple[str, str]
    tokens: dict[str, str]
    routes: tuple[tuple[str, str], ...]

    def ask(
        self,
        method: str,
        path: str,
        token: str = "",
        *,
        host: str = THERE,
        seal: str | None = None,
        headers: dict[str, str] | None = None,
        fields: dict[str, str] | None = None,
    ) -> Answer:
        """From another machine: by the shop's name on the network, each from its own address."""
        number = next(ADDRESSES)
        own = f"127.{number // 60_000 + 1}.{number // 250 % 240}.{number % 250 + 2}"
        connection = http.client.HTTPConnection("127.0.0.1", self.port, 30, (own, 0))
        cookies = [f"door={token}"] if token else []
        cookies += [f"{self.seal[0]}={seal}"] if seal else []
        given = {"Host": host, "Cookie": "; ".join(cookies), **(headers or {})}
        body = None
        if method not in ("GET", "HEAD", "OPTIONS"):
            body = urlencode(fields or {})
            given["Content-Type"] = "application/x-www-form-urlencoded"
        with closing(connection):
            connection.request(method, path, body, {k: v for k, v in given.items() if v})
            answer = connection.getresponse()
            stream = "event-stream" in answer.headers.get("Content-Type", "")
            text = "" if stream else answer.read().decode()
            cookies = answer.headers.get_all("Set-Cookie") or []
            told = {name.lower(): value for name, value in answer.headers.items()}
            return Answer(answer.status, told, tuple(cookies), text)

    def press(
        self,
        path: str,
        token: str = "",
        *,
        host: str = THERE,
        brought: str | None = None,
        field: str | None = None,
        headers: dict[str, str] | None = None,
        **fields: str,
    ) -> Answer:
        """A form as one of the pages sends it, but for what is named."""
        word = self.seal[1]
        return self.ask(
            "POST",
            path,
            token,
            host=host,
            seal=word if brought is None else brought,
            headers={"Origin": f"http://{host}"} if headers is None else headers,
            fields={"seal": word if field is None else field, **fields},
        )

    def reads(self) -> list[str]:
        return [path for method, path in self.routes if method == "GET"]

    def writes(self) -> list[str]:
        return [path for method, path in self.routes if method == "POST"]

    def book(self) -> dict[str, list[tuple[object, ...]]]:
        """Everything that people wrote, row by row."""
        with closing(sqlite3.connect(self.folder / "layupwatch.db")) as database:
            kept = {name: list(database.execute(f"SELECT * FROM {name}")) for name in BOOK}  # noqa: S608 (the names above)
            kept["seen"] = list(database.execute("SELECT id, seen_at FROM alerts WHERE id = 1"))
        return kept


def _every(at_hand: ShopAtHand) -> tuple[tuple[str, str], ...]:
    """Method and address of everything that is answered, from the app's own routes."""
    app = build_app(at_hand.store, at_hand.shop, clock=lambda: NOW, door=True)
    found = []
    for route in app.routes:
        assert isinstance(route, Route)
        if route.path.startswith("/static/"):
            path = assets.address("daybook.css")
        else:
            path = re.sub(r"{(\w+)(?::\w+)?}", lambda name: FILLED_IN[name[1]], route.path)
        found += [(method, path) for method in sorted((route.methods or set()) - {"HEAD"})]
    return tuple(found)


def _tokens(at_hand: ShopAtHand, now: datetime) -> dict[str, str]:
    door = at_hand.store.door
    door.set_passcode(Leave.WRITE, WRITE, now)
    door.set_passcode(Leave.LOOK, LOOK, now)
    tokens = {
        "stale": door.sign_in(Leave.WRITE, "a phone turned out", now),
        "forgotten": door.sign_in(Leave.WRITE, "last season's", now - FORGOTTEN * 2),
    }
    (turned_out,) = (one for one in door.sign_ins() if one.device == "a phone turned out")
    door.sign_out(turned_out.id)
    for name, leave in (("writer", Leave.WRITE), ("looker", Leave.LOOK), ("leaver", Leave.LOOK)):
        tokens[name] = door.sign_in(leave, name, now + timedelta(minutes=1))
    return tokens


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    folder = tmp_path_factory.mktemp("lan") / "shop"
    at_hand = open_demo_shop(folder)
    fill(at_hand)
    tokens = _tokens(at_hand, datetime.now(UTC))
    routes = _every(at_hand)
    at_hand.store.close()
    settings = folder / "shop.toml"
    told = settings.read_text().replace("[web]\n", f'[web]\naddress = "http://{THERE}"\n')
    settings.write_text(told)
    with started("--shop", str(folder), "run", "--lan", "--port", "0") as process:
        port = int(read_until(process, r"127\.0\.0\.1:(\d+)")[1])
        read_until(process, "Watching")
        seal = _seal_at(port)
        yield Running(port, folder, seal, tokens, routes)
        process.terminate()
        printed = process.communicate(timeout=30)[0]
    assert "Traceback" not in printed, printed


def _seal_at(port: int) -> tuple[str, str]:
    """As the page at the door gives it to anybody."""
    connection = http.client.HTTPConnection("127.0.0.1", port, 30)
    with closing(connection):
        connection.request("GET", "/sign-in", headers={"Host": THERE})
        answer = connection.getresponse()
        name, _, value = answer.headers["Set-Cookie"].partition(";")[0].partition("=")
        assert f'name="seal" value="{value}"' in answer.read().decode()
    return name, value


def is_strict(answer: Answer) -> bool:
    """Every answer, whatever it is, tells the browser the same and nobody what serves it."""
    for name, value in HEADERS.items():
        assert answer.headers[name.lower()] == value, (name, answer)
    assert "server" not in answer.headers
    assert "access-control-allow-origin" not in answer.headers
    kept_for_good = "immutable" in answer.headers["cache-control"]
    assert kept_for_good or answer.headers["cache-control"] == "no-cache"
    for cookie in answer.cookies:
        told = {part.strip().lower() for part in cookie.split(";")[1:]}
        assert {"httponly", "samesite=strict", "path=/"} <= told, cookie
        assert not any(part.startswith("domain") for part in told), cookie
    return True


OPEN = {"/sign-in", "/alive", assets.address("daybook.css")}


@pytest.mark.parametrize("who", ["nobody", "stale", "forgotten", "made up"])
def test_whoever_isn_t_signed_in_reads_nothing(running: Running, who: str) -> None:
    """Each address leads a page to the door, and refuses a program; HEAD says no more."""
    token = running.tokens.get(who, "" if who == "nobody" else "x" * 43)
    assert len(running.reads()) > 35
    for path in running.reads():
        page = running.ask("GET", path, token, headers=PAGE)
        program = running.ask("GET", path, token, headers={"Accept": "*/*"})
        alone = running.ask("HEAD", path, token)
        for answer in (page, program, alone):
            assert is_strict(answer)
            if path not in OPEN:
                assert not PRIVATE.search(answer.body), path
        if path in OPEN:
            assert page.status == program.status in (200, 204), path
            continue
        assert (page.status, page.body) == (303, ""), path
        assert page.headers["location"].startswith("/sign-in?next=/"), path
        assert (program.status, len(program.body.splitlines())) == (401, 2), path
        assert (alone.status, alone.body) == (401, ""), path


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"])
def test_no_other_method_gets_further(running: Running, method: str) -> None:
    """Whoever isn't signed in is refused, and a writer is told that it can't be asked so."""
    before = running.book()
    for path in dict.fromkeys(path for _, path in running.routes):
        for token in ("", running.tokens["writer"]):
            answer = running.ask(
                method,
                path,
                token,
                seal=running.seal[1],
                headers={"Origin": f"http://{THERE}", "X-Seal": running.seal[1]},
            )
            assert is_strict(answer)
            wanted = 405 if token or path in OPEN else 401
            assert answer.status == wanted, (method, path)
    assert running.book() == before


@pytest.mark.parametrize("who", ["nobody", "stale", "forgotten", "made up"])
def test_whoever_isn_t_signed_in_writes_nothing(running: Running, who: str) -> None:
    """With the seal and from a page of this name; the door itself says that it's no passcode."""
    token = running.tokens.get(who, "" if who == "nobody" else "x" * 43)
    before = running.book()
    assert len(running.writes()) > 20
    for path in running.writes():
        answer = running.press(path, token, passcode="guessed at")
        assert is_strict(answer)
        assert answer.status == (403 if path == "/sign-in" else 401), path
        assert not PRIVATE.search(answer.body), path
        assert "door=" not in "".join(answer.cookies)
    assert running.book() == before


def test_leave_to_look_reads_all_and_writes_nothing(running: Running) -> None:
    """Every page, and no press but the one that ends its own leave."""
    before = running.book()
    for path in running.reads():
        answer = running.ask("GET", path, running.tokens["looker"], headers=PAGE)
        assert is_strict(answer)
        # The last ones want to know more before they answer.
        unsaid = path in ("/layups/1/review/1", "/api/mix", "/api/plan", "/api/history")
        assert answer.status in ((404,) if unsaid else (200, 204)), path
    for path in running.writes():
        if path not in ("/sign-in", "/sign-out"):
            answer = running.press(path, running.tokens["looker"])
            assert (is_strict(answer), answer.status) == (True, 403), path
            assert "leave to look, not to write" in answer.body
    assert running.book() == before
    left = running.press("/sign-out", running.tokens["leaver"])
    assert (left.status, left.headers["location"]) == (303, "/sign-in")
    assert "Max-Age=0" in "".join(left.cookies)
    assert running.ask("GET", "/", running.tokens["leaver"], headers=PAGE).status == 303
    assert running.ask("GET", "/", running.tokens["looker"], headers=PAGE).status == 200


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        f"{THERE}.evil.example",
        f"me@{THERE}",
        "0.0.0.0",
        "[::]",
        "shed",
        f"{THERE}/",
    ],
)
def test_another_host_name_is_refused(running: Running, host: str) -> None:
    """With a writer's token, seal and all: a name made to point here opens nothing."""
    before = running.book()
    for path in running.reads():
        answer = running.ask("GET", path, running.tokens["writer"], host=host)
        assert (is_strict(answer), answer.status) == (True, 400), path
        assert answer.cookies == ()
        assert not PRIVATE.search(answer.body)
    for path in running.writes():
        assert running.press(path, running.tokens["writer"], host=host).status == 400, path
    assert running.book() == before


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Origin": "http://evil.example"},
        {"Origin": f"http://{THERE}:9"},
        {"Sec-Fetch-Site": "cross-site", "Origin": f"http://{THERE}"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "none"},
    ],
)
def test_another_site_s_page_writes_nothing(running: Running, headers: dict[str, str]) -> None:
    """Even if the browser sent a writer's cookies along, and the page knew the seal."""
    before = running.book()
    for path in running.writes():
        answer = running.press(path, running.tokens["writer"], headers=headers, passcode=WRITE)
        assert (is_strict(answer), answer.status) == (True, 403), path
        assert answer.cookies == ()
    assert running.book() == before


@pytest.mark.parametrize(
    ("brought", "field"), [("", None), (None, ""), ("", ""), ("x" * 43, None), (None, "x" * 43)]
)
def test_without_the_seal_nothing_is_written(
    running: Running, brought: str | None, field: str | None
) -> None:
    """Missing or wrong in the cookie, or in the form; also where the origin is `null`."""
    before = running.book()
    for path in running.writes():
        for headers in (None, {"Origin": "null"}):
            answer = running.press(
                path,
                running.tokens["writer"],
                brought=brought,
                field=field,
                headers=headers,
                passcode=WRITE,
            )
            assert is_strict(answer)
            if path == "/sign-in" and brought == "":
                # Says that cookies are refused; lets nobody in.
                assert (answer.status, answer.cookies) == (303, ())
                continue
            assert answer.status == 403, path
            assert "door=" not in "".join(answer.cookies)
    assert running.book() == before


@pytest.mark.parametrize(
    "path",
    [
        *("//", "//layups/1", "/./layups/1", "/sign-in/../layups/1", "/alive/../api/now"),
        *("/static/../api/now", "/static/..%2fapi/now", "/static/x/..%2f..%2fshop.toml"),
        *("/static/%2e%2e/layupwatch.db", "/static/x/%2fetc%2fpasswd", "/static//etc/passwd"),
        *("/sign-in/", "/sign-in%2f..%2flog", "/sign-inside", "/alive%00/layups/1", "/alive/"),
        *("/LAYUPS/1", "/layups/1/", "/layups/1;x", "/layups/%31", "/%6cog", "/log%20", "/log\\"),
        *("/api/now?x=/sign-in", "/api//now", "http://evil.example/log", "*", "/layups/1%0d%0aX:1"),
        *("", "/log HTTP/1.1 /x", "/log\x00", "/log\x7f", "/log?\xe9"),
    ],
)
def test_no_way_round_the_door(running: Running, path: str) -> None:
    """However an address is written, it gives nothing away to who isn't signed in."""
    lines = f"GET {path} HTTP/1.1\r\nHost: {THERE}\r\nAccept: text/html\r\nConnection: close\r\n"
    with socket.create_connection(("127.0.0.1", running.port), 30, ("127.9.0.1", 0)) as asked:
        asked.sendall(lines.encode("latin-1") + b"\r\n")
        told = b"".join(iter(lambda: asked.recv(65_536), b"")).decode()
    head, _, body = told.partition("\r\n\r\n")
    assert head.split()[1] in ("303", "307", "401", "404", "400"), head
    assert not PRIVATE.search(body)
    assert "root:" not in told
    assert "\r\nX:" not in head
    for name, value in HEADERS.items():
        assert f"\r\n{name.lower()}: {value}\r\n" in head.lower().replace(value.lower(), value), (
            name
        )


def test_another_s_word_of_who_asks_is_not_taken(running: Running) -> None:
    """No header makes a machine on the network the one that the shop lies on."""
    for name in ("X-Forwarded-For", "Forwarded", "X-Real-IP", "Client-IP", "X-Client-IP"):
        said = "for=127.0.0.1" if name == "Forwarded" else "127.0.0.1"
        headers = {"Accept": "*/*", name: said, "X-Forwarded-Host": "localhost"}
        assert running.ask("GET", "/api/now", headers=headers).status == 401


def test_nobody_guesses_for_long(running: Running) -> None:
    """Five wrong ones and that machine waits, right passcode or not; the door stays strict."""
    machine = ("127.200.0.1", 0)

    def guess(passcode: str) -> Answer:
        connection = http.client.HTTPConnection("127.0.0.1", running.port, 30, machine)
        with closing(connection):
            connection.request(
                "POST",
                "/sign-in",
                urlencode({"seal": running.seal[1], "passcode": passcode}),
                {
                    "Host": THERE,
                    "Origin": f"http://{THERE}",
                    "Cookie": "=".join(running.seal),
                    "Content-Type": "application/x-www-form-urlencoded",
                },
            )
            answer = connection.getresponse()
            told = {name.lower(): value for name, value in answer.headers.items()}
            cookies = answer.headers.get_all("Set-Cookie") or []
            return Answer(answer.status, told, tuple(cookies), answer.read().decode())

    statuses = [guess(f"wrong {n}").status for n in range(5)]
    assert statuses == [403] * 5
    waiting = guess(WRITE)
    assert (is_strict(waiting), waiting.status) == (True, 429)
    assert int(waiting.headers["retry-after"]) > 500
    assert waiting.cookies == ()


def test_who_has_everything_is_let_in(running: Running) -> None:
    """So what was refused above was refused for what was wrong with it, and for nothing else."""
    entered = running.press("/sign-in", passcode=WRITE, next="/layups/3")
    assert (is_strict(entered), entered.status) == (True, 303)
    (cookie,) = entered.cookies
    assert re.match(r"door=[\w-]{40,};", cookie)
    token = cookie.partition(";")[0].partition("=")[2]
    for path in running.writes():
        if path in ("/sign-in", "/sign-out"):
            continue
        answer = running.press(path, token)
        assert is_strict(answer)
        assert answer.status in (200, 201, 303, 400, 404), (path, answer)
    assert running.press("/sign-out", token).status == 303
