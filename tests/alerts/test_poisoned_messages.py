"""An alert of a part that is called like an attack: every channel gets words, in one line."""

import email
import email.policy
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler
from pathlib import Path
from typing import Any

import pytest

from monitor.alerts.channels import LogChannel, ended, sentence
from monitor.alerts.outside.addresses import TITLE, AddressChannel
from monitor.alerts.outside.command import CommandChannel
from monitor.alerts.outside.webhook import WebhookChannel
from monitor.records import Alert, Aloud, Message, MessageKind
from tests.alerts.sinks import answering, body_of, mail, mailto
from tests.scenarios.poison import ODD, UNSEEN, WORDS

NOON = datetime(2026, 5, 2, 12, tzinfo=UTC)
BAD = " ".join((*WORDS, *UNSEEN)).replace("\x00", "")

# The library loads a part of the standard one that is to go.
pytestmark = pytest.mark.filterwarnings("ignore:'imghdr' is deprecated:DeprecationWarning")


def alert(words: str, withdrawn: str | None = None) -> Alert:
    return Alert(
        *(3, "dew", words, NOON, NOON, (1,), words, words),
        aloud=Aloud.ANY_HOUR,
        withdrawn=withdrawn,
    )


def message(channel: str, text: str) -> Message:
    return Message(7, 3, channel, MessageKind.SAID, text, NOON, NOON)


def test_what_is_said_of_an_alert_is_one_line() -> None:
    """What it holds, and that it is over or never was."""
    for told in (sentence(alert(BAD)), ended(alert(BAD)), ended(alert(BAD, BAD))):
        assert ODD.findall(told) == []
        assert "\n" not in told
        assert all(words in told for words in WORDS)
        assert told.startswith("Part 1: ")


def test_the_log_has_one_line_of_it(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level("INFO")
    LogChannel().send(alert(BAD))
    LogChannel().withdraw(alert(BAD))
    assert len(caplog.messages) == 2
    assert all(len(said.splitlines()) == 1 for said in caplog.messages)


@pytest.mark.parametrize("words", [*WORDS, BAD])
def test_a_command_gets_them_on_its_input(tmp_path: Path, words: str) -> None:
    """One line, to the letter; no shell looks at them, and none of them is a word of its own."""
    heard = tmp_path / "heard"
    ring = tmp_path / "ring"
    ring.write_text(f'#!/bin/sh\ncat > {heard}; echo "$#" >> {heard}\n')
    ring.chmod(0o755)
    text = sentence(alert(words))
    CommandChannel((str(ring),)).send(message("command", text))
    assert heard.read_text() == f"{text}\n0\n"


def test_a_webhook_gets_them_as_one_text() -> None:
    """As JSON, RFC 8259: nothing of them becomes a key or a header."""
    got: list[Any] = []

    def answer(handler: BaseHTTPRequestHandler) -> None:
        got.append((sorted(handler.headers.keys()), body_of(handler)))
        handler.send_response(204)
        handler.end_headers()

    with answering(answer) as address:
        for words in ("plain", BAD):
            # Also one that an older version wrote down, as it came.
            for text in (sentence(alert(words)), words):
                WebhookChannel(address).send(message("webhook", text))
                assert got[-1][1]["text"] == text
    assert len({str(headers) for headers, _ in got}) == 1
    assert {tuple(body) for _, body in got} == {("id", "alert", "kind", "made_at", "text")}


def test_a_letter_has_no_header_of_theirs() -> None:
    """Neither a recipient nor anything else: RFC 5322, section 2.2. The text is all there."""
    headers = set()
    with mail() as (box, port):
        # The last is one that an older version wrote down, as it came.
        for text in ("plain", sentence(alert(BAD)), f"a\r\nBcc: x@y.example\r\n\r\n{BAD}"):
            # A fresh channel: the library lets one rest for seconds after each letter.
            AddressChannel("mailto", mailto(port)).send(message("mailto", text))
            letter = email.message_from_string(box.letters[-1], policy=email.policy.default)
            headers.add(tuple(sorted(letter.keys())))
            assert letter["Subject"] == TITLE
            assert letter["To"] == "me@yard.test"
            body = letter.get_body(("plain",))
            assert body is not None
            assert "\r" in text or text in body.get_content()
            html = letter.get_body(("html",))
            told = "" if html is None else html.get_content()
            assert not any(markup in told for markup in ("<script", "<img", 'href="javascript'))
        assert box.recipients == {("me@yard.test",)}
    assert len(headers) == 1
