"""An alert's messages: written down with it, sent once, dropped when it is over first."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from monitor.errors import BadInput
from monitor.records import Alert, Aloud, MessageKind
from monitor.store import Outgoing, Store

MINUTE = timedelta(minutes=1)


def said(store: Store, at: datetime, *channels: str, key: str = "shed") -> Alert:
    outgoing = [Outgoing(name, MessageKind.SAID, f"Part 3: {key}.", at) for name in channels]
    raised = store.alerts.raise_alert(
        "dew", key, at, at, (3,), "Dew.", "Tent it.", aloud=Aloud.ANY_HOUR, outgoing=outgoing
    )
    assert raised is not None
    return raised


def over(at: datetime) -> Outgoing:
    return Outgoing("", MessageKind.OVER, "Part 3: over.", at)


def test_a_message_goes_out_once(store: Store, path: Path, noon: datetime) -> None:
    """Due on its channel until it is sent; another program started anew finds it sent."""
    said(store, noon, "bell", "post")
    message = store.messages.next_due("bell", noon)
    assert message is not None
    assert (message.text, message.tries) == ("Part 3: shed.", 0)
    assert store.messages.begin(message.id, noon)
    store.messages.sent(message.id, noon + MINUTE)
    with Store.open(path) as again:
        assert again.messages.next_due("bell", noon + MINUTE) is None
        assert again.messages.next_due("post", noon) is not None


def test_one_that_a_killed_run_had_begun_is_sent(store: Store, path: Path, noon: datetime) -> None:
    """Whether it arrived nobody knows: it goes out again rather than never; not at once, for
    somebody may be about it."""
    said(store, noon, "bell")
    message = store.messages.next_due("bell", noon)
    assert message is not None
    assert store.messages.begin(message.id, noon)
    with Store.open(path) as again:
        assert again.messages.next_due("bell", noon + MINUTE) is None
        assert not again.messages.begin(message.id, noon + MINUTE)
        found = again.messages.next_due("bell", noon + 2 * MINUTE)
        assert found is not None
        assert found.id == message.id
        assert again.messages.begin(message.id, noon + 2 * MINUTE)


def test_nothing_is_due_before_its_time(store: Store, noon: datetime) -> None:
    """What fails waits for its next try, and is dropped after its last."""
    said(store, noon, "bell")
    message = store.messages.next_due("bell", noon)
    assert message is not None
    assert store.messages.next_due("bell", noon - MINUTE) is None
    store.messages.failed(message.id, "It is off.", noon + 5 * MINUTE, noon)
    assert store.messages.next_due("bell", noon + 4 * MINUTE) is None
    failed = store.messages.next_due("bell", noon + 5 * MINUTE)
    assert failed is not None
    assert (failed.tries, failed.trouble) == (1, "It is off.")
    store.messages.failed(message.id, "Still off.", None, noon + 5 * MINUTE)
    assert store.messages.next_due("bell", noon + timedelta(days=1)) is None
    assert [m.trouble for m in store.messages.of([message.alert_id])] == ["Still off."]


def test_what_is_over_before_it_went_out_says_nothing(store: Store, noon: datetime) -> None:
    """Neither that it is, nor that it was."""
    alert = said(store, noon, "bell")
    store.alerts.clear(alert.id, noon + MINUTE, over=over(noon + MINUTE))
    assert store.messages.next_due("bell", noon + timedelta(days=1)) is None
    (message,) = store.messages.of([alert.id])
    assert message.dropped_at == noon + MINUTE
    assert not store.messages.begin(message.id, noon + MINUTE)


def test_that_it_is_over_goes_where_it_was_heard(store: Store, noon: datetime) -> None:
    """To each channel that has had it or may have, once, and to no other."""
    alert = said(store, noon, "bell", "post", "gate")
    bell, post = (store.messages.next_due(name, noon) for name in ("bell", "post"))
    assert bell is not None
    assert post is not None
    store.messages.begin(bell.id, noon)
    store.messages.sent(bell.id, noon)
    store.messages.begin(post.id, noon)
    for _ in range(2):
        store.alerts.clear(alert.id, noon + MINUTE, over=over(noon + MINUTE))
    told = [m for m in store.messages.of([alert.id]) if m.kind is MessageKind.OVER]
    assert [m.channel for m in told] == ["bell", "post"]


def test_what_was_withdrawn_may_be_raised_once_more(store: Store, noon: datetime) -> None:
    """As beginning now; an event that was simply over is not said twice."""
    alert = said(store, noon, "bell")
    cleared = store.alerts.clear(alert.id, noon + MINUTE, withdrawn="It was carried off.")
    assert cleared.withdrawn == "It was carried off."
    args = ("dew", "shed", noon, noon + 2 * MINUTE, (3,), "Dew.", "Tent it.")
    once_more = store.alerts.raise_alert(*args)
    assert once_more is not None
    assert once_more.began_at == noon + 2 * MINUTE
    store.alerts.clear(once_more.id, noon + 3 * MINUTE)
    assert store.alerts.raise_alert(*args) is None


def test_asked_again_until_it_is_seen(store: Store, noon: datetime) -> None:
    """One message on each channel, at its time; seen, it doesn't come."""
    alert = said(store, noon, "bell")
    later = noon + 20 * MINUTE
    for _ in range(2):
        outgoing = [Outgoing("bell", MessageKind.AGAIN, "Again.", later)]
        assert store.alerts.ask_again(alert.id, noon, later, outgoing).again_at == later
    waiting = [m for m in store.messages.of([alert.id]) if m.dropped_at is None]
    assert [(m.kind, m.due_at) for m in waiting] == [
        (MessageKind.SAID, noon),
        (MessageKind.AGAIN, later),
    ]
    seen = store.alerts.mark_seen(alert.id, noon + MINUTE)
    assert (seen.seen_at, seen.again_at) == (noon + MINUTE, None)
    waiting = [m for m in store.messages.of([alert.id]) if m.dropped_at is None]
    assert [m.kind for m in waiting] == [MessageKind.SAID]
    store.alerts.clear(alert.id, later)
    with pytest.raises(BadInput, match="is over"):
        store.alerts.ask_again(alert.id, later, later, [])


def test_every_alert_since(store: Store, noon: datetime) -> None:
    """Those raised since then, and older ones that still hold."""
    old, older = said(store, noon, key="a"), said(store, noon, key="b")
    store.alerts.clear(older.id, noon)
    new = said(store, noon + MINUTE, key="c")
    found = store.alerts.raised_since(noon + MINUTE)
    assert [alert.id for alert in found] == [old.id, new.id]
