"""Which stays a batch counts on, and what lies under a coat and over it."""

from datetime import datetime

from monitor.overview.views import COATS, BatchView, Beside
from monitor.records import Batch, Channel, Readings, Stage


def covered_at(batch: Batch, batches: tuple[Batch, ...]) -> datetime | None:
    """When the next coat went over this one."""
    if batch.role not in COATS:
        return None
    later = (b.mixed_at for b in batches if b.role in COATS and b.mixed_at > batch.mixed_at)
    return min(later, default=None)


def coat_under(batch: Batch, worked: list[BatchView]) -> BatchView | None:
    if batch.role not in COATS:
        return None
    coats = [v for v in worked if v.batch.role in COATS and v.batch.mixed_at < batch.mixed_at]
    return coats[-1] if coats else None


def still_soft(under: BatchView | None, batch: Batch) -> bool:
    """Whether the coat under it had not opened for another when this one was mixed."""
    if under is None:
        return False
    recoat = under.worked.assessment.stage(Stage.RECOAT)
    if recoat.needs is None or under.batch.waxed:
        return False
    opened = recoat.opens.late
    return opened is None or opened > batch.mixed_at


def mine_of(batch: Batch, besides: tuple[Beside, ...]) -> tuple[Beside, ...]:
    return tuple(b for b in besides if b.stay.batch_id in (None, batch.id))


def counted_on(batch: Batch, mine: tuple[Beside, ...]) -> tuple[Beside, ...]:
    """The stays a batch counts on: one channel, its own stays before its layup's, none at once.

    The channel is the one the batch names; else that of its own newest stay; else the air, where
    there is an air stay.
    """
    own = [beside for beside in mine if beside.stay.batch_id == batch.id]
    channel = batch.counts_on or _likely_channel(own, mine)
    chosen = [beside for beside in own if beside.stay.channel is channel]
    spans = [(beside.since, beside.until) for beside in chosen]
    for beside in mine:
        if beside.stay.batch_id is None and beside.stay.channel is channel:
            chosen += _outside(beside, spans)
    return tuple(sorted(chosen, key=lambda beside: beside.since))


def _likely_channel(own: list[Beside], mine: tuple[Beside, ...]) -> Channel:
    if own:
        return max(own, key=lambda beside: beside.since).stay.channel
    air = any(beside.stay.channel is Channel.AIR for beside in mine)
    return Channel.AIR if air or not mine else Channel.SURFACE


def _outside(beside: Beside, spans: list[tuple[datetime, datetime | None]]) -> list[Beside]:
    """What is left of a stay around the spans of stays that stand before it."""
    rest = [(beside.since, beside.until)]
    for start, end in spans:
        cut: list[tuple[datetime, datetime | None]] = []
        for since, until in rest:
            if (until is not None and until <= start) or (end is not None and end <= since):
                cut.append((since, until))
                continue
            if since < start:
                cut.append((since, start))
            if end is not None and (until is None or end < until):
                cut.append((end, until))
        rest = cut
    return [
        Beside(beside.stay, beside.sensor, since, until, _clipped(beside.readings, since, until))
        for since, until in rest
    ]


def _clipped(readings: Readings, since: datetime, until: datetime | None) -> Readings:
    end_s = float("inf") if until is None else until.timestamp()
    return readings.between(since.timestamp(), end_s)
