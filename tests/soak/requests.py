"""Requests that no page of ours sends, to a running `run --lan`: what it answers, and what stays.

`python -m tests.soak.requests --requests 100000`. A fifth is made from openapi.json by
schemathesis, as it says and as it doesn't; the rest by hand. Each comes from an address of its own,
as a writer signed in, as somebody with leave to look, or as nobody.
"""

import argparse
import json
import re
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from importlib.resources import files
from itertools import count, islice
from pathlib import Path
from urllib.parse import urlencode

import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from schemathesis.core import NOT_SET
from schemathesis.generation.modes import GenerationMode
from starlette.routing import Route

from dashboards.app import build_app
from monitor.store.proof import prove
from tests.dashboards.conftest import NOW
from tests.scenarios.shop import open_demo_shop
from tests.soak.hostile_requests import FORM, HostileRequests, Made, looked_through
from tests.soak.lan import Lan, open_to_the_network
from tests.soak.weighing import cpu_s, held_mib

SENDERS = 6
LOOK_AGAIN_EVERY = 1_000
MADE_BY_SCHEMA = 0.2
SHOWN = 5
_NUMBERS = count(700_001)


@dataclass
class Tally:
    """What was asked, how often, and how it was answered."""

    statuses: Counter[tuple[str, str, int]] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    waits_s: list[float] = field(default_factory=list)
    slowest: tuple[float, str] = (0.0, "")
    done: int = 0
    _one: threading.Lock = field(default_factory=threading.Lock)

    def add(self, lan: Lan, made: Made, own: str) -> None:
        began = time.monotonic()
        answer = lan.send(made.data, own, whole=made.whole)
        took_s = time.monotonic() - began
        with self._one:
            self.done += 1
            self.statuses[made.kind, made.who, answer.status] += 1
            self.wrong += [f"{each} to {made.data[:1500]!r}" for each in answer.wrong]
            if made.whole:
                self.waits_s.append(took_s)
                self.slowest = max(self.slowest, (took_s, repr(made.data[:300])))

    def __str__(self) -> str:
        found: dict[tuple[str, str], dict[int, int]] = {}
        for (kind, who, status), times in self.statuses.items():
            found.setdefault((kind, who), {})[status] = times
        return "\n".join(
            f"{kind:12} {who:7} {sum(of.values()):7}  "
            + ", ".join(f"{status or 'hung up'}: {of[status]}" for status in sorted(of))
            for (kind, who), of in sorted(found.items())
        )


@dataclass
class Outcome:
    tally: Tally
    took_s: float
    cpu_s: float
    held_mib: tuple[float, float]
    """At a tenth and at the end."""
    pages_s: tuple[float, float]
    """Everything open, before and after, each the quickest of five."""
    page_after: int
    logged: str
    ended: int
    database: str

    @property
    def fine(self) -> bool:
        quiet = "Traceback" not in self.logged and "Error" not in self.logged
        return (
            not self.tally.wrong
            and quiet
            and (self.page_after, self.ended, self.database) == (200, 0, "whole")
        )

    def __str__(self) -> str:
        waits = sorted(self.tally.waits_s)
        mid, late = waits[len(waits) // 2], waits[len(waits) * 99 // 100]
        return "\n".join(
            (
                str(self.tally),
                f"{self.tally.done} requests in {self.took_s:.0f} s, {self.cpu_s:.0f} s of it on a "
                f"processor; half within {1000 * mid:.0f} ms, 99 of 100 within {1000 * late:.0f}.",
                f"The slowest took {self.tally.slowest[0]:.2f} s: {self.tally.slowest[1]}",
                f"All that is open: {1000 * self.pages_s[0]:.0f} ms before, "
                f"{1000 * self.pages_s[1]:.0f} ms after, status {self.page_after}.",
                f"Held: {self.held_mib[0]:.0f} MiB at a tenth, {self.held_mib[1]:.0f} at the end.",
                f"Logged: {len(self.logged.splitlines())} lines. Ended with {self.ended}. "
                f"Database: {self.database}.",
                f"Wrong: {len(self.tally.wrong)}",
                *self.tally.wrong[:SHOWN],
            )
        )


def addresses(folder: Path) -> tuple[tuple[str, str], ...]:
    """Method and path of everything that is answered, from the app's own routes."""
    at_hand = open_demo_shop(folder)
    app = build_app(at_hand.store, at_hand.shop, clock=lambda: NOW, door=True)
    at_hand.store.close()
    every = [
        (method, re.sub(r"{(\w+):path}", r"{\1}", route.path))
        for route in app.routes
        if isinstance(route, Route)
        for method in sorted((route.methods or set()) - {"HEAD"})
    ]
    # Whoever signs everybody out has nobody to ask as.
    return tuple((method, path) for method, path in every if not path.endswith("/sign-out"))


def by_schema(lan: Lan, hostile: HostileRequests, times: int, dice_seed: int) -> Iterator[Made]:
    """As many of each operation: half as openapi.json says, half as it doesn't."""
    told = json.loads(files("dashboards").joinpath("openapi.json").read_text(encoding="utf-8"))
    operations = [each.ok() for each in schemathesis.openapi.from_dict(told).get_all_operations()]
    takes = [each for each in operations if each.path_parameters or each.query or each.body]
    each_times = max(times // len(takes) // 2, 1)
    for operation in takes:
        for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE):
            if mode is GenerationMode.POSITIVE or _can_be_wrong(operation):
                for case in _cases(operation, mode, each_times, dice_seed):
                    yield _sent(lan, hostile, case)


def _cases(
    operation: schemathesis.APIOperation, mode: GenerationMode, times: int, dice_seed: int
) -> list[schemathesis.Case]:
    found: list[schemathesis.Case] = []

    @seed(dice_seed)
    @settings(
        max_examples=times,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate],
    )
    @given(operation.as_strategy(generation_mode=mode))
    def make(case: schemathesis.Case) -> None:
        found.append(case)

    make()
    return found


