"""The tape label: measured and guessed times kept apart, and a line where nobody can say."""

from datetime import datetime, timedelta

from monitor.answers.label import label_json, label_lines, label_of
from monitor.answers.record_views import Bound, Label
from monitor.cure.mixing import Weighed
from monitor.logbook import parse_address
from monitor.records import MarkKind, Stage
from monitor.sheets import Shelf
from tests.scenarios import at, columns, series
from tests.scenarios.shop import ShopAtHand

MIXED = at("2026-05-02T10:20:00Z")


def label(shop: ShopAtHand, now: datetime, number: int = 1) -> Label:
    return label_of(shop.look(number, now), now, zone=shop.shop.zone, demo=True)


def bounds(told: Label, batch: int = 0) -> dict[tuple[str, Stage], Bound]:
    return {(b.bound, b.stage): b for b in told.batches[batch].bounds}


def on_a_good_day(shop: ShopAtHand) -> None:
    shop.hear("shed", series("A1"))
    shop.lay_up(1, "P1", MIXED)
    shop.put("1", "shed", MIXED)


def test_a_stage_that_was_reached(shop: ShopAtHand) -> None:
    """Sand of this invented day opened at 04:54 by the careful edge: measured, no guess."""
    on_a_good_day(shop)
    told = bounds(label(shop, at("2026-05-03T08:00:00Z")))
    sand = told["not before", Stage.SAND]
    assert (sand.when, sand.sure) == ("04:54 Sun 3 May 2026", "measured")


def test_what_is_guessed_says_so(shop: ShopAtHand) -> None:
    """Recoat shut at 11:01 that day; asked at eight it is a guess to five minutes, never after."""
    on_a_good_day(shop)
    now = at("2026-05-03T08:00:00Z")
    recoat = bounds(label(shop, now))["not after", Stage.RECOAT]
    forecast = shop.look(1, now).batches[0].worked.assessment.forecast.stage(Stage.RECOAT)
    assert forecast is not None
    assert forecast.shuts is not None
    assert forecast.shuts.early is not None
    assert recoat.sure == "guess"
    assert recoat.at is not None
    assert timedelta(0) <= forecast.shuts.early - recoat.at < timedelta(minutes=5)


def test_no_guess_leaves_a_line(shop: ShopAtHand) -> None:
    """An hour of readings is nothing to guess from: a line for a pencil, and the plain hours."""
    times = [MIXED.timestamp() + 60.0 * i for i in range(61)]
    shop.hear("shed", columns(times, [20.0] * 61))
    shop.lay_up(1, "P1", MIXED)
    shop.put("1", "shed", MIXED)
    told = label(shop, MIXED + timedelta(hours=1))
    flip = bounds(told)["not before", Stage.FLIP]
    assert (flip.at, flip.when) == (None, None)
    recoat = bounds(told)["not after", Stage.RECOAT]
    assert (recoat.when, recoat.sure) == ("10:20 Mon 4 May 2026", "latest")
    assert "  flip, not before ________" in list(label_lines(told))


def test_a_shut_window_is_not_printed(shop: ShopAtHand) -> None:
    """After it shut there is no not-after; the next layer is sanded for."""
    on_a_good_day(shop)
    told = label(shop, at("2026-05-03T13:00:00Z"))
    assert ("not after", Stage.RECOAT) not in bounds(told)
    assert "Next layer: sand first." in told.batches[0].notes


def test_sanding_before_a_cup_is_not_its_own(shop: ShopAtHand) -> None:
    """The first skin was sanded, then the second mixed: the second still waits for its flip."""
    on_a_good_day(shop)
    sanded = at("2026-05-03T07:00:00Z")
    shop.book.add_mark(parse_address("1"), MarkKind.SANDED_DUST, at=sanded, note=None, now=sanded)
    shop.mix("1/skin-b", "P1", at("2026-05-03T07:30:00Z"))
    told = label(shop, at("2026-05-03T08:00:00Z"))
    assert ("not before", Stage.FLIP) in bounds(told, 1)


def test_a_wrong_mix_has_no_time(shop: ShopAtHand) -> None:
    """What won't cure right has nothing to wait for: the label says that and why."""
    shop.hear("shed", series("A1"))
    shop.book.add_layup(1, "board", "demo-epoxy", on=None, safety=False, now=MIXED)
    shop.book.add_batch(
        parse_address("1/skin-a"),
        mixed_at=MIXED,
        now=MIXED,
        weighed=Weighed(250.0, hardener_g=60.0),
    )
    shop.put("1", "shed", MIXED)
    (batch,) = label(shop, at("2026-05-03T08:00:00Z")).batches
    assert batch.bounds == ()
    (note,) = batch.notes
    assert note.startswith("WON'T CURE RIGHT. Hardener is 40.0 % short")


def test_a_sheet_that_is_silent_of_sanding(shop: ShopAtHand) -> None:
    """What the sheet doesn't give is not waited for, and nobody is told that it can't be told."""
    stem = "no-sanding"
    kept = Shelf(shop.shop.folder, True).text("demo-laminating")
    silent = "\n".join(line for line in kept.splitlines() if not line.startswith("sand ="))
    (shop.shop.folder / "sheets" / f"{stem}.toml").write_text(silent, encoding="utf-8")
    shop.hear("shed", series("A1"))
    shop.book.add_layup(1, "lid", stem, on=None, safety=False, now=MIXED)
    shop.book.add_batch(
        parse_address("1/skin-a"),
        mixed_at=MIXED,
        now=MIXED,
        weighed=Weighed(200.0, catalyst_g=3.0),
    )
    shop.put("1", "shed", MIXED)
    (batch,) = label(shop, at("2026-05-03T08:00:00Z")).batches
    assert [bound.stage for bound in batch.bounds if bound.bound == "not before"] == [Stage.FLIP]
    assert batch.notes == ()


def test_a_remembered_mix_is_about(shop: ShopAtHand) -> None:
    """± ten minutes is too long for a strip of tape: about."""
    shop.book.add_layup(1, "lid", "demo-laminating", on=None, safety=False, now=MIXED)
    shop.book.add_batch(
        parse_address("1/skin-a"),
        mixed_at=MIXED,
        now=MIXED,
        give_or_take=timedelta(minutes=10),
        weighed=Weighed(200.0, catalyst_g=3.0),
    )
    assert label(shop, MIXED).batches[0].mixed == "about 10:20 Sat 2 May 2026"


def test_nothing_mixed_yet(shop: ShopAtHand) -> None:
    """A label can be printed before the cup is poured."""
    shop.book.add_layup(1, "lid", "demo-laminating", on=None, safety=False, now=MIXED)
    assert list(label_lines(label(shop, MIXED))) == ["1  lid", "Nothing mixed yet."]


def test_a_label_for_scripts(shop: ShopAtHand) -> None:
    """Times as ISO 8601 in UTC, null where nobody can say, guesses marked."""
    on_a_good_day(shop)
    told = label_json(label(shop, at("2026-05-03T08:00:00Z")), "http://shed.local/layups/1")
    (batch,) = told["batches"]
    assert batch["batch"] == "1/skin-a"
    assert batch["mixed_at"] == "2026-05-02T10:20:00Z"
    assert batch["times"][0]["stage"] == "sand"
    assert batch["times"][0]["bound"] == "not-before"
    assert batch["times"][0]["sure"] == "measured"
