"""The salt jar and the ice, as they are asked for on the command line."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from monitor.records import Channel
from tests.cli.conftest import Layupwatch
from tests.scenarios import at
from tests.scenarios.shop import ShopAtHand, open_demo_shop

NOW = "2026-05-02T20:00:00Z"


@pytest.fixture
def shop_here(layupwatch: Layupwatch, tmp_path: Path):
    """The shop that `layupwatch` works in, and its store."""
    del layupwatch
    shop = open_demo_shop(tmp_path / "shop")
    yield shop
    shop.store.close()


def jar(
    shop: ShopAtHand,
    humidity_pct: float,
    *,
    creep_pct_per_h: float = 0.0,
    hours: float = 3.0,
    surface_c: float | None = None,
    until: str = NOW,
) -> None:
    from monitor.records import Reading

    known = {s.name: s for s in shop.store.book.sensors()}
    sensor = known.get("shed") or shop.store.book.add_sensor("shed", "/dev/shed")
    end: datetime = at(until)
    minutes = range(round(hours * 60), -1, -1)
    shop.store.readings.add(
        sensor.id,
        [
            Reading(
                end - timedelta(minutes=m),
                20.0,
                humidity_pct - creep_pct_per_h * m / 60.0,
                surface_c,
            )
            for m in minutes
        ],
    )


def test_a_jar_at_rest(layupwatch: Layupwatch, shop_here: ShopAtHand) -> None:
    """73.0 % where 75.5 % is true at 20 °C; nothing is kept until it is taken."""
    jar(shop_here, 73.0)
    said = layupwatch("salt-jar", "shed", now=NOW)
    assert "shed reads 73.0 % where 75.5 % is true: 2.5 % low." in said.out
    assert "--take" in said.out
    assert shop_here.store.checks.of(1) == ()


def test_taking_it(layupwatch: Layupwatch, shop_here: ShopAtHand) -> None:
    """Kept with its date; the list says how old it is; the count and the dew read the true one."""
    jar(shop_here, 73.0)
    said = layupwatch("salt-jar", "shed", "--take", "--json", now=NOW).json
    assert (said["kept"], said["state"]) == (True, "at-rest")
    assert said["off_pct"] == pytest.approx(-2.47, abs=0.01)
    jar(shop_here, 80.0, until="2026-05-02T23:30:00Z")
    listed = layupwatch("sensor", "list", now="2026-05-02T23:30:00Z").out
    assert "82 %" in listed
    assert "Held against salt at 20:00 today: -2.5 %. 0 batches mixed beside it since." in listed
    later = layupwatch("sensor", "list", now="2026-11-30T12:00:00Z").out
    assert "Time to do it again: salt-jar shed" in later
    assert "80.0" in layupwatch("export", "readings", "--csv", now=NOW).out


@pytest.mark.parametrize(
    ("jarred", "what", "remedy"),
    [
        ({"humidity_pct": 67.0}, "8.5 % low", "replace it"),
        ({"humidity_pct": 73.0, "creep_pct_per_h": 0.6}, "still moves", "--wait"),
        ({"humidity_pct": 73.0, "hours": 0.4}, "long enough", "Leave it"),
        ({"humidity_pct": 73.0, "until": "2026-05-02T19:00:00Z"}, "Nothing fresh", "run"),
    ],
)
def test_what_is_not_taken(
    layupwatch: Layupwatch, shop_here: ShopAtHand, jarred, what: str, remedy: str
) -> None:
    """Told in two lines, and nothing is kept."""
    jar(shop_here, **jarred)
    said = layupwatch("salt-jar", "shed", "--take", now=NOW)
    assert said.code == 2
    assert what in said.two_lines[0]
    assert remedy in said.two_lines[1]
    assert shop_here.store.checks.of(1) == ()
    assert what in layupwatch("salt-jar", "shed", now=NOW).out


def test_another_salt(layupwatch: Layupwatch, shop_here: ShopAtHand) -> None:
    """Potassium sulphate stands at 97.6 %."""
    jar(shop_here, 95.0)
    said = layupwatch("salt-jar", "shed", "--salt", "potassium-sulphate", "--json", now=NOW).json
    assert said["true_pct"] == pytest.approx(97.6, abs=0.01)


def test_a_probe_in_ice(layupwatch: Layupwatch, shop_here: ShopAtHand) -> None:
    """Its channel alone is put right."""
    jar(shop_here, 60.0, surface_c=0.4)
    said = layupwatch("salt-jar", "shed", "--ice", "--take", now=NOW)
    assert "reads 0.40 °C where 0.00 °C is true: 0.40 °C high" in said.out
    (check,) = shop_here.store.checks.of(1)
    assert (check.channel, check.read_c, check.true_c) == (Channel.SURFACE, pytest.approx(0.4), 0.0)


def test_a_probe_that_is_in_no_ice(layupwatch: Layupwatch, shop_here: ShopAtHand) -> None:
    """Two degrees off is no sensor to put right."""
    jar(shop_here, 60.0, surface_c=4.0)
    what, _ = layupwatch("salt-jar", "shed", "--ice", "--take", now=NOW).two_lines
    assert "4.00 °C high" in what


def test_a_channel_goes_with_ice(layupwatch: Layupwatch, shop_here: ShopAtHand) -> None:
    """A jar has none to choose."""
    jar(shop_here, 73.0)
    assert layupwatch("salt-jar", "shed", "--channel", "air", now=NOW).code == 2


def test_waiting_ends_when_it_rests(
    layupwatch: Layupwatch, shop_here: ShopAtHand, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It looks again after a minute, and says meanwhile what it waits for."""
    jar(shop_here, 73.0, hours=0.4)
    slept: list[float] = []

    def sleep(seconds: float) -> None:
        slept.append(seconds)
        jar(shop_here, 73.0)

    monkeypatch.setattr("monitor.cli.salt.time.sleep", sleep)
    said = layupwatch("salt-jar", "shed", "--wait", now=NOW)
    assert slept == [60.0]
    assert "long enough" in said.out.splitlines()[0]
    assert "2.5 % low" in said.out


def test_a_part_that_counts_on_the_jar_is_named(
    layupwatch: Layupwatch, shop_here: ShopAtHand
) -> None:
    """Its stay is to be ended."""
    jar(shop_here, 73.0)
    shop_here.lay_up(7, "P1", at("2026-05-02T18:00:00Z"))
    shop_here.put("7", "shed", at("2026-05-02T18:00:00Z"))
    assert "Part 7 is logged beside shed" in layupwatch("salt-jar", "shed", now=NOW).out
