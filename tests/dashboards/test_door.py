"""Phones on the network: who is let in, for what, and how it is taken back."""

import asyncio
import http.client
import re
import ssl
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
import trustme
from starlette.applications import Starlette

from dashboards.app import build_app
from dashboards.door import within
from dashboards.guard import LOOPBACK_NAMES
from dashboards.serve import WebServer
from monitor.errors import BadInput, HostError
from monitor.records import Leave
from monitor.store import doorbook
from monitor.store.doorbook import FORGOTTEN, made_up
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import NOW, Clock
from tests.dashboards.test_pages import text_of
from tests.scenarios.shop import ShopAtHand

WRITE, LOOK = "tide table nine", "looking only 77"
HERE = "http://shed.local:8417"
PAGE = {"Accept": "text/html"}


@dataclass
class Phone:
    """A browser on another machine, with its cookies."""

    app: Starlette
    address: str = "192.168.1.50"
    at: str = HERE
    cookies: dict[str, str] = field(default_factory=dict)

    def ask(self, method: str, path: str, **given: Any) -> httpx.Response:
        headers = {**PAGE, "Origin": self.at, **given.pop("headers", {})}
        if self.cookies:
            headers["Cookie"] = "; ".join(f"{k}={v}" for k, v in self.cookies.items())

        async def once() -> httpx.Response:
            wire = httpx.ASGITransport(self.app, client=(self.address, 40_000))
            async with httpx.AsyncClient(transport=wire, base_url=self.at) as client:
                return await client.request(method, path, headers=headers, **given)

        answer = asyncio.run(once())
        self.cookies |= dict(answer.cookies)
        return answer

    def get(self, path: str, **given: Any) -> httpx.Response:
        return self.ask("GET", path, **given)

    def post(self, path: str, **fields: str) -> httpx.Response:
        """As a form of a page that was loaded before."""
        page = self.get("/sign-in").text
        seal = re.search(r'name="seal" value="([^"]+)"', page)
        assert seal is not None
        return self.ask("POST", path, data={"seal": seal[1], **fields})

    def sign_in(self, passcode: str, there: str = "/") -> httpx.Response:
        return self.post("/sign-in", passcode=passcode, next=there)


@pytest.fixture
def phone(
    filled: ShopAtHand, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Phone]:
    # What a guess costs is not what these tests are about; they would take a minute of it.
    monkeypatch.setattr(doorbook, "COST", 16)
    filled.store.door.set_passcode(Leave.WRITE, WRITE, NOW)
    filled.store.door.set_passcode(Leave.LOOK, LOOK, NOW)
    names = LOOPBACK_NAMES | {"shed.local"}
    app = build_app(filled.store, filled.shop, clock=clock, names=names, door=True)
    return lambda **given: Phone(app, **given)


def test_nobody_is_let_in_unasked(phone: Callable[..., Phone]) -> None:
    """A page leads to the door and back; everything else is refused in two lines."""
    asked = phone().get("/layups/3?x=1")
    assert asked.status_code == 303
    assert asked.headers["location"] == "/sign-in?next=/layups/3%3Fx%3D1"
    for path in ("/api/now", "/layups/3/charts.json", "/events", "/layups/3/record"):
        refused = phone().get(path, headers={"Accept": "*/*"})
        assert refused.status_code == 401
        assert len(refused.text.splitlines()) == 2
    assert phone().post("/layups/3/marks", kind="kicked").status_code == 401


def test_the_door_itself_is_open(phone: Callable[..., Phone]) -> None:
    """Its page, what that page is drawn with, and the sign of life."""
    door = phone().get("/sign-in")
    assert door.status_code == 200
    assert "Passcode" in door.text
    (sheet, *_) = re.findall(r'href="(/static/[^"]+\.css)"', door.text)
    assert phone().get(sheet).status_code == 200
    assert phone().get("/alive").status_code == 204


