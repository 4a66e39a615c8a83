"""`alert list`, `seen`, `again` and `test`."""

import json
from datetime import timedelta
from pathlib import Path

import pytest

from monitor.config import open_shop
from monitor.records import Aloud, MessageKind
from monitor.store import Outgoing, Store
from tests.scenarios import at
from tests.scenarios.terminal import Layupwatch

NOW = "2026-05-02T22:00:00Z"
SECRET = "hunter2"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A shop whose alerts go to a program."""
    shop = tmp_path / "shop"
    text = (shop / "shop.toml").read_text("utf-8")
    (shop / "shop.toml").write_text(
        f'{text}\n[alerts]\ncommand = ["/bin/sh", "-c", "cat > {tmp_path}/heard", "{SECRET}"]\n'
        f'webhook = "http://127.0.0.1:9/{SECRET}"\n'
    )
    return shop


def store_of(folder: Path) -> Store:
    database = open_shop(folder, create=False).database
    assert isinstance(database, Path)
    return Store.open(database)


def raised(folder: Path) -> None:
    """One that has gone out by one channel, and was not taken by the other."""
    when = at("2026-05-02T21:32:00Z")
    with store_of(folder) as store:
        outgoing = [
            Outgoing(name, MessageKind.SAID, "Part 3: cold.", when)
            for name in ("command", "webhook")
        ]
        store.alerts.raise_alert(
            "below-floor", "shed:air", when, when, (3,), "9.7 °C at shed.", "Warm it.",
            aloud=Aloud.ANY_HOUR, outgoing=outgoing,
        )  # fmt: skip
        command, webhook = store.messages.of([1])
        store.messages.sent(command.id, when)
        store.messages.failed(
            webhook.id, "The webhook at 127.0.0.1 answered 500.", when + timedelta(hours=1), when
        )


def test_the_list_says_how_far_each_got(layupwatch: Layupwatch, folder: Path) -> None:
    """Sent, or not taken and when it is tried next; seen; asked again; and no secret."""
    raised(folder)
    said = layupwatch("alert", "list", now=NOW)
    assert said.code == 0
    assert said.out.splitlines() == [
        "1  21:32 today  Part 3: 9.7 °C at shed. Warm it.",
        "    command: sent 21:32 today",
        "    webhook: not taken, next at 22:32 today. The webhook at 127.0.0.1 answered 500.",
    ]
    assert layupwatch("alert", "again", 1, now=NOW).out == "Asked again at 22:20 today.\n"
    again = layupwatch("alert", "list", now=NOW).out
    assert "Warm it. Asked again at 22:20 today." in again
    assert "    command, again: waits until 22:20 today" in again
    assert layupwatch("alert", "seen", 1, now=NOW).out == "Seen.\n"
    seen = layupwatch("alert", "list", now=NOW).out
    assert "Warm it. Seen at 22:00 today." in seen
    assert "command, again: not sent. It was seen before it went out." in seen
    assert SECRET not in again + seen + said.out


def test_the_list_for_programs(layupwatch: Layupwatch, folder: Path) -> None:
    """The alert with its loudness and each message."""
    raised(folder)
    (alert,) = json.loads(layupwatch("alert", "list", "--json", now=NOW).out)
    assert (alert["id"], alert["aloud"], alert["withdrawn"]) == (1, "any-hour", None)
    assert [(m["channel"], m["tries"], m["sent_at"] is not None) for m in alert["messages"]] == [
        ("command", 1, True),
        ("webhook", 1, False),
    ]


def test_each_channel_is_tried(layupwatch: Layupwatch, folder: Path) -> None:
    """What took it and what didn't; 3 where one didn't, and no secret."""
    said = layupwatch("alert", "test", now=NOW)
    assert said.code == 3
    first, second = said.out.splitlines()
    assert first == "command: taken."
    assert second.startswith("webhook: not taken. The webhook at 127.0.0.1 can't be reached")
    heard = (folder.parent / "heard").read_text("utf-8")
    assert heard == "A test from the shop at 22:00 today. Nothing needs doing.\n"
    assert SECRET not in said.out + said.err


def test_without_a_channel(layupwatch: Layupwatch) -> None:
    """It says where alerts stand, and how to add one."""
    said = layupwatch("alert", "test", now=NOW)
    assert said.code == 0
    assert "under [alerts]" in said.out


@pytest.mark.parametrize("command", ["seen", "again"])
def test_an_alert_that_is_not_there(layupwatch: Layupwatch, folder: Path, command: str) -> None:
    """Two lines."""
    with store_of(folder):
        said = layupwatch("alert", command, 5, now=NOW)
    assert said.code == 2
    assert said.err.splitlines()[0] == "There is no alert 5."
