"""The pages at the door: signing in, and which phones have."""

from datetime import datetime

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from dashboards.door import Doorkeeper, is_here, with_token, within
from dashboards.guard import COOKIES_REFUSED, DOOR
from dashboards.office import Office
from monitor.records import Leave
from monitor.store.doorbook import SignIn
from monitor.times import length_said, said

_NO_COOKIES = (
    "This browser kept no cookie of these pages, so nobody can sign in with it.",
    "Allow cookies for this address, then give the passcode again.",
)

LEAVE_WORDS = {Leave.WRITE: "may write", Leave.LOOK: "may look"}


class Doorstep:
    """Answers at the door. Open on the machine's own address too, where nobody needs it."""

    def __init__(self, office: Office) -> None:
        self._office, self._book = office, office.store.door
        self._keeper = Doorkeeper(self._book, office.clock)

    def routes(self) -> list[Route]:
        return [
            Route(DOOR, self.ask, methods=["GET"]),
            Route(DOOR, self.answer, methods=["POST"]),
            Route("/sign-out", self.leave, methods=["POST"]),
            Route("/phones", self.phones, methods=["GET"]),
            Route("/phones/{id:int}/sign-out", self.turn_out, methods=["POST"]),
        ]

    async def ask(self, request: Request) -> Response:
        trouble = _NO_COOKIES if request.url.query == COOKIES_REFUSED else None
        return self._page(within(request.query_params.get("next", "/")), trouble)

    async def answer(self, request: Request) -> Response:
        told = await self._keeper.let_in(request)
        if told.token is not None:
            return with_token(RedirectResponse(told.there, 303), told.token, request.scope)
        if told.wait_min is not None:
            trouble = (
                "Too many wrong passcodes.",
                f"Try again in {length_said(told.wait_min * 60)}.",
            )
            page = self._page(told.there, trouble, 429)
            page.headers["Retry-After"] = str(told.wait_min * 60)
            return page
        trouble = (
            "That is not the passcode.",
            "Ask whoever runs the shop; on its machine: layupwatch passcode set write.",
        )
        return self._page(told.there, trouble, 403)

    async def leave(self, request: Request) -> Response:
        mine = _mine(request)
        if mine is not None:
            await run_in_threadpool(self._book.sign_out, mine.id)
        return with_token(RedirectResponse(DOOR, 303), None, request.scope)

    async def phones(self, request: Request) -> Response:
        now, mine = self._office.clock(), _mine(request)
        found = await run_in_threadpool(self._book.sign_ins)
        if not _may_write(request):
            found = tuple(one for one in found if mine is not None and one.id == mine.id)
        rows = [self._row(one, mine, now) for one in found]
        return self._office.page("phones.html", now, rows=rows, signed_in=mine is not None)

    async def turn_out(self, request: Request) -> Response:
        await run_in_threadpool(self._book.sign_out, request.path_params["id"])
        return RedirectResponse("/phones", 303)

    def _row(self, one: SignIn, mine: SignIn | None, now: datetime) -> dict[str, object]:
        zone = self._office.zone
        return {
            "id": one.id,
            "device": one.device,
            "leave": LEAVE_WORDS[one.leave],
            "since": said(one.made_at, zone, now),
            "seen": said(one.seen_at, zone, now),
            "mine": mine is not None and one.id == mine.id,
        }

    def _page(
        self, there: str, trouble: tuple[str, str] | None = None, status: int = 200
    ) -> Response:
        now = self._office.clock()
        page = self._office.paper.written("sign_in.html", now, there=there, trouble=trouble)
        return HTMLResponse(page, status)


def _mine(request: Request) -> SignIn | None:
    found: SignIn | None = getattr(request.state, "signed_in", None)
    return found


def _may_write(request: Request) -> bool:
    mine = _mine(request)
    return is_here(request.scope) if mine is None else mine.leave is Leave.WRITE
