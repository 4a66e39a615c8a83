"""Gel coats through the store: the second coat too early, and what is flagged."""

from monitor.records import Stage, Verdict
from tests.scenarios import COUNT_TOLERANCE, at, near, series, story
from tests.scenarios.shop import ShopAtHand


def begin(shop: ShopAtHand) -> None:
    shop.hear("shed", series("A12"))
    mixed = at(story("A12")["mixed_at"])
    shop.lay_up(8, "G1", mixed, role="plain-coat")
    shop.put("8", "shed", mixed)


def test_a_second_coat_is_not_open_yet(shop: ShopAtHand) -> None:
    """14 of 30 after an hour at 18 °C: not yet, and at the careful edge not before 12:10."""
    begin(shop)
    expected = story("A12")["expected"]
    early = shop.look(8, at("2026-05-02T10:45:00Z")).batches[0].worked.assessment
    assert early.stage(Stage.RECOAT).verdict is Verdict.NOT_YET
    wanted = expected["middle_count_at"]["2026-05-02T10:45:00Z"]
    assert early.count.middle is not None
    assert abs(early.count.middle - wanted) <= COUNT_TOLERANCE
    opens = shop.look(8, at("2026-05-02T13:00:00Z")).batches[0].worked.assessment
    for edge in ("early", "middle", "late"):
        moment = getattr(opens.stage(Stage.RECOAT).opens, edge)
        assert near(moment, expected["recoat_opens"][edge])


def test_logged_all_the_same_it_is_flagged_on_both(shop: ShopAtHand) -> None:
    """A wax coat over a soft coat: both say so, and neither is ready by the count alone."""
    begin(shop)
    shop.mix("8/wax-coat", "G1", at("2026-05-02T10:45:00Z"))
    seen = shop.look(8, at("2026-05-02T20:00:00Z"))
    assert [b.batch.name for b in seen.batches] == ["plain-coat", "wax-coat"]
    for batch in seen.batches:
        a = batch.worked.assessment
        assert "coated-too-early" in a.overruled_by
        assert a.stage(Stage.FLIP).verdict is Verdict.TEST_IT
        assert "look for wrinkles" in a.stage(Stage.FLIP).reason
    assert seen.joint is not None
    assert "coated-too-early" in seen.joint.overruled_by


def test_in_its_time_nothing_is_flagged(shop: ShopAtHand) -> None:
    """After 12:10 the coat under it was open."""
    begin(shop)
    shop.mix("8/wax-coat", "G1", at("2026-05-02T12:15:00Z"))
    for batch in shop.look(8, at("2026-05-02T20:00:00Z")).batches:
        assert "coated-too-early" not in batch.worked.assessment.overruled_by


def test_a_third_coat_over_wax_has_no_window(shop: ShopAtHand) -> None:
    """Waxed: sand dull first, at any hour."""
    begin(shop)
    shop.mix("8/wax-coat", "G1", at("2026-05-02T12:15:00Z"))
    for now in ("2026-05-02T13:00:00Z", "2026-05-02T23:00:00Z"):
        wax = shop.look(8, at(now)).batches[1].worked.assessment
        assert wax.stage(Stage.RECOAT).verdict is Verdict.SHUT
        assert wax.bond_line.state == "mechanical"
        assert wax.bond_line.voided_by == ("wax",)
