"""Holds a sensor against a jar of salt, or against ice: has it come to rest, and how far is it off?

Common practice without a source unless said: how long, how flat, and what is too far off.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from monitor.errors import BadInput
from monitor.records import Channel, Readings, Sensor, SensorCheck
from monitor.sensing.flatness import BLOCK_S, Rest, rest, unbroken
from monitor.sensing.salts import VALID_C, Salt
from monitor.store import Store

SALT_OVER = timedelta(hours=1)
SALT_APART_PCT = 0.3
SALT_WARMTH_C = 0.5
"""1 °C between the air and the salt is worth some 4 to 5 %, so the jar must keep its warmth."""
SALT_OFF_PCT = 8.0
ICE_OVER = timedelta(minutes=15)
ICE_APART_C = 0.1
ICE_OFF_C = 2.0
ICE_C = 0.0
"""Ice and water at ordinary pressure. Source: the Celsius scale's own old fixed point, good to
0.01 °C (ITS-90)."""
ICE = "ice"

CHECK_AFTER = timedelta(days=183)
CHECK_AFTER_JOBS = 10

Resting = Literal["silent", "too-short", "moving", "too-far-off", "at-rest"]


@dataclass(frozen=True, slots=True)
class Held:
    """What a sensor reads and what is true there; `apart`: how far it still moves."""

    state: Resting
    standard: str
    channel: Channel
    read: float = 0.0
    true: float = 0.0
    apart: float = 0.0
    temperature_c: float = 0.0

    @property
    def off(self) -> float:
        return self.read - self.true


def held_against_salt(store: Store, sensor: Sensor, salt: Salt, now: datetime) -> Held:
    """Over the last hour, as read. Raises BadInput where the jar is too cold or too warm."""
    readings = store.readings.between(sensor.id, now - SALT_OVER, now, as_read=True)
    humidity, air = (
        _rest(readings, "humidity", SALT_OVER, now),
        _rest(readings, "air", SALT_OVER, now),
    )
    none = Held("silent", salt.name, Channel.AIR)
    if humidity is None or air is None:
        return none
    if not VALID_C[0] <= air.mean <= VALID_C[1]:
        raise BadInput(
            f"It is {air.mean:.1f} °C in the jar: the salts' figures hold from 5 to 40 °C.",
            "Stand it somewhere steady, at about 20 °C.",
        )
    true = salt.humidity_pct(air.mean)
    still = humidity.apart < SALT_APART_PCT and air.apart < SALT_WARMTH_C
    state = _state(humidity, SALT_OVER, still, abs(humidity.mean - true) <= SALT_OFF_PCT)
    return Held(state, salt.name, Channel.AIR, humidity.mean, true, humidity.apart, air.mean)


def held_against_ice(store: Store, sensor: Sensor, channel: Channel, now: datetime) -> Held:
    """A sealed probe in ice and water, over the last quarter of an hour, as read."""
    readings = store.readings.between(sensor.id, now - ICE_OVER, now, as_read=True)
    found = _rest(readings, "surface" if channel is Channel.SURFACE else "air", ICE_OVER, now)
    if found is None:
        return Held("silent", ICE, channel)
    near = abs(found.mean - ICE_C) <= ICE_OFF_C
    state = _state(found, ICE_OVER, found.apart < ICE_APART_C, near)
    return Held(state, ICE, channel, found.mean, ICE_C, found.apart, found.mean)


def keep(store: Store, sensor: Sensor, held: Held, now: datetime) -> SensorCheck:
    """Keep both numbers; what the sensor says from now on is put right by them."""
    pair = (held.read, held.true)
    return store.checks.add(
        sensor.id,
        held.standard,
        held.channel,
        now,
        held.temperature_c,
        humidity_pct=None if held.standard == ICE else pair,
        ice_c=pair if held.standard == ICE else None,
    )


@dataclass(frozen=True, slots=True)
class Age:
    """How long ago a sensor was last held against a salt, and how many batches since."""

    check: SensorCheck
    ago: timedelta
    jobs: int

    @property
    def due(self) -> bool:
        return self.ago > CHECK_AFTER or self.jobs >= CHECK_AFTER_JOBS


def age_of(store: Store, sensor: Sensor, now: datetime) -> Age | None:
    """Of the newest check of its humidity; None where it never had one."""
    checks = [check for check in store.checks.of(sensor.id) if check.read_pct is not None]
    if not checks:
        return None
    newest = checks[-1]
    jobs = store.checks.jobs_since(sensor.id, newest.checked_at)
    return Age(newest, now - newest.checked_at, jobs)


def _rest(
    readings: Readings,
    quantity: Literal["air", "humidity", "surface"],
    over: timedelta,
    now: datetime,
) -> Rest | None:
    column, shift = {
        "air": (readings.temperature_c, 0),
        "humidity": (readings.humidity_pct, 16),
        "surface": (readings.surface_c, 32),
    }[quantity]
    value = unbroken(readings, column, shift)
    return rest(readings.time_s, value, over.total_seconds(), now.timestamp())


def _state(found: Rest, over: timedelta, still: bool, near: bool) -> Resting:
    if found.covered_s < over.total_seconds() - BLOCK_S:
        return "too-short"
    if not still:
        return "moving"
    return "at-rest" if near else "too-far-off"
