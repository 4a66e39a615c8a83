"""What is said at once when a batch is logged."""

import pytest

from monitor.answers.entry import entry_cautions
from monitor.cure.mixing import Weighed
from monitor.logbook import parse_address
from monitor.records import MarkKind
from tests.scenarios import at, series, story
from tests.scenarios.shop import AT_THE_AIM, SHEETS, ShopAtHand

MIXED = at(story("A12")["mixed_at"])


def logged(
    shop: ShopAtHand, address: str, sheet: str, when: str, thickness_mm: float | None = None
) -> tuple[str, ...]:
    """The cautions of a batch logged now, beside a sensor at a steady 18 °C."""
    moment = at(when)
    number = parse_address(address).number
    if not shop.store.book.layups():
        shop.hear("shed", series("A12"))
        shop.book.add_layup(number, "part", SHEETS[sheet], on=None, safety=False, now=MIXED)
        shop.put(str(number), "shed", MIXED)
    weighed: Weighed = AT_THE_AIM[sheet]
    mixed = shop.book.add_batch(
        parse_address(address),
        mixed_at=moment,
        now=moment,
        sheet=SHEETS[sheet],
        weighed=weighed,
        thickness_mm=thickness_mm,
    )
    return tuple(entry_cautions(shop.look(number, moment), mixed.batch))


def test_a_fillet_too_deep_for_one_pass(shop: ShopAtHand) -> None:
    """30 mm where the sheet allows 12: three passes, and what a hot cup does."""
    (said,) = logged(shop, "5/fillet", "B1", "2026-05-02T10:00:00Z", 30.0)
    assert said.startswith("30 mm in one pass, the sheet allows 12 mm: 3 passes.")
    assert "only while it can still be held" in said


def test_a_depth_the_sheet_does_not_give(shop: ShopAtHand) -> None:
    """Deep, and no figure: ask the maker; shallow is left alone."""
    (said,) = logged(shop, "5/fillet", "P1", "2026-05-02T10:00:00Z", 14.0)
    assert "your sheet gives no depth: ask the maker" in said
    assert logged(shop, "5/fillet-2", "P1", "2026-05-02T10:00:00Z", 8.0) == ()


@pytest.mark.parametrize(
    ("thickness_mm", "word"), [(0.3, "thinner"), (0.5, None), (0.8, "thicker")]
)
def test_the_wet_film_of_a_coat(shop: ShopAtHand, thickness_mm: float, word: str | None) -> None:
    """Outside the sheet's 0.4 to 0.6 mm it says so."""
    said = logged(shop, "8/plain-coat", "G1", "2026-05-02T10:00:00Z", thickness_mm)
    assert [word in line for line in said if word] == ([True] if word else [])


def test_a_coat_over_a_soft_one(shop: ShopAtHand) -> None:
    """Too early: what will happen, and what to do then."""
    logged(shop, "8/plain-coat", "G1", "2026-05-02T09:40:00Z")
    (said,) = logged(shop, "8/wax-coat", "G1", "2026-05-02T10:45:00Z")
    assert "still soft: it may wrinkle" in said
    assert "sand to sound" in said


def test_a_coat_over_wax(shop: ShopAtHand) -> None:
    """It peels, unless sanding was logged between the two."""
    logged(shop, "8/wax-coat", "G1", "2026-05-02T09:40:00Z")
    (said,) = logged(shop, "8/plain-coat", "G1", "2026-05-02T20:00:00Z")
    assert "no sanding is logged: it will peel" in said
    sanded = at("2026-05-02T21:00:00Z")
    shop.book.add_mark(parse_address("8"), MarkKind.SANDED_DUST, at=sanded, note=None, now=sanded)
    shop.mix("8/wax-coat-2", "G1", at("2026-05-02T20:30:00Z"))
    assert logged(shop, "8/plain-coat-2", "G1", "2026-05-02T22:00:00Z") == ()
