"""A channel that takes nothing: shown on the page, which needs no channel."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta, tzinfo

from monitor.alerts.due import Due
from monitor.store import Store
from monitor.times import said_lasting

RULE = "channel-dead"
SHOWN_FOR = timedelta(hours=24)
"""A message given up this long ago is no news."""


def unsent(store: Store, names: Sequence[str], now: datetime, zone: tzinfo) -> tuple[Due, ...]:
    """The channels whose newest tried message was not taken."""
    return tuple(_due(store, names, now, zone))


def _due(store: Store, names: Sequence[str], now: datetime, zone: tzinfo) -> Iterator[Due]:
    for name in names:
        last = store.messages.last_tried(name)
        if last is None or last.sent_at is not None or last.trouble is None:
            continue
        if now - last.made_at > SHOWN_FOR:
            continue
        tries = "1 try" if last.tries == 1 else f"{last.tries} tries"
        state = "It is tried again." if last.dropped_at is None else "It is not tried any more."
        yield Due(
            RULE,
            name,
            last.made_at,
            (),
            f"The alert of {said_lasting(last.made_at, zone)} has not gone out by {name} after "
            f"{tries}: {last.trouble} {state}",
            "Alerts stand here meanwhile. Try it: alert test.",
        )
