"""Who is answered, what every answer carries, and what may be kept for good."""

import gzip
import hashlib
import subprocess
import sys
from pathlib import Path

import pytest

from dashboards import assets
from dashboards.app import build_app
from dashboards.guard import Guard
from tests.dashboards.asking import ORIGIN, Asking

POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; connect-src 'self'; frame-ancestors 'none'"
)


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/layups/1",
        "/layups/1/charts.json",
        "/layups/99",
        "/api/now",
        "/nowhere",
        "/static/x/y",
    ],
)
def test_every_answer_carries_the_headers(client: Asking, path: str) -> None:
    """Pages, JSON, charts and refusals alike."""
    headers = client.get(path).headers
    assert headers["content-security-policy"] == POLICY
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cache-control"] == "no-cache"


@pytest.mark.parametrize(
    "host", ["127.0.0.1", "127.0.0.1:8417", "localhost", "LOCALHOST:1", "[::1]", "[::1]:8417"]
)
def test_loopback_names_are_answered(client: Asking, host: str) -> None:
    """With any port or none."""
    assert client.get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        *("example.org", "127.0.0.1.example.org", "localhost.example.org:8417", "0.0.0.0", ""),
        *("me@localhost", "localhost/x", "[::1", "127.0.0.1:port", "[::2]", "127.0.0.2"),
    ],
)
def test_other_names_are_refused(client: Asking, host: str) -> None:
    """A page of another site whose name was made to point here gets nothing."""
    answer = client.get("/", headers={"Host": host})
    assert answer.status_code == 400
    assert "part 1" not in answer.text
    assert answer.headers["content-security-policy"] == POLICY


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "same-origin"},
        {"Sec-Fetch-Site": "same-origin", "Origin": "null"},
        {"Origin": ORIGIN},
    ],
)
def test_a_page_of_ours_may_write(client: Asking, headers: dict[str, str]) -> None:
    """Also a plain form of a page without a referrer, whose origin is `null`."""
    name, value = client.seal()
    carried = {"Cookie": f"{name}={value}"} | headers
    answer = client.ask("POST", "/alerts/1/seen", headers=carried, data={"seal": value})
    assert answer.status_code == 303


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Origin": "null"},
        {"Origin": "http://example.org"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Sec-Fetch-Site": "cross-site", "Origin": ORIGIN},
        {"Sec-Fetch-Site": "same-site", "Origin": ORIGIN},
        {"Sec-Fetch-Site": "none"},
    ],
)
def test_no_other_site_may_write(client: Asking, filled, headers: dict[str, str]) -> None:
    """A form on somebody else's page changes nothing here, even if it knew the seal."""
    name, value = client.seal()
    carried = {"Cookie": f"{name}={value}", "X-Seal": value} | headers
    assert client.ask("POST", "/alerts/1/seen", headers=carried).status_code == 403
    assert [alert.seen_at for alert in filled.store.alerts.open()] == [None]


@pytest.mark.parametrize(
    ("cookie", "field"),
    [("right", ""), ("", "right"), ("right", "wrong"), ("wrong", "right"), ("wrong", "wrong")],
)
def test_a_write_brings_the_seal_back_twice(
    client: Asking, filled, cookie: str, field: str
) -> None:
    """In its cookie and in its form; one of them alone writes nothing."""
    name, value = client.seal()
    told = {"right": value, "wrong": "x" * len(value), "": ""}
    headers = {"Origin": ORIGIN, "Cookie": f"{name}={told[cookie]}"}
    for given in ({"data": {"seal": told[field]}}, {"json": {"seal": told[field]}}):
        answer = client.ask("POST", "/alerts/1/seen", headers=headers, **given)
        assert answer.status_code == 403
        assert len(answer.text.splitlines()) == 2
    assert [alert.seen_at for alert in filled.store.alerts.open()] == [None]


def test_the_seal_is_the_shop_s_own_and_stays(client: Asking, filled, clock) -> None:
    """A cookie that other sites can't send or read; the same after a restart."""
    cookie = client.get("/log").headers["set-cookie"]
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(cookie.split("; "))
    again = Asking(build_app(filled.store, filled.shop, clock=clock))
    assert again.seal() == client.seal()
    assert (filled.shop.folder / "form-seal").stat().st_mode & 0o777 == 0o600
    name, value = client.seal()
    known = client.get("/log", headers={"Cookie": f"{name}={value}"})
    assert "set-cookie" not in known.headers


