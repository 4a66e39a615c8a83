"""A program that stores steadily, and says what it was told is stored.

`python -m tests.soak.steady PLACE FIRST`. It is killed at a random moment; each line it prints
came after a commit had returned.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from monitor.records import MarkKind, Reading
from monitor.store import Store
from tests.soak.places import store_at

START = datetime(2026, 5, 2, tzinfo=UTC)
SENSOR, NUMBER = "shed", 3
MARK_EVERY, ALERT_EVERY = 7, 11


def reading(number: int) -> Reading:
    return Reading(
        START + timedelta(seconds=number), 15.0 + number % 90 / 10, 60.0, raw=f"{number}"
    )


def prepared(store: Store) -> tuple[int, int]:
    """A sensor and a layup, made by the first run; their ids."""
    names = {sensor.name: sensor.id for sensor in store.book.sensors()}
    sensor_id = names.get(SENSOR) or store.book.add_sensor(SENSOR, "none").id
    open_ones = {layup.number: layup.id for layup in store.book.layups()}
    if NUMBER not in open_ones:
        sheet = store.book.keep_sheet("demo", "x", START)
        open_ones[NUMBER] = store.book.add_layup(NUMBER, "rudder cheek", sheet.id).id
    return sensor_id, open_ones[NUMBER]


def write_on(store: Store, first: int) -> Iterator[str]:
    """What has just been stored, for ever."""
    sensor_id, layup_id = prepared(store)
    number = first
    while True:
        at = START + timedelta(seconds=number)
        store.readings.add(sensor_id, [reading(number)])
        yield f"reading {number}"
        if number % MARK_EVERY == 0:
            store.book.add_mark(layup_id, None, MarkKind.NOTE, at, str(number))
            yield f"mark {number}"
        if number % ALERT_EVERY == 0:
            store.alerts.raise_alert("soak", str(number), at, at, (NUMBER,), "Fact.", "Do.")
            yield f"alert {number}"
        number += 1


@dataclass(frozen=True)
class Found:
    """What a store holds, word by word as it was said, each as often as it is there."""

    said: tuple[str, ...]
    summed_up: int
    problems: tuple[str, ...]


def look_into(store: Store) -> Found:
    sensor_id, layup_id = prepared(store)
    readings = store.readings.between(sensor_id, None, None)
    said = [f"reading {round(time_s - START.timestamp())}" for time_s in readings.time_s]
    said += [f"mark {mark.note}" for mark in store.book.marks(layup_id)]
    said += [f"alert {alert.key}" for alert in store.alerts.recent(1_000_000)]
    hours = store.readings.rollups(sensor_id, None, None, "hour")
    return Found(tuple(said), int(hours.n_all.sum()), store.problems())


def main() -> None:
    place, first = sys.argv[1], int(sys.argv[2])
    with store_at(place) as store:
        print("ready", flush=True)
        for line in write_on(store, first):
            print(line, flush=True)


if __name__ == "__main__":
    main()
