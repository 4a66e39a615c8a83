"""One layup in a window of time, to draw: what was measured, and apart from it the guess.

Readings come from the store by how near one looks; the count is handed in, so that looking closer
counts nothing anew.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from monitor.answers.counts import Standing, ahead_s, cut, cut_warmth
from monitor.answers.traces import Stretch, Traced, silences_of, trace
from monitor.answers.views import LayupHistory
from monitor.records import Alert, Batch, Layup, Mark, MarkKind, Sensor, Stay
from monitor.store import Store
from monitor.times import from_unix
from monitor.units import Unit

WIDTH_PX = 700
_NARROWEST_PX, _WIDEST_PX = 240, 1200
_SHORTEST_S = 120.0
_LONGEST_AHEAD = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Kept:
    """What the book holds of one layup: all that a picture of it needs besides readings."""

    layup: Layup
    batches: tuple[Batch, ...]
    stays: tuple[Stay, ...]
    marks: tuple[Mark, ...]
    sensors: tuple[Sensor, ...]

    @property
    def begun_at(self) -> datetime | None:
        """Its first mix, or its first stay; None: neither yet."""
        mixed = [batch.mixed_at for batch in self.batches]
        return min(mixed or [stay.since for stay in self.stays], default=None)


def kept_of(store: Store, layup: Layup) -> Kept:
    """The book's rows of one layup."""
    book = store.book
    return Kept(
        layup,
        book.batches(layup.id),
        book.stays(layup.id),
        book.marks(layup.id),
        book.sensors(),
    )


@dataclass(frozen=True, slots=True)
class Window:
    """What part of a history is asked for; None: from its beginning, or to its end."""

    since: datetime | None = None
    until: datetime | None = None
    width_px: int = WIDTH_PX


ALL = Window()


def picture(
    store: Store,
    kept: Kept,
    standing: Standing,
    alerts: tuple[Alert, ...],
    window: Window = ALL,
    *,
    zone: tzinfo,
    unit: Unit,
) -> LayupHistory:
    """The layup in a window of time: as it stands at `standing.at`, and the guess past it."""
    at = standing.at
    begun = kept.begun_at or at
    start_s, end_s = _seen(window, begun, standing)
    points = min(max(window.width_px, _NARROWEST_PX), _WIDEST_PX)
    measured = Stretch(start_s, min(end_s, at.timestamp()), points)
    traced = _traced(store, kept, measured)
    silent: tuple[tuple[float, float], ...] = ()
    if begun <= at and measured.length_s > 0.0:
        silent = silences_of(
            traced, from_unix(max(start_s, begun.timestamp())), from_unix(measured.end_s)
        )
    return LayupHistory(
        kept.layup.number,
        kept.layup.what,
        at,
        str(zone),
        unit,
        start_s,
        end_s,
        tuple(one.series for one in traced),
        tuple(cut(series, start_s, end_s, points // 2) for series in standing.counts),
        tuple(mark for mark in kept.marks if not _taken_back(mark)),
        alerts,
        (begun.timestamp(), _whole_end_s(standing)),
        points,
        silent,
        tuple(cut_warmth(warmth, end_s, points // 4) for warmth in standing.warmth),
        standing.sheets,
    )


def _taken_back(mark: Mark) -> bool:
    """The book keeps it, as a note; nothing was seen or done at that time."""
    return mark.kind is MarkKind.NOTE and (mark.note or "").startswith("taken back: ")


def _seen(window: Window, begun: datetime, standing: Standing) -> tuple[float, float]:
    start_s = begun.timestamp() if window.since is None else window.since.timestamp()
    end_s = standing.at.timestamp() + ahead_s(standing, begun.timestamp())
    if window.until is not None:
        end_s = window.until.timestamp()
    return start_s, max(end_s, start_s + _SHORTEST_S)


def _whole_end_s(standing: Standing) -> float:
    guessed = bool(standing.warmth) or any(s.ahead is not None for s in standing.counts)
    return (standing.at + (_LONGEST_AHEAD if guessed else timedelta(0))).timestamp()


def _traced(store: Store, kept: Kept, stretch: Stretch) -> tuple[Traced, ...]:
    """Each stay, from a little before the stretch, so that no line begins inside the picture."""
    if stretch.length_s <= 0.0:
        return ()
    names = {sensor.id: sensor.name for sensor in kept.sensors}
    wider = Stretch(
        stretch.start_s - max(900.0, 0.02 * stretch.length_s), stretch.end_s, stretch.points
    )
    found = (trace(store, names[stay.sensor_id], stay, wider) for stay in kept.stays)
    return tuple(one for one in found if one is not None)
