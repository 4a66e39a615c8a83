"""The press that says this machine's clock is right, where the watch doubts it."""

from starlette.responses import Response
from starlette.routing import Route

from dashboards.office import Asked, Office, back_to
from monitor.errors import BadInput, HostError
from monitor.host import Timekeeper


def routes(office: Office) -> list[Route]:
    def right(_asked: Asked) -> Response:
        timekeeper = Timekeeper(office.shop.folder)
        doubt = timekeeper.written_down()
        if doubt is not None and not doubt.can_be_right:
            raise BadInput(doubt.what, doubt.remedy)
        try:
            timekeeper.confirm()
        except OSError as fault:
            raise HostError(
                f"The shop folder can't be written ({fault.strerror}).",
                "Make room, or make it writable; then press it again.",
            ) from None
        office.store.health.well("clock")
        return back_to("/")

    return [office.route("/clock/right", right, "POST")]
