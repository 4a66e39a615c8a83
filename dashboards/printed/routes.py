"""The record and the label as pages: `/layups/3/record`, `/layups/3/label`."""

from collections.abc import Callable
from datetime import datetime

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from dashboards.printed.press import PaperKind, label_html, record_html
from monitor.answers.label import label_of
from monitor.answers.record import record_of
from monitor.config import Shop
from monitor.overview import as_it_stood, view
from monitor.store import Store


def printed_routes(store: Store, shop: Shop, clock: Callable[[], datetime]) -> list[Route]:
    """The two addresses of each part. `clock` gives now in UTC."""

    def record(number: int) -> str:
        layup, at = as_it_stood(store, number, clock())
        told = record_of(
            store,
            view(store, layup, at),
            at,
            zone=shop.zone,
            unit=shop.unit,
            demo=shop.demo,
            particulars=shop.particulars,
        )
        return record_html(told)

    def label(number: int, address: str, paper: PaperKind) -> str:
        layup, at = as_it_stood(store, number, clock())
        told = label_of(view(store, layup, at), at, zone=shop.zone, demo=shop.demo)
        return label_html(told, address, paper)

    async def record_page(request: Request) -> Response:
        number = request.path_params["number"]
        return HTMLResponse(await run_in_threadpool(record, number))

    async def label_page(request: Request) -> Response:
        number = request.path_params["number"]
        address = shop.web_address or str(request.base_url)
        paper: PaperKind = "plain" if "plain" in request.query_params else "tape"
        return HTMLResponse(await run_in_threadpool(label, number, address, paper))

    return [
        Route("/layups/{number:int}/record", record_page),
        Route("/layups/{number:int}/label", label_page),
    ]
