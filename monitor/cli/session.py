"""What a command needs of the shop: its settings, its store, its zone, and now."""

import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from monitor.errors.text import json_shown, shown
from monitor.times import parse_instant

if TYPE_CHECKING:
    from monitor.config import Shop
    from monitor.logbook import Logbook
    from monitor.store import Store


def now_utc() -> datetime:
    """The host's clock in UTC."""
    return datetime.now(UTC)


def steady_s() -> float:
    """Seconds of a clock that nobody sets, and that runs on while the host sleeps."""
    clock = getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC)
    return time.clock_gettime(clock)


@dataclass(frozen=True)
class Open:
    """A shop opened for one command."""

    shop: "Shop"
    store: "Store"
    now: datetime

    def book(self) -> "Logbook":
        from monitor.logbook import Logbook
        from monitor.sheets import Shelf

        return Logbook(self.store, Shelf(self.shop.folder, self.shop.demo))

    def moment(self, text: str | None, clock: Literal["past", "next"] = "past") -> datetime:
        """A time typed by a person, in the shop's zone; now where none was."""
        if text is None:
            return self.now
        return parse_instant(text, now=self.now, zone=self.shop.zone, clock=clock)


class Session:
    """Where the shop is, as the command line and the environment say."""

    def __init__(self, folder: str | None, host_zone: str | None) -> None:
        self._folder, self._host_zone = folder, host_zone

    def shop(self, *, create: bool = False) -> "Shop":
        from monitor.config import default_folder, open_shop

        return open_shop(default_folder(self._folder), create=create, host_zone=self._host_zone)

    @contextmanager
    def open(self, *, create: bool = False, watch: bool = False) -> Iterator[Open]:
        """The shop and its store. `create`: from an empty folder too, for what writes.

        Where the watch doubts this machine's clock, that is told; a watch itself finds out anew.
        """
        from monitor.host import Timekeeper

        shop = self.shop(create=create)
        with store_of(shop) as store:
            doubt = None if watch else Timekeeper(shop.folder).written_down()
            if doubt is not None:
                store.health.say("clock", doubt.lines())
                for line in doubt.lines():
                    say(line, err=True)
            yield Open(shop, store, now_utc())


def store_of(shop: "Shop") -> "Store":
    """The shop's store: its file, or its place on a server."""
    from monitor.store import Store

    if isinstance(shop.database, Path):
        return Store.open(shop.database, shop.backups)
    return Store.on_server(shop.database, shop.bench or socket.gethostname(), shop.backups)


def say(line: str = "", *, err: bool = False) -> None:
    """Print one line. Whatever it tells of, it is text: nothing in it acts on the terminal."""
    click.echo(shown(line), err=err)


def print_json(value: Any, *, indent: bool = True) -> None:
    import orjson

    told = orjson.dumps(value, option=orjson.OPT_INDENT_2 if indent else None)
    click.echo(json_shown(told.decode()))


def json_option(command: Any) -> Any:
    return click.option("--json", "as_json", is_flag=True, help="Print JSON.")(command)
