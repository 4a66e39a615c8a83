"""Who may ask, and what every answer carries: host names, same origin, headers."""

from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
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

_READS = frozenset({"GET", "HEAD", "OPTIONS"})


class Guard:
    """Refuses a foreign host name and a write that another site started; adds the headers."""

    def __init__(self, app: ASGIApp, names: frozenset[str] = LOOPBACK_NAMES) -> None:
        self._app, self._names = app, names

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                headers.setdefault("Cache-Control", "no-cache")
            await send(message)

        app = self._refusal(scope) or self._app
        await app(scope, receive, send_with_headers)

    def _refusal(self, scope: Scope) -> PlainTextResponse | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if _name_of(host) not in self._names:
            return PlainTextResponse(
                "These pages don't answer to that host name.\nAsk by 127.0.0.1 or localhost.\n", 400
            )
        if scope["method"] not in _READS and not _same_origin(headers, host):
            return PlainTextResponse(
                "This was not sent from one of these pages.\nOpen the page and press it there.\n",
                403,
            )
        return None


def _name_of(host: str) -> str | None:
    """The name in a Host header, without its port. None: it is no host."""
    try:
        parts = urlsplit(f"//{host}")
        parts.port  # noqa: B018 (reading it is what checks it)
    except ValueError:
        return None
    return parts.hostname if host and parts.netloc == host and "@" not in host else None


def _same_origin(headers: Headers, host: str) -> bool:
    """Whether one of these pages sent it. A form of a page without referrer sends Origin: null."""
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site == "same-origin"
    return headers.get("origin") in (f"http://{host}", f"https://{host}")
