"""A webhook: one JSON object posted to an address."""

import base64
import json
from http.client import HTTPException
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import unquote_to_bytes, urlsplit, urlunsplit
from urllib.request import HTTPRedirectHandler, Request, build_opener

from monitor.alerts.channels import NotSent
from monitor.records import Message
from monitor.times import iso_utc

PATIENCE_S = 10.0

_REMEDY = "Look at alerts.webhook in shop.toml, and at whoever answers there."


class _NoDetours(HTTPRedirectHandler):
    """What is posted to one address is not told to another."""

    def redirect_request(self, *_: Any, **__: Any) -> None:
        return None


class WebhookChannel:
    """Posts `id` (the same when it is tried again), `alert`, `kind`, `made_at` and `text`.

    The address may hold a token: only its host is ever told.
    """

    name = "webhook"

    def __init__(self, address: str, patience_s: float = PATIENCE_S) -> None:
        self._patience_s = patience_s
        self._address, self._leave = _without_password(address)
        self._host = urlsplit(address).hostname or "?"
        self._opener = build_opener(_NoDetours)

    def ready(self) -> None:
        """It is asked once something is posted."""

    def send(self, message: Message) -> None:
        request = Request(
            self._address,
            data=json.dumps(_told(message), ensure_ascii=False).encode(),
            headers={
                "Content-Type": "application/json",
                "User-Agent": "layupwatch",
                **self._leave,
            },
            method="POST",
        )
        try:
            self._opener.open(request, timeout=self._patience_s).close()
        except HTTPError as answer:
            answer.close()
            raise NotSent(f"The webhook at {self._host} answered {answer.code}.", _REMEDY) from None
        except (URLError, HTTPException, OSError, ValueError) as error:
            raise NotSent(
                f"The webhook at {self._host} can't be reached ({_kind(error)}).", _REMEDY
            ) from None


def _without_password(address: str) -> tuple[str, dict[str, str]]:
    """The address as it may be asked for, and its user and password as a header: RFC 7617.

    Left in it, they would go out with the question for the host's number.
    """
    parts = urlsplit(address)
    before, sign, host = parts.netloc.rpartition("@")
    if not sign:
        return address, {}
    told = base64.b64encode(unquote_to_bytes(before)).decode()
    return urlunsplit(parts._replace(netloc=host)), {"Authorization": f"Basic {told}"}


def _kind(error: Exception) -> str:
    """What went wrong without the words of the other side, which may repeat the address."""
    inner = error.reason if isinstance(error, URLError) else error
    if isinstance(inner, TimeoutError):
        return "no answer in time"
    if isinstance(inner, OSError) and inner.strerror:
        return inner.strerror.lower()
    return "no answer that can be read"


def _told(message: Message) -> dict[str, object]:
    return {
        "id": message.id,
        "alert": message.alert_id,
        "kind": message.kind.value,
        "made_at": iso_utc(message.made_at),
        "text": message.text,
    }
