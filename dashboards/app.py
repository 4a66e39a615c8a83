"""The web app: which address answers what."""

import gzip
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import datetime

import orjson
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from dashboards import assets
from dashboards.changes import Changes, fingerprint, waking
from dashboards.door import Door
from dashboards.doorstep import Doorstep
from dashboards.guard import HEADERS, LOOPBACK_NAMES, Guard
from dashboards.office import Office
from dashboards.pages import Pages
from dashboards.paper import Paper
from dashboards.patience import Pace
from dashboards.printed.routes import printed_routes
from dashboards.rooms import ROOMS
from dashboards.seal import seal_of
from dashboards.shared import Shared, Writings
from monitor.answers.asjson import ready_json
from monitor.config import Shop
from monitor.errors import BadInput, HostError, MonitorError, SheetError
from monitor.overview import Desk, as_it_stood, overview, view
from monitor.store import Store
from monitor.times import iso_utc

_FOR_EVER = "public, max-age=31536000, immutable"
_PACKED = {"Content-Encoding": "gzip", "Vary": "Accept-Encoding"}


def build_app(
    store: Store,
    shop: Shop,
    *,
    clock: Callable[[], datetime],
    address_note: str = "",
    desk: Desk | None = None,
    names: frozenset[str] = LOOPBACK_NAMES,
    door: bool = False,
    steady: Callable[[], float] | None = None,
) -> Starlette:
    """The pages of one shop. `clock` gives now in UTC; `address_note` stands at every foot.

    `names` are the host names it answers to. With `door`, whoever doesn't ask at the machine
    itself signs in. With `steady`, a clock that nobody sets, none asks faster than people do.
    """
    desk = desk or Desk(store, keeps=True)
    seal = seal_of(shop.folder)
    paper = Paper(shop, seal, address_note, store.health, door=door)
    shared = Shared(steady)
    answers = _Answers(store, shop, clock, paper, desk, shared)
    office = Office(store, shop, paper, clock, desk)
    changes = Changes(lambda: fingerprint(store), lambda: waking(store, clock()))

    @asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        yield
        changes.close()

    async def events(_request: Request) -> Response:
        return StreamingResponse(changes.events(), media_type="text/event-stream")

    app = Starlette(
        routes=[
            Route("/", answers.now),
            Route("/layups/{number:int}", answers.layup),
            Route("/layups/{number:int}/charts.json", answers.charts),
            Route("/api/now", answers.api_now),
            Route("/api/layups/{number:int}", answers.api_layup),
            Route("/events", events),
            *printed_routes(store, shop, clock),
            Route("/alerts/{id:int}/seen", answers.seen, methods=["POST"]),
            Route("/static/{stamp}/{name}", _static),
            Route("/alive", _alive),
            Route("/keep.js", _keeper),
            *(route for pages in ROOMS for route in pages.routes(office)),
            *(Doorstep(office).routes() if door else []),
        ],
        middleware=[
            Middleware(Guard, seal=seal, names=names),
            *([Middleware(Pace, steady=steady)] if steady else []),
            *([Middleware(Door, book=store.door, clock=clock)] if door else []),
            Middleware(Writings, shared=shared),
        ],
        exception_handlers={
            MonitorError: answers.trouble,
            HTTPException: answers.no_such_page,
            Exception: answers.our_fault,
        },
        lifespan=lifespan,
    )
    app.state.changes = changes
    return app


