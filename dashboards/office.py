"""What the pages that ask and write share: the shop, the request as plain text, and the answer."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, tzinfo
from functools import cached_property
from typing import Any
from urllib.parse import parse_qsl

import orjson
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from dashboards.guard import SEAL_FIELD
from dashboards.paper import Paper
from monitor.answers.past_kept import PastCups
from monitor.config import Shop
from monitor.errors import BadInput
from monitor.logbook import Logbook
from monitor.overview import Desk
from monitor.sheets import Shelf
from monitor.store import Store
from monitor.times import parse_instant
from monitor.units import Unit


@dataclass(frozen=True)
class Asked:
    """A request, its parts as text. `form` is empty for a question."""

    now: datetime
    path: Mapping[str, Any] = field(default_factory=dict)
    query: Mapping[str, str] = field(default_factory=dict)
    form: Mapping[str, str] = field(default_factory=dict)

    @property
    def typed(self) -> "Typed":
        return Typed(self.form or self.query)


@dataclass(frozen=True)
class Typed:
    """What somebody typed, field by field. A blank is None."""

    fields: Mapping[str, str]

    def text(self, name: str) -> str | None:
        return self.fields.get(name, "").strip() or None

    def wanted(self, name: str, words: str) -> str:
        told = self.text(name)
        if told is None:
            raise BadInput(f"{words} is missing.", "Fill it in, and send it again.")
        return told

    def number(self, name: str, words: str) -> float | None:
        """A number with a point or a comma in it. Raises BadInput, naming the field in words."""
        told = self.text(name)
        if told is None:
            return None
        try:
            figure = float(told.replace(",", "."))
        except ValueError:
            figure = math.nan
        if not math.isfinite(figure):
            raise BadInput(f"{told!r} is not a number.", f"Type {words} in digits.")
        return figure

    def whole(self, name: str, words: str) -> int | None:
        told = self.text(name)
        if told is None:
            return None
        if not (told.isascii() and told.isdigit() and len(told) < 7):
            raise BadInput(f"{told!r} is not a whole number.", f"Type {words} as 1, 2, 3 …")
        return int(told)

    def ticked(self, name: str) -> bool:
        return self.text(name) in ("yes", "on", "true")


@dataclass(frozen=True)
class Office:
    """One shop, for whoever answers."""

    store: Store
    shop: Shop
    paper: Paper
    clock: Callable[[], datetime]
    desk: Desk | None = None

    @property
    def zone(self) -> tzinfo:
        return self.shop.zone

    @property
    def unit(self) -> Unit:
        return self.shop.unit

    @property
    def shelf(self) -> Shelf:
        return Shelf(self.shop.folder, self.shop.demo)

    @property
    def book(self) -> Logbook:
        return Logbook(self.store, self.shelf)

    @cached_property
    def past(self) -> PastCups:
        return PastCups(self.store)

    def moment(self, text: str | None, now: datetime) -> datetime:
        """A time as people type it, in the shop's zone; now where it was left blank."""
        return now if text is None else parse_instant(text, now=now, zone=self.zone)

    def page(self, template: str, now: datetime, *, status: int = 200, **parts: object) -> Response:
        return HTMLResponse(self.paper.written(template, now, **parts), status)

    def route(self, path: str, answer: Callable[[Asked], Response], method: str = "GET") -> Route:
        """An address and what answers it, in a thread of its own."""

        async def endpoint(request: Request) -> Response:
            form = _form(await request.body(), request.headers.get("content-type", ""))
            asked = Asked(self.clock(), request.path_params, dict(request.query_params), form)
            return await run_in_threadpool(answer, asked)

        return Route(path, endpoint, methods=[method], name=f"{method} {path}")


def _form(body: bytes, content_type: str) -> dict[str, str]:
    """A form's fields, or those of a JSON object; the seal was looked at before."""
    if not body:
        return {}
    if content_type.startswith("application/json"):
        try:
            told = orjson.loads(body)
        except orjson.JSONDecodeError:
            raise BadInput("That is not JSON.", "Send an object of names and values.") from None
        if not isinstance(told, dict):
            raise BadInput("That is no JSON object.", "Send an object of names and values.")
        fields = {name: _as_text(value) for name, value in told.items() if value is not None}
    else:
        try:
            pairs = parse_qsl(body.decode("utf-8"), keep_blank_values=True, max_num_fields=200)
        except ValueError:
            raise BadInput("That form can't be read.", "Load the page again.") from None
        fields = dict(pairs)
    fields.pop(SEAL_FIELD, None)
    return fields


def _as_text(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str | int | float):
        return str(value)
    raise BadInput("A value is a list or an object.", "Give text, a number, true or false.")


def back_to(address: str) -> Response:
    """After something was written: a page to look at, which can be loaded again harmlessly."""
    return RedirectResponse(address, 303)
