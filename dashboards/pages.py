"""The pages: what is asked of the store, laid out and turned into text."""

from collections.abc import Iterable
from datetime import datetime

from dashboards.lines import AlertLine, alert_line, part_line
from dashboards.paper import Paper
from dashboards.part_page import PartPages
from dashboards.presses import Press, likely
from monitor.answers.ready import now_of
from monitor.config import Shop
from monitor.errors import MonitorError
from monitor.overview import Desk, Overview, overview
from monitor.records import Alert
from monitor.store import Store


class Pages:
    """Every page of one shop. Methods read the database: call them in a thread."""

    def __init__(self, store: Store, shop: Shop, paper: Paper, desk: Desk) -> None:
        self._store, self._shop, self._paper, self._desk = store, shop, paper, desk
        self.parts = PartPages(store, shop, self._desk)

    def now(self, now: datetime) -> str:
        """Everything open."""
        seen = overview(self._store, now, self._desk)
        alerts = self._store.alerts.open()
        told = now_of(
            seen, alerts, zone=self._shop.zone, unit=self._shop.unit, demo=self._shop.demo
        )
        zone, unit = self._shop.zone, self._shop.unit
        pairs = zip(told.parts, seen.layups, strict=True)
        parts = sorted(
            (part_line(part, view, zone, now, unit) for part, view in pairs),
            key=lambda part: part.number,
        )
        shown = {alert.id for part in told.parts for alert in part.alerts}
        others = (alert for alert in alerts if alert.id not in shown)
        return self._render(
            "now.html",
            now,
            parts=parts,
            presses=_presses(seen),
            alerts=self._alert_lines(others, now),
            sheet="demo-laminating" if self._shop.demo else "NAME",
        )

    def layup(self, number: int, now: datetime) -> str:
        """One layup. Raises BadInput where there is none of that number."""
        return self._render("layup.html", now, page=self.parts.page(number, now))

    def trouble(self, error: MonitorError, now: datetime) -> str:
        """What is wrong, and what to do."""
        return self._render("trouble.html", now, what=error.what, remedy=error.remedy)

    def _alert_lines(self, alerts: Iterable[Alert], at: datetime) -> tuple[AlertLine, ...]:
        return tuple(alert_line(alert, self._shop.zone, at) for alert in alerts)

    def _render(self, template: str, now: datetime, **parts: object) -> str:
        return self._paper.written(template, now, **parts)


def _presses(seen: Overview) -> dict[int, tuple[Press, ...]]:
    """What will most likely be marked next of each part."""
    return {part.layup.number: likely(part.marks) for part in seen.layups}
