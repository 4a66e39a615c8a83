"""Asks an app as a browser on the same machine would, without a port between."""

import asyncio
from typing import Any

import httpx
from starlette.types import ASGIApp

ORIGIN = "http://127.0.0.1:8417"


class Asking:
    """One question at a time; follows no redirect."""

    def __init__(self, app: ASGIApp, *, raise_faults: bool = True) -> None:
        self._app, self._raise = app, raise_faults
        self._seal: tuple[str, str] | None = None

    def get(self, path: str, **given: Any) -> httpx.Response:
        return self.ask("GET", path, **given)

    def post(self, path: str, *, sealed: bool = True, **given: Any) -> httpx.Response:
        """As a form of a page that was loaded before: with the seal in its cookie and a header."""
        if sealed:
            name, value = self.seal()
            own = {"Cookie": f"{name}={value}", "X-Seal": value, "Origin": ORIGIN}
            given["headers"] = own | dict(given.get("headers", {}))
        return self.ask("POST", path, **given)

    def seal(self) -> tuple[str, str]:
        """The name and the word of the cookie that a page brings."""
        if self._seal is None:
            ((name, value),) = self.get("/log").cookies.items()
            self._seal = name, value
        return self._seal

    def ask(self, method: str, path: str, **given: Any) -> httpx.Response:
        async def once() -> httpx.Response:
            wire = httpx.ASGITransport(self._app, raise_app_exceptions=self._raise)
            async with httpx.AsyncClient(transport=wire, base_url=ORIGIN) as client:
                return await client.request(method, path, **given)

        return asyncio.run(once())
