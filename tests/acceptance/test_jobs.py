"""Whole jobs through the store: logged by the book, read back, counted, answered.

The figures follow from the rules for readings, bands, gaps and verdicts; they are our own.
"""

from typing import Any
from zoneinfo import ZoneInfo

import pytest

from monitor.answers.report import ready_lines
from monitor.logbook import parse_address
from monitor.records import Assessment, Gap, MarkKind, Stage, Verdict
from tests.scenarios import COUNT_TOLERANCE, at, near, series, story
from tests.scenarios.shop import ShopAtHand

LATE = "2026-05-05T23:00:00Z"


def counts_as(a: Assessment, expected: list[float]) -> bool:
    got = (a.count.low, a.count.middle, a.count.high)
    return all(
        value is not None and abs(value - wanted) <= COUNT_TOLERANCE
        for value, wanted in zip(got, expected, strict=True)
    )


def begin(shop: ShopAtHand, name: str, *names: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """The story with its readings stored and its part logged beside sensor `shed`."""
    job = story(name)
    shop.hear("shed", series(*names))
    mixed = at(job["mixed_at"])
    shop.lay_up(1, job["sheet"], mixed)
    shop.put("1", "shed", mixed)
    return job, job["expected"]


def answer(shop: ShopAtHand, now: str) -> Assessment:
    return shop.look(1, at(now)).batches[0].worked.assessment


def test_an_ordinary_good_day(shop: ShopAtHand) -> None:
    """The rudder: gel, knife, flip, sand and recoat at their edges; ready at breakfast."""
    _, expected = begin(shop, "A1", "A1")
    a = answer(shop, LATE)
    for edge in ("early", "middle", "late"):
        assert near(getattr(a.stage(Stage.GEL).opens, edge), expected["gel"][edge])
        assert near(getattr(a.stage(Stage.SAND).opens, edge), expected["sand"][edge])
    knife = a.stage(Stage.KNIFE_TRIM)
    assert near(knife.opens.late, expected["knife_trim"]["opens_late"])
    assert knife.shuts is not None
    assert near(knife.shuts.early, expected["knife_trim"]["shuts_early"])
    assert near(a.stage(Stage.FLIP).opens.late, expected["flip_late"])
    recoat = a.stage(Stage.RECOAT)
    assert recoat.shuts is not None
    assert near(recoat.shuts.early, expected["recoat_shuts_early"])
    assert recoat.shut_by == "count"
    for now, count in expected["count_at"].items():
        morning = answer(shop, now)
        assert counts_as(morning, count)
        assert morning.stage(Stage.SAND).verdict is Verdict.READY
    before = answer(shop, "2026-05-03T03:20:00Z")
    assert before.stage(Stage.SAND).verdict is Verdict.TEST_IT, "the middle edge is not ready"


def test_a_cold_night_parks_it(shop: ShopAtHand) -> None:
    """The hatch lid: parked below the floor; a plain sum would claim more; ready a night later."""
    _, expected = begin(shop, "A2", "A2")
    for now, count in expected["count_at"].items():
        morning = answer(shop, now)
        assert counts_as(morning, count)
        assert near(morning.parked_since, expected["parked"][0])
        assert morning.stage(Stage.FLIP).verdict is Verdict.NOT_YET
        unfloored = expected["unfloored_middle_at"][now]
        assert morning.count.middle is not None
        assert unfloored - morning.count.middle > 17
    a = answer(shop, LATE)
    assert len(a.parked) == 1
    assert near(a.parked[0].start, expected["parked"][0])
    assert near(a.parked[0].end, expected["parked"][1])
    assert a.parked_since is None
    for stage in (Stage.GEL, Stage.FLIP, Stage.SAND):
        for edge in ("early", "middle", "late"):
            assert near(getattr(a.stage(stage).opens, edge), expected[stage.value][edge])
    recoat = a.stage(Stage.RECOAT)
    assert recoat.shuts is not None
    assert near(recoat.shuts.early, expected["recoat_shuts_early"])


def test_a_power_cut_is_a_hole_not_a_line(shop: ShopAtHand) -> None:
    """The canoe bow: 7 h 30 min not measured parts the edges, and the careful one decides."""
    _, expected = begin(shop, "A3", "A3a", "A3b")
    for now, count in expected["count_at"].items():
        assert counts_as(answer(shop, now), count), now
    a = answer(shop, "2026-05-03T08:00:00Z")
    assert a.gaps == (Gap(at(expected["gap"][0]), at(expected["gap"][1]), "silent"),)
    assert a.unmeasured_hours == pytest.approx(7.5)
    assert a.readings.used == 572
    assert a.stage(Stage.KNIFE_TRIM).verdict is Verdict.SHUT
    assert a.parked == (), "the cold is not to blame"
    opens = answer(shop, LATE).stage(Stage.SAND).opens
    assert near(opens.early, expected["sand"]["test_it_from"])
    assert near(opens.late, expected["sand"]["late"])
    just_before = answer(shop, "2026-05-03T10:50:00Z").stage(Stage.SAND)
    assert just_before.verdict is Verdict.NOT_YET
    assert answer(shop, "2026-05-03T11:00:00Z").stage(Stage.SAND).verdict is Verdict.TEST_IT
    assert answer(shop, "2026-05-03T20:05:00Z").stage(Stage.SAND).verdict is Verdict.READY


def test_two_layups_share_one_sensor(shop: ShopAtHand) -> None:
    """Each has its own clock and sheet; ending one leaves the other untouched."""
    first, second = story("A8a"), story("A8b")
    shop.hear("shed", series("A8"))
    for number, job in ((1, first), (2, second)):
        shop.lay_up(number, job["sheet"], at(job["mixed_at"]))
        shop.put(str(number), "shed", at(job["mixed_at"]))
    a = answer(shop, LATE)
    wanted = first["expected"]
    knife, recoat = a.stage(Stage.KNIFE_TRIM), a.stage(Stage.RECOAT)
    assert knife.shuts is not None
    assert recoat.shuts is not None
    assert near(knife.opens.late, wanted["knife_trim"]["opens_late"])
    assert near(knife.shuts.early, wanted["knife_trim"]["shuts_early"])
    assert near(recoat.shuts.early, wanted["recoat_shuts_early"])
    for edge in ("early", "middle", "late"):
        assert near(getattr(a.stage(Stage.SAND).opens, edge), wanted["sand"][edge])
    shop.book.end_layup(1, at(LATE))
    b = shop.look(2, at(LATE)).batches[0].worked.assessment
    wanted = second["expected"]
    recoat = b.stage(Stage.RECOAT)
    assert recoat.shuts is not None
    assert near(recoat.opens.late, wanted["recoat"]["opens_late"])
    assert near(recoat.shuts.early, wanted["recoat"]["shuts_early"])
    for stage in (Stage.SAND, Stage.LOAD):
        for edge in ("early", "middle", "late"):
            assert near(getattr(b.stage(stage).opens, edge), wanted[stage.value][edge])


def test_one_layup_in_two_places(shop: ShopAtHand) -> None:
    """The case cap carried to the boat: the carry is a gap, the boat's cold is its own."""
    job = story("A9")
    expected = job["expected"]
    mixed, (left, arrived) = at(job["mixed_at"]), (at(moment) for moment in job["moved"])
    shop.hear("shed", series("A9S"))
    shop.hear("boat", series("A9Q"))
    shop.lay_up(1, "P1", mixed)
    shop.put("1", "shed", mixed, left)
    shop.put("1", "boat", arrived)
    for now, count in expected["count_at"].items():
        assert counts_as(answer(shop, now), count), now
    opens = answer(shop, "2026-05-03T22:00:00Z").stage(Stage.SAND).opens
    for edge in ("early", "middle", "late"):
        assert near(getattr(opens, edge), expected["sand"][edge])
    a = answer(shop, "2026-05-03T00:00:00Z")
    assert a.gaps == (Gap(left, arrived, "carried"),)
    assert near(a.parked_since, "2026-05-02T22:00:00Z")


def test_a_move_logged_late_is_counted_anew(shop: ShopAtHand) -> None:
    """Left on the shed's sensor it would be hours ahead; one late entry puts the history right."""
    job = story("A9")
    mixed, (left, arrived) = at(job["mixed_at"]), (at(moment) for moment in job["moved"])
    shop.hear("shed", series("A9S"))
    shop.hear("boat", series("A9Q"))
    shop.lay_up(1, "P1", mixed)
    shop.put("1", "shed", mixed)
    wrong = answer(shop, "2026-05-03T09:00:00Z").stage(Stage.SAND)
    assert near(wrong.opens.middle, job["expected"]["if_left_on_first_sensor_sand_middle"])
    shop.put("1", "boat", arrived, now=at("2026-05-02T19:00:00Z"))
    first = shop.store.book.stays(shop.store.book.layup(1).id)[0]
    assert first.until == arrived, "a second stay ends the first"
    shop.book.correct(f"stay-{first.id}", "until", left, at("2026-05-02T19:00:00Z"))
    now = "2026-05-03T00:00:00Z"
    assert counts_as(answer(shop, now), job["expected"]["count_at"][now])


def test_an_ended_number_is_free_again(shop: ShopAtHand) -> None:
    """The tape's number goes to the next part; the first one's record stays."""
    begin(shop, "A1", "A1")
    shop.book.end_layup(1, at(LATE))
    shop.lay_up(1, "P1", at("2026-05-03T12:00:00Z"))
    assert len(shop.store.book.layups(open_only=False)) == 2
    assert shop.look(1, at(LATE)).layup.ended_at is None


def test_batches_of_one_part_have_their_own_clocks(shop: ShopAtHand) -> None:
    """The second skin, mixed six hours later, holds the whole part back."""
    begin(shop, "A1", "A1")
    shop.mix("1/skin-b", "P1", at("2026-05-02T16:20:00Z"))
    seen = shop.look(1, at("2026-05-03T08:00:00Z"))
    verdicts = {b.batch.name: b.worked.assessment.stage(Stage.SAND).verdict for b in seen.batches}
    assert verdicts == {"skin-a": Verdict.READY, "skin-b": Verdict.NOT_YET}
    assert seen.joint is not None
    sand = next(s for s in seen.joint.stages if s.stage is Stage.SAND)
    assert (sand.verdict, sand.slowest, sand.opens.late) == (Verdict.NOT_YET, "1/skin-b", None)


def test_a_word_lifts_the_careful_edge_and_is_marked_as_one(shop: ShopAtHand) -> None:
    """Heater on, seen at 23:00 and 04:00: the low edge holds the colder end until then, and the
    gap says: said, not measured."""
    begin(shop, "A3", "A3a", "A3b")
    now = at("2026-05-03T08:00:00Z")
    for seen in ("2026-05-02T23:00:00Z", "2026-05-03T04:00:00Z"):
        shop.book.add_mark(
            parse_address("1"), MarkKind.SEEN_WARM, at=at(seen), note="heater on", now=now
        )
    a = answer(shop, "2026-05-03T08:00:00Z")
    # 21:10 to 04:00 at the colder end of the gap: 12 - 1 °C over the base of 5.
    assert a.count.low == pytest.approx(97.5 + (6 + 50 / 60) * 6.0, abs=COUNT_TOLERANCE)
    assert a.count.middle == pytest.approx(174.5, abs=COUNT_TOLERANCE)
    (gap,) = a.gaps
    assert gap.said_until == at("2026-05-03T04:00:00Z")
    assert a.unmeasured_hours == pytest.approx(7.5), "said is not measured"
    seen = shop.look(1, now)
    words = list(ready_lines(seen, ZoneInfo("UTC"), "c", seen.batches, now=now))
    assert any("warm until 04:00 today: said, not measured" in line for line in words)


def test_one_sighting_is_not_carried_through_a_night(shop: ShopAtHand) -> None:
    """Seen only at 04:00, nearly seven hours after the last reading: it lifts nothing."""
    begin(shop, "A3", "A3a", "A3b")
    now = at("2026-05-03T08:00:00Z")
    shop.book.add_mark(
        parse_address("1"), MarkKind.SEEN_WARM, at=at("2026-05-03T04:00:00Z"), note=None, now=now
    )
    a = answer(shop, "2026-05-03T08:00:00Z")
    assert counts_as(a, story("A3")["expected"]["count_at"]["2026-05-03T08:00:00Z"])
    assert a.gaps[0].said_until is None
