"""The daemon and the demo, with the pages beside them."""

import gc
import logging
import os
import signal
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from monitor.cli.session import Open, Session, say
from monitor.errors import BadInput, HostError, StoreError
from monitor.errors.text import shown

if TYPE_CHECKING:
    from datetime import datetime

    from starlette.applications import Starlette

    from dashboards.serve import WebServer
    from monitor.daemon import Daemon
    from monitor.overview import Desk

CLOCK_EVERY_S = 10.0
TURN_S = 0.0005
"""How long a thread that reckons keeps the others waiting, for Python's own 5 ms. Beside a look a
page waits so each time it has asked the database something."""

_log = logging.getLogger("layupwatch")

PORT = click.option("--port", type=click.IntRange(0, 65535), help="The pages' port; 0: any.")


class _OneLine(logging.Formatter):
    """One entry one line, whatever it tells of; a traceback stands under its own, set in."""

    def __init__(self) -> None:
        super().__init__("%(asctime)s %(levelname)s %(message)s")

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802 # the library's name
        return shown(super().formatMessage(record))

    def formatException(self, ei: Any) -> str:  # noqa: N802 # the library's name
        lines = super().formatException(ei).split("\n")
        return "\n".join(f"  {shown(line)}" for line in lines)


def _log_to_stderr() -> None:
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(_OneLine())
    logging.basicConfig(level=logging.INFO, handlers=[handler])
    logging.getLogger("apscheduler").setLevel(logging.ERROR)
    for chatty in ("uvicorn", "alembic"):
        logging.getLogger(chatty).setLevel(logging.WARNING)


