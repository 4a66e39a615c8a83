"""The page of one part, and its charts: what it says now, and all of its history to look into."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

import orjson

from dashboards.figures import Told, charts
from dashboards.lines import AlertLine, PartLine, alert_line, part_line
from dashboards.stage_table import (
    BatchTable,
    JointRow,
    MarkLine,
    batch_table,
    joint_rows,
    mark_lines,
)
from dashboards.standings import Standings
from monitor.answers.change import Change, changes_of
from monitor.answers.picture import ALL, Kept, Window, kept_of, picture
from monitor.answers.ready import now_of
from monitor.answers.views import LayupHistory, PartNow
from monitor.config import Shop
from monitor.errors import BadInput
from monitor.overview import Desk, LayupView, Overview, as_it_stood
from monitor.records import Alert, Layup
from monitor.store import Store
from monitor.times import parse_instant, said

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
    changes: tuple[Change, ...]
    sheet: str
    on_hull: bool
    safety: bool
    ended: str | None
    tables: tuple[BatchTable, ...]
    joint: tuple[JointRow, ...]
    marks: tuple[MarkLine, ...]
    past_alerts: tuple[AlertLine, ...]
    figures: tuple[Figure, ...]


class PartPages:
    """The pages of a shop's parts. Methods read the database: call them in a thread."""

    def __init__(self, store: Store, shop: Shop, desk: Desk) -> None:
        self._store, self._shop = store, shop
        self._standings = Standings(store, shop.zone, desk)

    def page(self, number: int, now: datetime) -> LayupPage:
        """What stands on a part's page. Raises BadInput where there is none of that number."""
        layup, at = as_it_stood(self._store, number, now)
        kept = kept_of(self._store, layup)
        seen = self._standings.look(kept, at)
        alerts = self._alerts_of(layup)
        open_alerts = tuple(a for a in alerts if a.cleared_at is None and layup.ended_at is None)
        told = self._part_now(seen, open_alerts, at)
        zone, unit = self._shop.zone, self._shop.unit
        whats = {batch.address: batch.what for batch in told.batches}
        history = self._history(kept, at, ALL, seen)
        return LayupPage(
            part=part_line(told, seen, zone, at, unit),
            changes=changes_of(seen, told, unit),
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

    def charts(self, number: int, now: datetime, asked: "ChartsAsked") -> bytes:
        """The figures of one layup as JSON: name → data and layout, as plotly takes them."""
        layup, at = as_it_stood(self._store, number, now)
        history = self._history(kept_of(self._store, layup), at, asked.window)
        drawn = {
            chart.name: chart.draw(history).spec()
            for chart in charts()
            if not asked.only or chart.name in asked.only
        }
        return orjson.dumps(drawn)

    def asked(self, query: dict[str, str], now: datetime) -> "ChartsAsked":
        """Which charts of what stretch. Raises BadInput for a time or a width that is none."""
        since, until = (
            None
            if query.get(name) is None
            else parse_instant(query[name], now=now, zone=self._shop.zone)
            for name in ("from", "to")
        )
        width = query.get("px", "700")
        if not width.isascii() or not width.isdigit() or len(width) > 5:
            raise BadInput(f"{width!r} is not a width in pixels.", "Write it as 390.")
        only = frozenset(name for name in query.get("only", "").split(",") if name)
        return ChartsAsked(Window(since, until, int(width)), only)

    def _history(
        self, kept: Kept, at: datetime, window: Window, seen: LayupView | None = None
    ) -> LayupHistory:
        return picture(
            self._store,
            kept,
            self._standings.of(kept, at, seen),
            self._alerts_of(kept.layup),
            window,
            zone=self._shop.zone,
            unit=self._shop.unit,
        )

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

    def _alert_lines(self, alerts: Iterable[Alert], at: datetime) -> tuple[AlertLine, ...]:
        return tuple(alert_line(alert, self._shop.zone, at) for alert in alerts)


@dataclass(frozen=True, slots=True)
class ChartsAsked:
    """A window of time, and which charts; none named: all."""

    window: Window = ALL
    only: frozenset[str] = frozenset()