@pytest.mark.parametrize("body", [b"\xff\xfe", b"[1]", b"{", b"seal=%ff&" * 300])
def test_a_body_that_can_t_be_read_is_refused(client: Asking, body: bytes) -> None:
    """Whatever its kind says it is."""
    name, value = client.seal()
    for kind in ("application/json", "application/x-www-form-urlencoded", "text/plain"):
        headers = {"Origin": ORIGIN, "Cookie": f"{name}={value}", "Content-Type": kind}
        answer = client.ask("POST", "/alerts/1/seen", headers=headers, content=body)
        assert answer.status_code == 403


def test_a_body_has_an_end(client: Asking) -> None:
    """64 kB and no more, told beforehand or not."""
    assert client.post("/layups/1/marks", data={"note": "x" * 70_000}).status_code == 413

    async def endless():
        for _ in range(80):
            yield b"x" * 1000

    assert client.post("/layups/1/marks", content=endless()).status_code == 413
    lying = {"Content-Length": "9" * 30}
    assert client.post("/layups/1/marks", content=b"x", headers=lying).status_code == 413


def test_other_names_can_be_allowed(client: Asking) -> None:
    """The names are the guard's argument: a shop on a local network gives its own."""
    names = frozenset({"shed.local"})

    async def says_yes(scope, receive, send) -> None:
        await send({"type": "http.response.start", "status": 204, "headers": []})
        await send({"type": "http.response.body", "body": b""})

    asking = Asking(Guard(says_yes, "word", names))
    assert asking.get("/", headers={"Host": "shed.local:80"}).status_code == 204
    assert asking.get("/", headers={"Host": "127.0.0.1"}).status_code == 400


@pytest.mark.parametrize("name", [*assets.OWN, assets.PLOTLY])
def test_files_have_addresses_that_never_change(client: Asking, name: str) -> None:
    """Kept for good under an address with a stamp of the content in it, packed or plain."""
    address = assets.address(name)
    packed = client.get(address)
    assert packed.status_code == 200
    assert packed.headers["cache-control"] == "public, max-age=31536000, immutable"
    assert packed.headers["content-encoding"] == "gzip"
    assert packed.headers["content-type"].startswith(("text/css", "text/javascript"))
    plain = client.get(address, headers={"Accept-Encoding": "identity"})
    assert "content-encoding" not in plain.headers
    assert plain.content == packed.content


def test_the_plotting_library_is_the_published_one() -> None:
    """Byte for byte the bundle in the package plotly.js-basic-dist-min 4.1.1, licence beside it.

    The sum is that of the file in the package as published, taken with sha256sum.
    """
    folder = Path(assets.__file__).with_name("static")
    body = (folder / assets.PLOTLY).read_bytes()
    assert body.startswith(b"/**\n* plotly.js (basic - minified) v4.1.1\n")
    assert hashlib.sha256(body).hexdigest() == (
        "99784e3abfb07b142a15e521a439e6d9addceadb3f79553fd24c72774f0649ba"
    )
    assert "MIT License" in (folder / "plotly-basic.LICENSE.txt").read_text("utf-8")
    found = assets.find(assets.stamp(assets.PLOTLY), assets.PLOTLY)
    assert found is not None
    assert gzip.decompress(found.gzipped) == body
    assert len(found.gzipped) < 400_000


def test_a_page_names_no_other_host(client: Asking) -> None:
    """All addresses on a page are of this server."""
    for path in ("/", "/layups/1", "/layups/77"):
        page = client.get(path).text
        assert "http" not in page.replace("http-equiv", "")
        assert "//" not in page.replace("<!doctype", "")


def test_importing_the_app_is_light() -> None:
    """No plotting library of Python's, and no pandas."""
    check = (
        "import sys, dashboards.app, dashboards.serve; "
        "sys.exit(bool({'plotly', 'pandas'} & set(sys.modules)))"
    )
    subprocess.run([sys.executable, "-c", check], check=True, cwd=Path(__file__).parents[2])
