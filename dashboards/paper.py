"""What every page is written on: the templates, and what stands at the head and foot of each."""

from dataclasses import dataclass
from datetime import datetime
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined

from dashboards import assets
from monitor.answers.wording import COUNT_IS_NOT_HARDNESS
from monitor.cautions import HEAT, HOT_CUP
from monitor.config import Shop
from monitor.errors.text import shown_lines
from monitor.host import Timekeeper
from monitor.store.health import Health

PLACES = (
    ("/", "Now"),
    ("/log", "Log"),
    ("/mix", "Mix"),
    ("/plan", "Plan"),
    ("/sensors", "Sensors"),
    ("/sheets", "Sheets"),
    ("/alerts", "Alerts"),
    ("/history", "Earlier cups"),
)
"""Address and name of the pages that every page leads to."""


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands on every page."""

    said_at: str
    day: str
    demo: bool
    note: str
    zone: str
    seal: str
    troubles: tuple[tuple[str, str], ...]
    door: bool
    """Whether other machines may sign in."""
    clock_asks: bool
    """Whether a person can put the doubt of this machine's clock at rest."""


class Paper:
    """Writes pages. `seal` is what every form brings back; `health` what stands in the way now."""

    def __init__(
        self,
        shop: Shop,
        seal: str,
        note: str = "",
        health: Health | None = None,
        *,
        door: bool = False,
    ) -> None:
        self._shop, self._seal, self._note, self._health = shop, seal, note, health
        self._door = door

    def written(self, template: str, now: datetime, **parts: object) -> str:
        """A page as text. Everything given is escaped where it is put in."""
        local = now.astimezone(self._shop.zone)
        frame = Frame(
            f"{local:%H:%M}",
            f"{local:%A} {local.day} {local:%B %Y}",
            self._shop.demo,
            self._note,
            str(self._shop.zone),
            self._seal,
            () if self._health is None else self._health.troubles(),
            self._door,
            self._clock_asks(),
        )
        return _environment().get_template(template).render(frame=frame, **parts)

    def _clock_asks(self) -> bool:
        if self._health is None or not self._health.stands("clock"):
            return False
        doubt = Timekeeper(self._shop.folder).written_down()
        return doubt is not None and doubt.can_be_right


def plain(value: object) -> object:
    """What is put into a template: text without signs that act on what shows it."""
    # Markup is of our own making; it holds what was put in here before.
    return shown_lines(value) if type(value) is str else value


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("dashboards", "templates"),
        autoescape=True,
        finalize=plain,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["address"] = assets.address
    environment.globals["PLACES"] = PLACES
    environment.globals["HEAT"] = HEAT
    environment.globals["HOT_CUP"] = HOT_CUP
    environment.globals["COUNT_IS_NOT_HARDNESS"] = COUNT_IS_NOT_HARDNESS
    return environment