def test_the_right_passcode_lets_in(phone: Callable[..., Phone]) -> None:
    """Once; spaces don't matter; the phone goes on to where it wanted to go."""
    one = phone()
    answer = one.sign_in(" tide  table nine", "/layups/3")
    assert (answer.status_code, answer.headers["location"]) == (303, "/layups/3")
    cookie = answer.headers["set-cookie"]
    assert re.search(r"^door=[\w-]{40,}", cookie)
    for word in ("HttpOnly", "Path=/", "SameSite=strict", f"Max-Age={60 * 86_400}"):
        assert word in cookie
    assert one.get("/layups/3").status_code == 200
    assert one.get("/api/now").status_code == 200


def test_a_token_of_its_own_each_time(phone: Callable[..., Phone]) -> None:
    """Two phones, two tokens; a made-up one is nobody's."""
    first, second = phone(), phone()
    first.sign_in(WRITE)
    second.sign_in(WRITE)
    assert first.cookies["door"] != second.cookies["door"]
    first.cookies["door"] = "x" * 43
    assert first.get("/").status_code == 303


def test_a_wrong_passcode_says_so(phone: Callable[..., Phone]) -> None:
    """And what to do; no cookie."""
    answer = phone().sign_in("tide table ten")
    assert answer.status_code == 403
    assert "That is not the passcode." in answer.text
    assert "door=" not in answer.headers.get("set-cookie", "")


def test_nobody_guesses_long(phone: Callable[..., Phone], clock: Clock) -> None:
    """Five wrong ones and a machine waits, even with the right one; others don't."""
    one = phone()
    for _ in range(5):
        assert one.sign_in("wrong one").status_code == 403
    waiting = one.sign_in(WRITE)
    assert waiting.status_code == 429
    assert waiting.headers["retry-after"] == "600"
    assert "Try again in 10 min" in waiting.text
    assert phone(address="192.168.1.51").sign_in(WRITE).status_code == 303
    clock.now += timedelta(minutes=10, seconds=1)
    assert one.sign_in(WRITE).status_code == 303


def test_many_machines_guess_no_longer(phone: Callable[..., Phone], clock: Clock) -> None:
    """Forty wrong ones from wherever, and everybody waits a little."""
    for n in range(8):
        for _ in range(5):
            phone(address=f"192.168.2.{n}").sign_in("wrong one")
    assert phone(address="192.168.3.1").sign_in(WRITE).status_code == 429
    clock.now += timedelta(minutes=11)
    assert phone(address="192.168.3.1").sign_in(WRITE).status_code == 303


def test_leave_to_look_is_not_leave_to_write(phone: Callable[..., Phone]) -> None:
    """Every page, and no press; it may sign itself out."""
    one = phone()
    one.sign_in(LOOK)
    assert one.get("/layups/3").status_code == 200
    pressed = one.post("/layups/3/marks", kind="kicked")
    assert pressed.status_code == 403
    assert "leave to look, not to write" in pressed.text
    assert one.post("/sign-out").status_code == 303
    assert one.get("/").status_code == 303


def test_a_sign_in_is_taken_back(phone: Callable[..., Phone], filled: ShopAtHand) -> None:
    """From the page of phones, by another phone that may write; at once."""
    lost, mine = phone(), phone(address="192.168.1.51")
    lost.sign_in(WRITE)
    mine.sign_in(WRITE)
    listed = mine.get("/phones").text
    assert listed.count("may write") == 2
    assert listed.count("(this one)") == 1
    (number,) = re.findall(r"/phones/(\d+)/sign-out", listed)
    assert mine.post(f"/phones/{number}/sign-out").status_code == 303
    assert lost.get("/").status_code == 303
    assert mine.get("/").status_code == 200
    assert len(filled.store.door.sign_ins()) == 1


def test_a_looker_sees_its_own_phone_alone(phone: Callable[..., Phone]) -> None:
    """What others use is not its business, and it can turn nobody out."""
    writer, looker = phone(), phone(address="192.168.1.51")
    writer.sign_in(WRITE)
    looker.sign_in(LOOK)
    listed = looker.get("/phones").text
    assert "may look" in listed
    assert "may write" not in listed
    assert looker.post("/phones/1/sign-out").status_code == 403


