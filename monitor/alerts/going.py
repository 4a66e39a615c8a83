"""How far a message got, in words: for the list and the page alike."""

from datetime import datetime, tzinfo

from monitor.records import Message, MessageKind
from monitor.times import said

_KINDS = {MessageKind.AGAIN: ", again", MessageKind.OVER: ", that it is over"}


def way_said(message: Message, zone: tzinfo, now: datetime) -> str:
    """`webhook: sent 21:34 today`"""
    where = f"{message.channel}{_KINDS.get(message.kind, '')}"
    if message.sent_at is not None:
        return f"{where}: sent {said(message.sent_at, zone, now)}"
    tries = f" after {message.tries} tries" if message.tries > 1 else ""
    if message.dropped_at is not None:
        return f"{where}: not sent{tries}. {message.trouble}"
    due = said(message.due_at, zone, now)
    if message.trouble is not None:
        return f"{where}: not taken{tries}, next at {due}. {message.trouble}"
    return f"{where}: waits until {due}"
