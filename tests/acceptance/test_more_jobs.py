"""More whole jobs: a slow clock, an off ratio, a fillet, a heatwave, plain tack, a wet sensor."""

from pathlib import Path

import pytest

from monitor.csvfile import write_readings
from monitor.records import (
    Assessment,
    Channel,
    Doubt,
    Flags,
    Nearness,
    Readings,
    Stage,
    Verdict,
)
from tests.scenarios import COUNT_TOLERANCE, at, columns, near, series, story
from tests.scenarios.shop import ShopAtHand
from tests.scenarios.terminal import Layupwatch


def answer(shop: ShopAtHand, number: int, now: str) -> Assessment:
    return shop.look(number, at(now)).batches[0].worked.assessment


def test_a_file_whose_clock_was_slow(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """An hour slow: at face value the knife window seems open; put right, it shut at 15:10."""
    job = story("A6")
    right = series("A6")
    slow = columns(right.time_s - 3600.0, right.temperature_c)
    path = tmp_path / "logger.csv"
    with path.open("w", encoding="utf-8") as out:
        write_readings(slow, out)
    now = "2026-05-02T16:00:00Z"
    layupwatch("import", path, "--sensor", "as-read", now=now)
    layupwatch("import", path, "--sensor", "corrected", "--clock-off", "60m", now=now)
    for number, sensor in ((1, "as-read"), (2, "corrected")):
        layupwatch("layup", "add", number, "skirt", "--sheet", "demo-laminating", now=now)
        layupwatch(
            *("batch", "add", f"{number}/skin-a", "--resin-g", 200, "--catalyst-g", 3),
            *("--mixed-at", job["mixed_at"]),
            now=now,
        )
        layupwatch("stay", number, sensor, "--from", "2026-05-02T08:00:00Z", now=now)
    expected = job["expected"]
    answers = {n: layupwatch("ready", n, "--json", now=now).json["batches"][0] for n in (1, 2)}
    count = answers[2]["count"]["middle"]
    assert count == pytest.approx(expected["middle_count_at"][now], abs=COUNT_TOLERANCE)
    knife = next(s for s in answers[2]["stages"] if s["stage"] == "knife_trim")
    assert knife["verdict"] == "shut"
    assert near(at(knife["shuts"]["early"]), expected["knife_shuts"]["early"])
    assert near(at(knife["shuts"]["middle"]), expected["knife_shuts"]["middle"])
    # Held for the last hour, as its newest reading is an hour old: more than at face value.
    assert answers[1]["gaps"][-1]["why"] == "after-last"


def test_an_epoxy_off_its_ratio(shop: ShopAtHand) -> None:
    """624 of 576, and still no stage will come right; the joint inherits it."""
    job = story("A7")
    shop.hear("shed", series("A7"))
    mixed = at(job["mixed_at"])
    shop.lay_up(6, "E1", mixed)
    shop.put("6", "shed", mixed)
    shop.book.correct("batch-1", "hardener_g", float(job["hardener_g"]), mixed)
    seen = shop.look(6, at("2026-05-04T09:00:00Z"))
    a = seen.batches[0].worked.assessment
    wanted = job["expected"]["middle_count_at"]["2026-05-04T09:00:00Z"]
    assert a.count.middle == pytest.approx(wanted, abs=COUNT_TOLERANCE)
    assert {stage.verdict for stage in a.stages} == {Verdict.WONT_CURE}
    assert seen.joint is not None
    assert {stage.verdict for stage in seen.joint.stages} == {Verdict.WONT_CURE}
    assert a.bond_line.state == "cant-tell"
    shop.book.correct("batch-1", "hardener_g", 103.0, mixed)
    at_limit = answer(shop, 6, "2026-05-04T09:00:00Z")
    assert at_limit.stage(Stage.LOAD).verdict is Verdict.READY


def test_a_thick_fillet_ran_hot(shop: ShopAtHand) -> None:
    """The bead's own probe, capped at 40 °C, counts 82; the heat makes no opening ready."""
    job = story("A10")
    probe = series("A10")
    air = columns(probe.time_s, [24.0] * len(probe))
    both = Readings(
        probe.time_s, air.temperature_c, air.humidity_pct, probe.temperature_c, air.flags
    )
    shop.hear("bead", both)
    mixed = at(job["mixed_at"])
    shop.lay_up(5, "B1", mixed, role="fillet")
    shop.mix("5/mat-edge", "B1", mixed)
    shop.put("5/fillet", "bead", mixed, channel=Channel.SURFACE)
    shop.put("5", "bead", mixed)
    now = "2026-05-02T16:30:00Z"
    seen = shop.look(5, at(now))
    bead = next(b for b in seen.batches if b.batch.name == "fillet").worked.assessment
    edge = next(b for b in seen.batches if b.batch.name == "mat-edge").worked.assessment
    expected = job["expected"]
    assert bead.nearness is Nearness.PROBE
    assert bead.count.middle == pytest.approx(expected["middle_count_at"][now], abs=COUNT_TOLERANCE)
    assert edge.count.middle == pytest.approx(
        expected["air_only_24c_count_at"][now], abs=COUNT_TOLERANCE
    )
    assert bead.overruled_by == ("part-too-hot",)
    assert bead.stage(Stage.PROPS_OFF).verdict is Verdict.CANT_TELL
    assert "cracks and a brown heart" in bead.stage(Stage.PROPS_OFF).reason
    assert seen.joint is not None
    props = next(s for s in seen.joint.stages if s.stage is Stage.PROPS_OFF)
    assert props.verdict is Verdict.CANT_TELL


def test_cloth_trimmed_too_late_in_a_heatwave(shop: ShopAtHand) -> None:
    """27 °C: the knife window is 53 minutes long, and shut when the person comes back."""
    job = story("A13")
    shop.hear("shed", series("A13"))
    mixed = at(job["mixed_at"])
    shop.lay_up(9, "P1", mixed)
    shop.put("9", "shed", mixed)
    a = answer(shop, 9, "2026-05-02T15:10:00Z")
    expected = job["expected"]
    knife = a.stage(Stage.KNIFE_TRIM)
    assert knife.shuts is not None
    assert near(knife.opens.late, expected["knife_opens"]["late"])
    assert near(knife.opens.middle, expected["knife_opens"]["middle"])
    assert near(knife.shuts.early, expected["knife_shuts"]["early"])
    assert near(knife.shuts.middle, expected["knife_shuts"]["middle"])
    assert knife.verdict is Verdict.SHUT
    assert a.count.middle == pytest.approx(69.7, abs=COUNT_TOLERANCE)


def test_nothing_wrong_with_the_oar(shop: ShopAtHand) -> None:
    """390 after 26 h, and the chemical window shut after 22 h 30 min: sand before coating."""
    job = story("A14")
    shop.hear("shed", series("A14"))
    mixed = at(job["mixed_at"])
    shop.lay_up(10, "P1", mixed)
    shop.put("10", "shed", mixed)
    a = answer(shop, 10, "2026-05-03T10:00:00Z")
    assert a.count.middle == pytest.approx(390.0, abs=COUNT_TOLERANCE)
    assert a.bond_line.state == "mechanical"
    assert near(a.bond_line.until, job["expected"]["recoat_shuts_early"])
    assert a.overruled_by == ()


def test_a_wet_humidity_sensor_withholds_dew_and_counts_on(shop: ShopAtHand) -> None:
    """Humidity stuck at 99.9 and flagged: no damp is claimed, the temperature counts."""
    raw = series("A17")
    stuck = Flags(humidity=Doubt.STUCK_WET).packed()
    shop.hear("shed", columns(raw.time_s, raw.temperature_c, raw.humidity_pct, [stuck] * len(raw)))
    mixed = at("2026-05-02T06:00:00Z")
    shop.lay_up(1, "P1", mixed)
    shop.put("1", "shed", mixed)
    a = answer(shop, 1, "2026-05-02T12:00:00Z")
    assert a.bond_line.voided_by == ()
    assert a.count.middle == pytest.approx(6 * (16.0 - 5.0), abs=COUNT_TOLERANCE)