def test_a_new_passcode_turns_out_the_old(phone: Callable[..., Phone], filled: ShopAtHand) -> None:
    """Whoever came in with the old one signs in again; the other leave isn't touched."""
    writer, looker = phone(), phone()
    writer.sign_in(WRITE)
    looker.sign_in(LOOK)
    filled.store.door.set_passcode(Leave.WRITE, "another one", NOW)
    assert writer.get("/").status_code == 303
    assert looker.get("/").status_code == 200
    assert writer.sign_in(WRITE).status_code == 403


def test_a_phone_long_unseen_is_forgotten(phone: Callable[..., Phone], clock: Clock) -> None:
    """Two months without a look; a look every month keeps it in."""
    one = phone()
    one.sign_in(WRITE)
    for _ in range(4):
        clock.now += FORGOTTEN / 2
        assert one.get("/").status_code == 200
    clock.now += FORGOTTEN + timedelta(minutes=11)
    assert one.get("/").status_code == 303


def test_at_the_machine_itself_nobody_is_asked(phone: Callable[..., Phone]) -> None:
    """By its own address and its own name; one of the two is not enough."""
    assert phone(address="127.0.0.1", at="http://localhost:8417").get("/").status_code == 200
    assert phone(address="127.0.0.1").get("/").status_code == 303
    assert phone(at="http://127.0.0.1:8417").get("/").status_code == 303


@pytest.mark.parametrize(
    "there",
    ["//evil.example", "/\\evil.example", "https://evil.example", "evil", "", "/a\\b", "/\r\nX: y"],
)
def test_nobody_is_led_elsewhere(there: str) -> None:
    """After signing in only to a page of these."""
    assert within(there) == "/"
    assert within("/layups/3?day=2") == "/layups/3?day=2"


def test_neither_passcode_nor_token_is_kept(
    phone: Callable[..., Phone], filled: ShopAtHand
) -> None:
    """The file holds a salted scrypt and a hash: neither opens anything."""
    one = phone()
    one.sign_in(WRITE)
    assert isinstance(filled.shop.database, Path)
    files = filled.shop.folder.glob(f"{filled.shop.database.name}*")
    stored = b"".join(file.read_bytes() for file in files)
    for secret in (WRITE, WRITE.replace(" ", ""), one.cookies["door"]):
        assert secret.encode() not in stored


@pytest.mark.parametrize("passcode", ["", "short", "x" * 201])
def test_a_passcode_of_the_wrong_length(filled: ShopAtHand, passcode: str) -> None:
    """Two lines, and nothing is set."""
    with pytest.raises(BadInput):
        filled.store.door.set_passcode(Leave.WRITE, passcode, NOW)
    assert filled.store.door.given() == ()


def test_one_passcode_for_both_is_refused(filled: ShopAtHand) -> None:
    """It could not be told which of the two was meant."""
    filled.store.door.set_passcode(Leave.WRITE, WRITE, NOW)
    with pytest.raises(BadInput, match="in use"):
        filled.store.door.set_passcode(Leave.LOOK, WRITE, NOW)


def test_what_a_guess_costs() -> None:
    """scrypt with the published cost for one sign-in: N of 2^15 or more with r of 8.

    Source: C. Percival, RFC 7914 (the function); N = 2^14 for interactive logins is the 2009
    paper's figure, from memory, and machines have grown since.
    """
    assert doorbook.COST >= 2**15


def test_made_up_passcodes_differ() -> None:
    """Twelve digits, to be read out across a shed."""
    some = {made_up() for _ in range(20)}
    assert len(some) == 20
    assert all(re.fullmatch(r"\d{3} \d{3} \d{3} \d{3}", one) for one in some)


