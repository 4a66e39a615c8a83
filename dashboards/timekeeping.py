"""The press that says this machine's clock is right, where the watch doubts it."""

from starlette.responses import Response
from starlette.routing import Route

from dashboards.office import Asked, Office, back_to
from monitor.host import Timekeeper


def routes(office: Office) -> list[Route]:
    def right(_asked: Asked) -> Response:
        Timekeeper(office.shop.folder).confirm()
        office.store.health.well("clock")
        return back_to("/")

    return [office.route("/clock/right", right, "POST")]