def _can_be_wrong(operation: schemathesis.APIOperation) -> bool:
    """Any text at all is a name; there is nothing that it must not be."""
    names = [each.definition["schema"].get("type") for each in operation.path_parameters]
    return bool(operation.query or operation.body) or names != ["string"]


def _sent(lan: Lan, hostile: HostileRequests, case: schemathesis.Case) -> Made:
    who, seal = hostile.who(), lan.seal[1]
    if "number" in case.path_parameters and hostile.tossed():
        # A part that is there leads further than any number.
        case.path_parameters["number"] = hostile.numbers[-1]
    words = urlencode(
        {name: str(each) for name, each in (case.query or {}).items()}, errors="replace"
    )
    path = case.formatted_path + (f"?{words}" if words else "")
    if case.method == "GET":
        return Made("schema", who, hostile.head("GET", path, who).encode())
    given_body = None if case.body is NOT_SET else case.body
    if case.media_type == FORM and isinstance(given_body, dict):
        body = urlencode({**given_body, "seal": seal}, errors="replace", doseq=True).encode()
        return Made("schema", who, hostile.with_body("POST", path, who, body, FORM))
    body = json.dumps(given_body, default=str).encode()
    json_kind = "application/json"
    return Made(
        "schema", who, hostile.with_body("POST", path, who, body, json_kind, f"X-Seal: {seal}")
    )


def ask_hostile(folder: Path, requests: int, seed_of_all: int) -> Outcome:
    log = folder / "log"
    known = addresses(folder / "other")
    tally = Tally()
    with open_to_the_network(folder / "shop", log) as lan:
        makers = [HostileRequests(lan, seed_of_all + n, known) for n in range(SENDERS)]
        _look_again(lan, makers)
        before_s, _ = all_open(lan)
        began, used_s = time.monotonic(), cpu_s(lan.process.pid)
        by_hand = round(requests * (1.0 - MADE_BY_SCHEMA))
        streams: list[Iterator[Made]] = [
            by_schema(lan, makers[0], requests - by_hand, seed_of_all),
            *(islice(iter(maker), by_hand // (SENDERS - 1)) for maker in makers[1:]),
        ]
        threads = [
            threading.Thread(target=_ask_all, args=(lan, tally, maker, stream), daemon=True)
            for maker, stream in zip(makers, streams, strict=True)
        ]
        for thread in threads:
            thread.start()
        tenth_mib, looked_at = 0.0, 0
        while any(thread.is_alive() for thread in threads):
            time.sleep(0.1)
            assert lan.process.poll() is None, log.read_text(encoding="utf-8")
            if not tenth_mib and tally.done >= requests // 10:
                tenth_mib = held_mib(lan.process.pid)
            if tally.done - looked_at >= LOOK_AGAIN_EVERY:
                looked_at = tally.done
                _look_again(lan, makers)
        took_s, used_s = time.monotonic() - began, cpu_s(lan.process.pid) - used_s
        held = tenth_mib, held_mib(lan.process.pid)
        after_s, status = all_open(lan)
    proof = prove(folder / "shop" / "layupwatch.db")
    return Outcome(
        tally,
        took_s,
        used_s,
        held,
        (before_s, after_s),
        status,
        log.read_text(encoding="utf-8"),
        lan.process.returncode,
        "; ".join(proof.problems) or "whole",
    )


def _look_again(lan: Lan, makers: list[HostileRequests]) -> None:
    """Log a part and a cup as somebody would, so that there is always one, and take in the pages.

    Raises where that isn't answered as ever: whoever works goes on meanwhile.
    """
    number = str(next(_NUMBERS))
    own = f"127.253.{int(number) % 250}.1"
    part = {"number": number, "what": "rudder", "sheet": "demo-laminating", "sensor": "bow"}
    cup = {"role": "skin-a", "resin_g": "200", "second_g": "3", "mixed_at": "-5m"}
    pressed = [lan.press("/api/layups", part, "writer", own)]
    pressed.append(lan.press(f"/api/layups/{number}/batches", cup, "writer", own))
    pressed.append(lan.press(f"/api/layups/{number}/marks", {"kind": "kicked"}, "writer", own))
    assert [answer.status for answer in pressed] == [201, 201, 201], pressed
    found = looked_through(lan)
    for maker in makers:
        maker.look_again(*found)


def _ask_all(lan: Lan, tally: Tally, maker: HostileRequests, stream: Iterator[Made]) -> None:
    for made in stream:
        try:
            tally.add(lan, made, maker.own())
        except Exception as fault:  # noqa: BLE001 (told with the request that it came of)
            tally.wrong.append(f"{fault!r} to {made.data[:1500]!r}")


def all_open(lan: Lan) -> tuple[float, int]:
    """How long a writer waits for every open part, at best of five, and the status."""
    waits_s = []
    for number in range(5):
        began = time.monotonic()
        answer = lan.page("/api/now", own=f"127.252.0.{number + 2}")
        waits_s.append(time.monotonic() - began)
    return min(waits_s), answer.status


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--requests", type=int, default=100_000)
    asked.add_argument("--seed", type=int, default=1)
    given_here = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        outcome = ask_hostile(Path(folder), given_here.requests, given_here.seed)
    print(outcome)
    sys.exit(not outcome.fine)


if __name__ == "__main__":
    main()