@pytest.fixture
def certificate(tmp_path: Path) -> tuple[Path, Path, Path]:
    """A certificate for localhost, its key, and who signed it."""
    authority = trustme.CA()
    issued = authority.issue_cert("localhost", "127.0.0.1")
    chain, key, signer = (tmp_path / name for name in ("chain.pem", "key.pem", "signer.pem"))
    issued.cert_chain_pems[0].write_to_path(str(chain))
    issued.private_key_pem.write_to_path(str(key))
    authority.cert_pem.write_to_path(str(signer))
    return chain, key, signer


@pytest.fixture
def over_tls(
    filled: ShopAtHand, clock: Clock, certificate: tuple[Path, Path, Path]
) -> Iterator[tuple[int, ssl.SSLContext]]:
    """A real server on a real socket, by its certificate."""
    filled.store.door.set_passcode(Leave.WRITE, WRITE, NOW)
    app = build_app(filled.store, filled.shop, clock=clock, door=True)
    server = WebServer(app, 0, tls=certificate[:2])
    address = server.start()
    assert address.startswith("https://127.0.0.1:")
    yield (
        int(address.rstrip("/").rpartition(":")[2]),
        ssl.create_default_context(cafile=str(certificate[2])),
    )
    server.stop()


def test_over_tls_the_cookies_are_the_hosts_own(over_tls: tuple[int, ssl.SSLContext]) -> None:
    """Served by the certificate of shop.toml; cookies never go out in the clear."""
    port, context = over_tls
    asked = http.client.HTTPSConnection("localhost", port, context=context, timeout=10)
    # A header can't make it another machine, nor this one: the connection says who asks.
    asked.request("GET", "/sign-in", headers={"X-Forwarded-For": "192.168.1.9", **PAGE})
    page = asked.getresponse()
    body = page.read().decode()
    seal = re.search(r'name="seal" value="([^"]+)"', body)
    assert seal is not None
    given = page.headers["Set-Cookie"]
    assert given.endswith("; Secure")
    asked.request(
        "POST",
        "/sign-in",
        f"seal={seal[1]}&passcode=tide+table+nine&next=/",
        {
            "Content-Type": "application/x-www-form-urlencoded",
            "Origin": f"https://localhost:{port}",
            "Cookie": given.partition(";")[0],
        },
    )
    answer = asked.getresponse()
    assert answer.status == 303
    assert re.match(r"__Host-door=[\w-]+; .*Secure", answer.headers["Set-Cookie"])
    asked.close()


def test_a_certificate_that_cannot_be_used(
    app: Starlette, tmp_path: Path, certificate: tuple[Path, Path, Path]
) -> None:
    """Missing, or no certificate at all: two lines before anything is served."""
    with pytest.raises(HostError, match="No such file"):
        WebServer(app, 0, tls=(tmp_path / "none.pem", certificate[1]))
    (tmp_path / "text.pem").write_text("not a certificate")
    with pytest.raises(HostError, match="can't be used"):
        WebServer(app, 0, tls=(tmp_path / "text.pem", certificate[1]))


def test_a_browser_that_keeps_no_cookie_is_told(phone: Callable[..., Phone]) -> None:
    """Back at the door, with what to do, instead of asking for the passcode for ever."""
    mine = phone()
    seal = re.search(r'name="seal" value="([^"]+)"', mine.get("/sign-in").text)
    assert seal is not None
    mine.cookies.clear()
    answer = mine.ask("POST", "/sign-in", data={"seal": seal[1], "passcode": WRITE})
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in?cookies=refused")
    page = text_of(mine.get(answer.headers["location"]).text)
    assert "This browser kept no cookie of these pages" in page


def test_the_phones_are_at_the_foot_where_there_is_a_door(
    phone: Callable[..., Phone], client: Asking
) -> None:
    """Nothing leads there on a machine alone, nor from the door itself."""
    mine = phone()
    assert "/phones" not in mine.get("/sign-in").text
    mine.sign_in(WRITE)
    assert 'href="/phones"' in mine.get("/").text
    assert "/phones" not in client.get("/").text
