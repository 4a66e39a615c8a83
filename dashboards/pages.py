"""The pages: what is asked of the store, laid out and turned into text."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

import orjson

from dashboards.figures import Told, charts
from dashboards.lines import AlertLine, PartLine, alert_line, part_line
from dashboards.paper import Paper
from dashboards.presses import Press, likely
from dashboards.stage_table import (
    BatchTable,
    JointRow,
    MarkLine,
    batch_table,
    joint_rows,
    mark_lines,
)
from monitor.answers.history import history_of
from monitor.answers.ready import now_of
from monitor.answers.views import LayupHistory, PartNow
from monitor.config import Shop
from monitor.errors import BadInput, MonitorError
from monitor.overview import LayupView, Overview, overview, view
from monitor.records import Alert, Layup
from monitor.store import Store
from monitor.times import said

_ALERTS_LOOKED_BACK = 500


@dataclass(frozen=True, slots=True)
class Figure:
    """The place of one chart, and the same for those who don't see it."""

    name: str
    title: str
    key: str
    told: Told


@dataclass(frozen=True, slots=True)
class LayupPage:
    part: PartLine
    sheet: str
    on_hull: bool
    safety: bool
    ended: str | None
    tables: tuple[BatchTable, ...]
    joint: tuple[JointRow, ...]
    marks: tuple[MarkLine, ...]
    past_alerts: tuple[AlertLine, ...]
    figures: tuple[Figure, ...]


class Pages:
    """Every page of one shop. Methods read the database: call them in a thread."""

    def __init__(self, store: Store, shop: Shop, paper: Paper) -> None:
        self._store, self._shop, self._paper = store, shop, paper

    def now(self, now: datetime) -> str:
        """Everything open."""
        seen = overview(self._store, now)
        alerts = self._store.alerts.open()
        told = now_of(
            seen, alerts, zone=self._shop.zone, unit=self._shop.unit, demo=self._shop.demo
        )
        parts = tuple(
            self._part(part, now) for part in sorted(told.parts, key=lambda part: part.number)
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
        layup, at = self.as_it_stood(number, now)
        seen = view(self._store, layup, at)
        alerts = self._alerts_of(layup)
        open_alerts = tuple(a for a in alerts if a.cleared_at is None and layup.ended_at is None)
        told = self._part_now(seen, open_alerts, at)
        zone, unit = self._shop.zone, self._shop.unit
        history = history_of(seen, alerts, at, zone=zone, unit=unit)
        whats = {batch.address: batch.what for batch in told.batches}
        page = LayupPage(
            part=self._part(told, at),
            sheet=seen.sheet.name,
            on_hull=layup.on == "hull",
            safety=layup.safety,
            ended=None if layup.ended_at is None else said(layup.ended_at, zone, now),
            tables=tuple(
                batch_table(number, batch, whats[f"{number}/{batch.batch.name}"], zone, at, unit)
                for batch in seen.batches
            ),
            joint=joint_rows(seen),
            marks=mark_lines(seen, zone, at),
            past_alerts=self._alert_lines((a for a in alerts if a not in open_alerts), at),
            figures=tuple(
                Figure(chart.name, chart.title, chart.key, chart.tell(history))
                for chart in charts()
            ),
        )
        return self._render("layup.html", now, page=page)

    def charts(self, number: int, now: datetime) -> bytes:
        """The figures of one layup as JSON: name → data and layout, as plotly takes them."""
        history = self.history(number, now)
        drawn = {chart.name: chart.draw(history).to_plotly_json() for chart in charts()}
        return orjson.dumps(drawn, option=orjson.OPT_SERIALIZE_NUMPY)

    def history(self, number: int, now: datetime) -> LayupHistory:
        """What the charts of one layup are drawn from."""
        layup, at = self.as_it_stood(number, now)
        seen = view(self._store, layup, at)
        return history_of(
            seen, self._alerts_of(layup), at, zone=self._shop.zone, unit=self._shop.unit
        )

    def trouble(self, error: MonitorError, now: datetime) -> str:
        """What is wrong, and what to do."""
        return self._render("trouble.html", now, what=error.what, remedy=error.remedy)

    def as_it_stood(self, number: int, now: datetime) -> tuple[Layup, datetime]:
        """The layup, and the moment to show it at: an ended one as it was when it ended."""
        try:
            layup = self._store.book.layup(number)
        except OverflowError:
            raise BadInput(
                f"There is no layup {number}.", "Look at the number on the masking tape."
            ) from None
        return layup, min(now, layup.ended_at or now)

    def _alerts_of(self, layup: Layup) -> tuple[Alert, ...]:
        """Oldest first. A number may have been another part's before: only this one's time."""
        recent = reversed(self._store.alerts.recent(_ALERTS_LOOKED_BACK))
        begun, ended = layup.added_at, layup.ended_at
        return tuple(
            alert
            for alert in recent
            if layup.number in alert.parts
            and (begun is None or alert.raised_at >= begun)
            and (ended is None or alert.raised_at <= ended)
        )

    def _part_now(self, seen: LayupView, alerts: tuple[Alert, ...], at: datetime) -> PartNow:
        shop = self._shop
        alone = Overview(at, (seen,), ())
        told = now_of(alone, alerts, zone=shop.zone, unit=shop.unit, demo=shop.demo)
        return told.parts[0]

    def _part(self, part: PartNow, at: datetime) -> PartLine:
        return part_line(part, self._shop.zone, at, self._shop.unit)

    def _alert_lines(self, alerts: Iterable[Alert], at: datetime) -> tuple[AlertLine, ...]:
        return tuple(alert_line(alert, self._shop.zone, at) for alert in alerts)

    def _render(self, template: str, now: datetime, **parts: object) -> str:
        return self._paper.written(template, now, **parts)


def _presses(seen: Overview) -> dict[int, tuple[Press, ...]]:
    """What will most likely be marked next of each part."""
    return {part.layup.number: likely(part.marks) for part in seen.layups}
