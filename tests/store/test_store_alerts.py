from datetime import datetime, timedelta
from pathlib import Path

import pytest

from monitor.errors import BadInput
from monitor.records import Alert
from monitor.store import Store


def _dew(store: Store, began_at: datetime, key: str = "shed", late_min: int = 20) -> Alert | None:
    return store.alerts.raise_alert(
        "dew",
        key,
        began_at,
        began_at + timedelta(minutes=late_min),
        (3, 5),
        "Spread 0.8 °C on 3 and 5.",
        "Cover them before dark.",
    )


def test_an_alert_comes_back_whole(store: Store, noon: datetime) -> None:
    """Parts, fact and action as they were given; open until it is cleared."""
    raised = _dew(store, noon)
    assert raised is not None
    assert (raised.parts, raised.fact) == ((3, 5), "Spread 0.8 °C on 3 and 5.")
    assert (raised.cleared_at, raised.seen_at) == (None, None)
    assert store.alerts.open() == (raised,)


def test_one_alert_an_event(store: Store, path: Path, noon: datetime) -> None:
    """The same rule, key and beginning is raised once, also by a program started anew."""
    first = _dew(store, noon)
    assert first is not None
    assert _dew(store, noon, late_min=40) is None
    with Store.open(path) as again:
        assert _dew(again, noon) is None
        store.alerts.clear(first.id, noon + timedelta(hours=1))
        assert _dew(again, noon) is None
    assert _dew(store, noon, key="boat") is not None
    assert _dew(store, noon + timedelta(hours=5)) is not None
    assert len(store.alerts.recent(10)) == 3


def test_the_first_clearing_and_the_first_look_stand(store: Store, noon: datetime) -> None:
    """A second one changes nothing; an unknown alert is refused."""
    raised = _dew(store, noon)
    assert raised is not None
    soon, late = noon + timedelta(hours=1), noon + timedelta(hours=2)
    assert store.alerts.mark_seen(raised.id, soon).seen_at == soon
    assert store.alerts.open() != ()
    assert store.alerts.clear(raised.id, soon).cleared_at == soon
    assert store.alerts.open() == ()
    assert store.alerts.mark_seen(raised.id, late).seen_at == soon
    assert store.alerts.clear(raised.id, late).cleared_at == soon
    with pytest.raises(BadInput, match="99"):
        store.alerts.clear(99, late)


def test_the_newest_first(store: Store, noon: datetime) -> None:
    """Cleared or not, no more than were asked for."""
    raised = [_dew(store, noon + timedelta(hours=hours)) for hours in (0, 2, 1)]
    assert None not in raised
    found = store.alerts.recent(2)
    assert [alert.began_at - noon for alert in found] == [timedelta(hours=2), timedelta(hours=1)]
    assert store.alerts.open() == tuple(raised)
