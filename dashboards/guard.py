"""Who may ask, and what every answer carries: host names, same origin, the seal, headers."""

import asyncio
import hashlib
import hmac
from collections.abc import Mapping
from urllib.parse import parse_qs, urlsplit

import orjson
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK_NAMES = frozenset({"127.0.0.1", "localhost", "::1"})

HEADERS = {
    # plotly writes inline styles; without 'unsafe-inline' for them its layers fall apart.
    "Content-Security-Policy": (
        "default-src 'self'; script-src 'self'; style-src 'self' 'unsafe-inline'; "
        "img-src 'self' data: blob:; connect-src 'self'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
}

LARGEST_BODY = 64 * 1024
"""Bytes of a form. The longest of ours, a whole sheet, takes a tenth of it."""

BODY_WITHIN_S = 20.0

DOOR = "/sign-in"
COOKIES_REFUSED = "cookies=refused"

SEAL_FIELD = "seal"
SEAL_HEADER = "x-seal"

READS = frozenset({"GET", "HEAD", "OPTIONS"})


class Guard:
    """Refuses a foreign host name and a write that no page of this shop sent; adds the headers.

    `seal` is the shop's own word. It goes out in a cookie that other sites can't have sent, and
    every write must bring it back twice: in the cookie, and in the form or a header.
    """

    def __init__(self, app: ASGIApp, seal: str, names: frozenset[str] = LOOPBACK_NAMES) -> None:
        self._app, self._seal, self._names = app, seal, names
        # Cookies know no ports: two shops on one machine each have a name of their own.
        self._cookie = f"seal-{hashlib.sha256(seal.encode()).hexdigest()[:8]}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        brought = cookie_parser(headers.get("cookie", "")).get(self._cookie, "")

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                answer = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    answer[name] = value
                answer.setdefault("Cache-Control", "no-cache")
                if brought != self._seal and scope["method"] == "GET" and _is_page(answer):
                    answer.append(
                        "Set-Cookie",
                        f"{self._cookie}={self._seal}; Path=/; HttpOnly; SameSite=Strict"
                        + ("; Secure" if scope.get("scheme") == "https" else ""),
                    )
            await send(message)

        refusal: Response | None = self._refusal(scope, headers)
        if refusal is None and scope["method"] not in READS:
            try:
                async with asyncio.timeout(BODY_WITHIN_S):
                    body = await _body(receive, headers)
            except TimeoutError:
                slow = _refused(408, "The form took too long to come.", "Send it again.")
                await slow(scope, receive, send_with_headers)
                return
            refusal = self._write_refusal(body, headers, brought)
            if refusal is not None and scope["path"] == DOOR and not brought:
                # Nobody signs in without cookies; the page there says so.
                refusal = RedirectResponse(f"{DOOR}?{COOKIES_REFUSED}", 303)
            receive = _replayed(body or b"", receive)
        await (refusal or self._app)(scope, receive, send_with_headers)

    def _refusal(self, scope: Scope, headers: Headers) -> PlainTextResponse | None:
        host = headers.get("host", "")
        if name_of(host) not in self._names:
            return _refused(
                400,
                "These pages don't answer to that host name.",
                "Ask by the address that was printed when they started.",
            )
        if scope["method"] not in READS and not _same_origin(headers, host):
            return _refused(
                403,
                "This was not sent from one of these pages.",
                "Open the page and press it there.",
            )
        return None

    def _write_refusal(
        self, body: bytes | None, headers: Headers, brought: str
    ) -> PlainTextResponse | None:
        if body is None:
            return _refused(
                413, "That is more than a form of these pages holds.", "Send 64 kB at most."
            )
        given = headers.get(SEAL_HEADER) or _field(body, headers)
        if not (_same(brought, self._seal) and _same(given, self._seal)):
            return _refused(
                403,
                "This page is from before, or its cookie was refused; nothing was written.",
                "Load the page again and press once more. Cookies must be allowed for it.",
            )
        return None


def _refused(status: int, what: str, remedy: str) -> PlainTextResponse:
    return PlainTextResponse(f"{what}\n{remedy}\n", status)


def _same(given: str, wanted: str) -> bool:
    return hmac.compare_digest(given.encode(), wanted.encode())


def _is_page(headers: Mapping[str, str]) -> bool:
    """A page or an answer as JSON; not a file that is kept for good, nor a stream."""
    return headers.get("content-type", "").startswith(("text/html", "application/json"))


async def _body(receive: Receive, headers: Headers) -> bytes | None:
    """The whole of it. None: it is too long."""
    told = headers.get("content-length", "0")
    if not told.isdigit() or len(told) > 9 or int(told) > LARGEST_BODY:
        return None
    body = b""
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return body
        body += bytes(message.get("body", b""))
        if len(body) > LARGEST_BODY:
            return None
        if not message.get("more_body", False):
            return body


def _replayed(body: bytes, receive: Receive) -> Receive:
    """Hands on what was read; after it, whatever really comes."""
    left = [body]

    async def again() -> Message:
        if left:
            return {"type": "http.request", "body": left.pop(), "more_body": False}
        return await receive()

    return again


def _field(body: bytes, headers: Headers) -> str:
    """The seal in a form or in a JSON object; empty where there is none."""
    kind = headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind == "application/json":
        try:
            told = orjson.loads(body)
        except orjson.JSONDecodeError:
            return ""
        value = told.get(SEAL_FIELD) if isinstance(told, dict) else None
        return value if isinstance(value, str) else ""
    try:
        fields = parse_qs(body.decode("utf-8"), max_num_fields=200)
    except ValueError:
        return ""
    return fields.get(SEAL_FIELD, [""])[0]


def name_of(host: str) -> str | None:
    """The name in a Host header, without its port. None: it is no host."""
    try:
        parts = urlsplit(f"//{host}")
        parts.port  # noqa: B018 (reading it is what checks it)
    except ValueError:
        return None
    return parts.hostname if host and parts.netloc == host and "@" not in host else None


def _same_origin(headers: Headers, host: str) -> bool:
    """Whether one of these pages sent it, as far as the browser says.

    By plain http from another machine it says next to nothing: a form of a page without referrer
    sends Origin: null, and no Sec-Fetch-Site. Then the seal alone decides, whose cookie no other
    site's page can have sent.
    """
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site == "same-origin"
    origin = headers.get("origin")
    if origin == "null":
        return name_of(host) not in LOOPBACK_NAMES
    return origin in (f"http://{host}", f"https://{host}")