class _Answers:
    """Answers requests. Whatever reads the database does it in a thread."""

    def __init__(
        self,
        store: Store,
        shop: Shop,
        clock: Callable[[], datetime],
        paper: Paper,
        desk: Desk,
        shared: Shared,
    ) -> None:
        self._store, self._shop, self._clock, self._desk = store, shop, clock, desk
        self._shared = shared
        self._pages = Pages(store, shop, paper, desk)

    async def now(self, request: Request) -> Response:
        return await self._page(request, lambda: self._pages.now(self._clock()))

    async def layup(self, request: Request) -> Response:
        number = request.path_params["number"]
        return await self._page(request, lambda: self._pages.layup(number, self._clock()))

    async def _page(self, request: Request, made: Callable[[], str]) -> Response:
        path = request.url.path
        if not _takes_gzip(request):
            return HTMLResponse(await self._shared.page(path, lambda: made().encode()))
        body = await self._shared.page(f"{path} packed", lambda: gzip.compress(made().encode(), 5))
        return HTMLResponse(body, headers=_PACKED)

    async def charts(self, request: Request) -> Response:
        body = await run_in_threadpool(self._charts, request, self._clock())
        return await run_in_threadpool(_packed, request, body, "application/json")

    async def api_now(self, _request: Request) -> Response:
        return _json(await run_in_threadpool(self._now_json, self._clock()))

    async def api_layup(self, request: Request) -> Response:
        number = request.path_params["number"]
        return _json(await run_in_threadpool(self._layup_json, number, self._clock()))

    async def seen(self, request: Request) -> Response:
        id = request.path_params["id"]
        await run_in_threadpool(self._mark_seen, id, self._clock())
        return RedirectResponse("/", 303)

    async def trouble(self, request: Request, error: Exception) -> Response:
        if not isinstance(error, MonitorError):
            raise error
        return await self._two_lines(request, error, _status(error, request))

    async def no_such_page(self, request: Request, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 404
        if status == 404:
            said = BadInput("There is no such page here.", "Go back to everything open.")
        else:
            said = BadInput("This page can't be asked that way.", "Go back to everything open.")
        return await self._two_lines(request, said, status)

    async def our_fault(self, request: Request, _error: Exception) -> Response:
        said = HostError(
            "Something went wrong inside the program; nothing that was logged is lost.",
            "Load the page again. If it stays, look at what the program printed.",
        )
        answer = await self._two_lines(request, said, 500)
        # This one is sent from outside the guard.
        answer.headers.update({**HEADERS, "Cache-Control": "no-cache"})
        return answer

    async def _two_lines(self, request: Request, error: MonitorError, status: int) -> Response:
        if request.url.path.startswith("/api/") or request.url.path.endswith(".json"):
            return _json({"what": error.what, "remedy": error.remedy}, status)
        page = await run_in_threadpool(self._pages.trouble, error, self._clock())
        return HTMLResponse(page, status)

    def _charts(self, request: Request, now: datetime) -> bytes:
        parts = self._pages.parts
        asked = parts.asked(dict(request.query_params), now)
        return parts.charts(request.path_params["number"], now, asked)

    def _now_json(self, now: datetime) -> dict[str, object]:
        seen = overview(self._store, now, self._desk)
        return {
            "at": iso_utc(now),
            "zone": str(self._shop.zone),
            "demo": self._shop.demo,
            "layups": [ready_json(part) for part in seen.layups],
        }

    def _layup_json(self, number: int, now: datetime) -> dict[str, object]:
        layup, at = as_it_stood(self._store, number, now)
        return ready_json(view(self._store, layup, at))

    def _mark_seen(self, id: int, now: datetime) -> None:
        try:
            self._store.alerts.mark_seen(id, now)
        except OverflowError:
            raise BadInput(f"There is no alert {id}.", "Go back to everything open.") from None


async def _keeper(_request: Request) -> Response:
    """What keeps pages on the phone. It reaches only what lies below its own address."""
    return Response(assets.own("keep.js"), media_type="text/javascript")


async def _alive(_request: Request) -> Response:
    """For a page that wants to know, before it sends something, whether anybody is there."""
    return Response(status_code=204)


def _status(error: MonitorError, request: Request) -> int:
    if isinstance(error, HostError):
        return 503
    if request.method == "POST" and not request.url.path.startswith("/alerts/"):
        return 400
    return 404 if isinstance(error, BadInput) and not isinstance(error, SheetError) else 500


def _json(answer: object, status: int = 200) -> Response:
    return Response(orjson.dumps(answer), status, media_type="application/json")


def _takes_gzip(request: Request) -> bool:
    return "gzip" in request.headers.get("accept-encoding", "")


def _packed(request: Request, body: bytes, media_type: str) -> Response:
    if not _takes_gzip(request):
        return Response(body, media_type=media_type)
    return Response(gzip.compress(body, 5), media_type=media_type, headers=_PACKED)


async def _static(request: Request) -> Response:
    stamp, name = request.path_params["stamp"], request.path_params["name"]
    found = await run_in_threadpool(assets.find, stamp, name)
    if found is None:
        raise HTTPException(404)
    headers = {"Cache-Control": _FOR_EVER, "Vary": "Accept-Encoding"}
    if _takes_gzip(request):
        headers["Content-Encoding"] = "gzip"
        return Response(found.gzipped, media_type=found.media_type, headers=headers)
    return Response(found.body, media_type=found.media_type, headers=headers)
