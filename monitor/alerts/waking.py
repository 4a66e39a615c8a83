"""Who gets woken: what may wake someone does so once, and no part wakes them more than thrice."""

from dataclasses import replace
from datetime import datetime

from monitor.alerts.due import Due
from monitor.alerts.look import Look
from monitor.records import Alert, Aloud

ALWAYS = frozenset({"hot-part"})
"""A part that runs hot wakes whoever is there, however often."""

MOST_A_PART = 3

WARM_IT = frozenset({"dew-near", "below-floor", "heat-lost"})
"""All ask for the same: while one of them stands at a place, another there is no news."""

_ALIKE = {"floor-ahead": "below-floor"}


def as_loud_as_due(due: Due, look: Look) -> Due:
    """The same alert, by day or on the page alone where waking someone again gains nothing."""
    if due.aloud is not Aloud.ANY_HOUR or due.rule in ALWAYS:
        return due
    if look.open(due.rule, due.key) is not None:
        return due
    if _same_action_asked(due, look):
        return replace(due, aloud=Aloud.PAGE)
    woken = [alert for alert in look.told if _woke(alert, look) and _concerns(alert, due, look)]
    same = [alert for alert in woken if _alike(alert.rule) == _alike(due.rule)]
    often = any(sum(part in alert.parts for alert in woken) >= MOST_A_PART for part in due.parts)
    return replace(due, aloud=Aloud.BY_DAY) if same or often else due


def _same_action_asked(due: Due, look: Look) -> bool:
    asks_warmth = due.rule in WARM_IT or _alike(due.rule) in WARM_IT
    return asks_warmth and any(
        alert.cleared_at is None
        and alert.rule in WARM_IT
        and alert.key == due.key
        and alert.aloud is Aloud.ANY_HOUR
        for alert in look.told
    )


def _woke(alert: Alert, look: Look) -> bool:
    telling = look.telling
    return alert.aloud is Aloud.ANY_HOUR and telling.night.hold(alert.raised_at, telling.zone)


def _concerns(alert: Alert, due: Due, look: Look) -> bool:
    """Whether it was said of one of these parts since their newest batch was mixed."""
    shared = set(alert.parts) & set(due.parts)
    return bool(shared) and alert.raised_at >= _newest(shared, look)


def _newest(parts: set[int], look: Look) -> datetime:
    return max(
        (
            batch.batch.mixed_at
            for view in look.seen.layups
            if view.layup.number in parts
            for batch in view.batches
        ),
        default=look.now,
    )


def _alike(rule: str) -> str:
    return _ALIKE.get(rule, rule)