@contextmanager
def _until_told() -> Iterator[threading.Event]:
    """An event that SIGINT and SIGTERM set."""
    told = threading.Event()

    def tell(_signal: int, _frame: object) -> None:
        told.set()

    before = {s: signal.signal(s, tell) for s in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield told
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


@click.command("run")
@click.option("--sensor", "named", multiple=True, metavar="NAME=PORT", help="Add a sensor too.")
@click.option("--no-web", is_flag=True, help="Collect and alert without pages.")
@click.option("--lan", is_flag=True, help="Let phones on this network in, by passcode.")
@PORT
@click.pass_obj
def run_command(
    session: Session, named: tuple[str, ...], no_web: bool, lan: bool, port: int | None
) -> None:
    """Collect, check, alert, and serve the pages until stopped.

    run --sensor shed=/dev/ttyUSB0
    """
    from monitor.alerts.outside import outside_channels
    from monitor.alerts.postman import Postman
    from monitor.alerts.rules import Telling
    from monitor.cli.session import now_utc, steady_s
    from monitor.cli.watching import watching
    from monitor.cli.wires import ColumnsAtHand, feeds_of
    from monitor.daemon import Daemon
    from monitor.host import share_heaps
    from monitor.overview import Desk
    from monitor.store.faults import AwayStore

    _log_to_stderr()
    share_heaps()
    sys.setswitchinterval(TURN_S)
    with _until_told() as told, watching(session) as (at, upkeep):
        try:
            for pair in named:
                _register(at, pair)
        except AwayStore as fault:
            # What was read here last is read on, and waits for the server.
            _log.warning("%s %s", *fault.lines())
        columns_of = ColumnsAtHand(at.shop.folder, at.shop.wires)
        alerting = at.shop.alerting
        telling = Telling(at.shop.zone, at.shop.unit, alerting.night)
        postman = Postman(at.store, outside_channels(alerting), now_utc)
        # One desk for both: what it keeps between looks serves the pages and the alerts.
        desk = Desk(at.store, keeps=True)
        daemon = Daemon(
            at.store,
            telling,
            clock=now_utc,
            steady=steady_s,
            desk=desk,
            upkeep=upkeep,
            postman=postman,
            feeds=feeds_of(at, columns_of),
            columns_of=columns_of,
        )
        server = None if no_web else _pages(at, port, lan, desk)
        daemon.start()
        try:
            if server is not None:
                _say_where(at, server.start(), lan)
            if not upkeep.own_sensors():
                say("No sensor yet. See what is plugged in: ports. Then: sensor add.")
            say(f"Watching. The shop is {at.shop.folder}. Ctrl-C stops it.")
            _watch(told, at, daemon)
        finally:
            if server is not None:
                server.stop()
            daemon.stop()
    say(upkeep.farewell())


def _watch(told: threading.Event, at: Open, daemon: "Daemon") -> None:
    """Until told to stop: tell the service manager that it goes on; mind clock and memory."""
    from monitor.cli.session import now_utc, steady_s
    from monitor.host import Timekeeper, give_back_memory, set_by_network, sleeps
    from monitor.notify import Notifier, beats_every_s
    from monitor.sensing.clock_steps import ClockWatch

    asleep = sleeps()
    if asleep is not None:
        _log.warning("%s %s", *asleep)
    manager = Notifier(os.environ.get("NOTIFY_SOCKET"))
    every_s = min(beats_every_s(os.environ.get("WATCHDOG_USEC")) or CLOCK_EVERY_S, CLOCK_EVERY_S)
    timekeeper, clock_watch = Timekeeper(at.shop.folder), ClockWatch()
    manager.ready()
    # What stands by now stays: looking through it again and again would hold up pages.
    gc.collect()
    gc.freeze()
    while True:
        now, since_boot_s = now_utc(), steady_s()
        set_by = clock_watch.step(now, since_boot_s)
        if set_by is not None:
            timekeeper.was_set(set_by, since_boot_s)
        doubt = timekeeper.doubt(now, _newest(at), synced=set_by_network())
        if doubt is None:
            if at.store.health.well("clock"):
                _log.warning("This machine's clock is believed again.")
        elif at.store.health.say("clock", doubt.lines()):
            _log.warning("%s %s", *doubt.lines())
        if daemon.alive(steady_s()):
            manager.alive()
        else:
            _log.error("A part of the watch hangs; the service manager will start it again.")
        give_back_memory()
        if told.wait(every_s):
            manager.stopping()
            return


def _newest(at: Open) -> "datetime | None":
    """The newest reading in store; None where there is none, or the store can't be asked now."""
    try:
        return max((r.at for r in at.store.readings.newest().values()), default=None)
    except StoreError:
        return None


def _pages(at: Open, port: int | None, lan: bool, desk: "Desk") -> "WebServer":
    from dashboards.app import build_app
    from dashboards.guard import LOOPBACK_NAMES, name_of
    from dashboards.serve import EVERYWHERE, WebServer, own_names
    from monitor.cli.session import now_utc, steady_s

    wanted = at.shop.web_port if port is None else port
    if not lan:
        return WebServer(build_app(at.store, at.shop, clock=now_utc, desk=desk), wanted)
    if not _passcode_given(at):
        raise BadInput(
            "No passcode is set: anyone on this network could open the pages.",
            "Set one first: layupwatch passcode set write. For looking only: passcode set look.",
        )
    names = LOOPBACK_NAMES | own_names()
    if at.shop.web_address is not None:
        told = name_of(at.shop.web_address.partition("://")[2].partition("/")[0])
        names |= {told} if told else frozenset()
    app = build_app(
        at.store, at.shop, clock=now_utc, desk=desk, names=names, door=True, steady=steady_s
    )
    return WebServer(app, wanted, EVERYWHERE, at.shop.web_tls)


def _passcode_given(at: Open) -> bool:
    """Whether phones can sign in; with the server away nobody can, and nobody can tell."""
    from monitor.store.faults import AwayStore

    try:
        return bool(at.store.door.given())
    except AwayStore:
        return True


def _say_where(at: Open, here: str, lan: bool) -> None:
    from dashboards.serve import own_address

    say(f"The pages are at {here}")
    if not lan:
        return
    address = own_address()
    there = at.shop.web_address or (here.replace("127.0.0.1", address) if address else None)
    say(f"For phones on this network: {there or 'this machine is on no network'}")
    if at.shop.web_tls is None:
        say(
            "Without a certificate, others on this network can read what a phone sends, the "
            "passcode too. Name one under [web] in shop.toml: certificate and key."
        )


def _register(at: Open, pair: str) -> None:
    name, sign, port = pair.partition("=")
    if not sign or not name or not port:
        raise BadInput(f"{pair!r} is not NAME=PORT.", "Write --sensor shed=/dev/ttyUSB0.")
    at.book().add_sensor(name, port, unit=None, form=None, now=at.now)


@click.command("demo")
@PORT
@click.option("--speed", type=click.FloatRange(1, 3600), default=120, show_default=True)
def demo_command(port: int | None, speed: float) -> None:
    """A made-up shop whose time flies. Nothing of it stays when you stop it."""
    from dashboards.app import build_app
    from dashboards.serve import WebServer
    from monitor.demo import Demo

    _log_to_stderr()
    logging.getLogger("layupwatch.alerts").setLevel(logging.ERROR)
    with _until_told() as told, tempfile.TemporaryDirectory(prefix="layupwatch-demo-") as folder:
        demo = Demo(Path(folder), speed)
        app = build_app(demo.store, demo.shop, clock=demo.clock)
        server, address = _served(WebServer, app, demo.shop.web_port, port)
        demo.start()
        try:
            say(f"A made-up shop, made-up resins, its time {speed:g} times as fast as life.")
            say(f"Look at {address}")
            say("Ctrl-C ends it and leaves nothing behind.")
            told.wait()
        finally:
            server.stop()
            demo.stop()


def _served(
    make: "type[WebServer]", app: "Starlette", usual: int, wanted: int | None
) -> "tuple[WebServer, str]":
    """The pages on the port asked for, or on the usual one, or on any where that is taken."""
    if wanted is not None:
        server = make(app, wanted)
        return server, server.start()
    try:
        server = make(app, usual)
        return server, server.start()
    except HostError:
        server = make(app, 0)
        return server, server.start()
