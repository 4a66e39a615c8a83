"""Invented jobs of a week each, drawn from a seed, and every message that rang in it."""

from datetime import UTC, datetime, timedelta

import numpy as np

from monitor.overview import Desk
from monitor.records import Alert
from tests.alerts.replay import TELLING, Kept, look_once, ring
from tests.scenarios import columns
from tests.scenarios.shop import ShopAtHand

WEEK_H = 7 * 24
MOST_AT_NIGHT = 3


def week(
    mean_c: float, swing_c: float, damp_pct: float, seed: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Time in hours from midnight, °C and %: days, spells of weather, a little noise."""
    rng = np.random.default_rng(seed)
    hours = np.arange(0.0, WEEK_H + 24.0, 1.0 / 6.0)
    spell = np.interp(hours, np.arange(0.0, WEEK_H + 72.0, 36.0), rng.normal(0.0, 1.5, 7))
    day_c = swing_c * np.cos((hours - 15.0) / 24.0 * 2.0 * np.pi)
    warm = mean_c + day_c + spell + rng.normal(0.0, 0.1, hours.size)
    damp = np.clip(damp_pct - 3.0 * (day_c + spell), 20.0, 100.0)
    return hours, warm, damp


def job(shop: ShopAtHand, seed: int) -> datetime:
    """A part or two, of a batch or two, in a yard's spring or a shed's, with a mishap or two."""
    rng = np.random.default_rng(1000 + seed)
    midnight = datetime(2026, 5, 1, tzinfo=UTC)
    hours, warm, damp = week(rng.uniform(8, 22), rng.uniform(1, 7), rng.uniform(55, 85), seed)
    keep = np.ones(hours.size, np.bool_)
    for _ in range(rng.integers(0, 3)):
        silent = rng.uniform(10.0, WEEK_H)
        keep &= ~((hours > silent) & (hours < silent + rng.uniform(0.5, 9.0)))
    if rng.random() < 0.4:
        from_h, until_h = np.sort(rng.uniform(9.0, WEEK_H, 2))
        heated = (hours > from_h) & (hours < until_h)
        warm = np.where(heated, np.maximum(warm, 21.0), warm)
    time_s = midnight.timestamp() + hours * 3600.0
    shop.hear("yard", columns(time_s[keep], warm[keep], damp[keep]))
    for number in range(1, 3 if seed % 3 == 0 else 2):
        sheet = str(rng.choice(["P1", "G1", "B1", "E1"]))
        begun = midnight + timedelta(hours=24.0 + float(rng.uniform(8.0, 40.0)))
        shop.lay_up(number, sheet, begun, role="plain-coat" if sheet == "G1" else "skin-a")
        shop.put(str(number), "yard", begun)
        if rng.random() < 0.5:
            role = "wax-coat" if sheet == "G1" else "skin-b"
            shop.mix(f"{number}/{role}", sheet, begun + timedelta(hours=float(rng.uniform(3, 30))))
    return midnight + timedelta(hours=32)


def lived(
    shop: ShopAtHand, start: datetime, by_night: timedelta, by_day: timedelta
) -> list[tuple[datetime, Alert]]:
    """Every message that rang in a week, each seen when it rang, looked for every so often."""
    desk, kept, rung, now = Desk(shop.store, keeps=True), Kept(), [], start
    while now < start + timedelta(hours=WEEK_H):
        look_once(shop.store, now, kept, desk)
        for message in ring(shop.store, now):
            alert = shop.store.alerts.mark_seen(message.alert_id, now)
            rung.append((now, alert))
        now += by_night if at_night(now) or at_night(now + by_day) else by_day
    return rung


def at_night(moment: datetime) -> bool:
    return TELLING.night.hold(moment, TELLING.zone)


def wakes(rung: list[tuple[datetime, Alert]]) -> list[str]:
    return [f"{now:%a %H:%M} {alert.rule}" for now, alert in rung if at_night(now)]
