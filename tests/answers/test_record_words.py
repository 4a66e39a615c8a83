"""What a printed record says of a part, entry by entry, against the book it is printed from."""

from datetime import timedelta
from pathlib import Path

import pytest

from monitor.answers.record import LOADS, record_of
from monitor.answers.record_batch import count_at
from monitor.answers.record_entries import field_said
from monitor.answers.record_views import Record
from monitor.assess import assess
from monitor.cure.mixing import Weighed
from monitor.errors import BadInput
from monitor.logbook import parse_address
from monitor.overview import as_it_stood
from monitor.records import (
    NO_PARTICULARS,
    Channel,
    Doubt,
    Flags,
    MarkKind,
    Particulars,
    Readings,
    Stage,
)
from tests.scenarios import at, columns, series
from tests.scenarios.shop import ShopAtHand, open_demo_shop

MIXED = at("2026-05-02T10:20:00Z")
NOW = at("2026-05-03T12:00:00Z")


def warm(hours: float, temperature_c: float = 20.0) -> Readings:
    times = [MIXED.timestamp() + 60.0 * i for i in range(round(hours * 60) + 1)]
    return columns(times, [temperature_c] * len(times), [60.0] * len(times))


def mark(
    shop: ShopAtHand, address: str, kind: MarkKind, when: str, note: str | None = None
) -> None:
    shop.book.add_mark(parse_address(address), kind, at=at(when), note=note, now=NOW)


def record(shop: ShopAtHand, number: int = 1, shops: Particulars = NO_PARTICULARS) -> Record:
    layup, moment = as_it_stood(shop.store, number, NOW)
    seen = shop.look(number, moment)
    assert seen.layup == layup
    return record_of(
        shop.store,
        seen,
        moment,
        zone=shop.shop.zone,
        unit=shop.shop.unit,
        demo=shop.shop.demo,
        particulars=shops,
    )


@pytest.fixture
def rudder(shop: ShopAtHand) -> ShopAtHand:
    """A part on a good day, its sensor beside it from the mix on."""
    shop.hear("shed", series("A1"))
    shop.book.add_layup(1, "rudder", "demo-laminating", on=None, safety=True, now=MIXED)
    shop.book.add_batch(
        parse_address("1/skin-a"),
        mixed_at=MIXED,
        now=MIXED,
        give_or_take=timedelta(minutes=10),
        weighed=Weighed(200.0, catalyst_g=3.0),
        scale_step_g=0.1,
        resin_tin="R-12",
        cup="4",
    )
    shop.put("1", "shed", MIXED)
    return shop


def test_a_batch_with_its_weights(rudder: ShopAtHand) -> None:
    """Names, grams, percent and what the scale could hold; a remembered time says so."""
    (batch,) = record(rudder).batches
    assert (batch.address, batch.what) == ("1/skin-a", "skin A")
    assert batch.mixed == "10:20 Sat 2 May 2026, remembered ± 10 min"
    assert (batch.resin, batch.second, batch.share) == ("200 g", "3 g", "1.50 %")
    # (3 ± 0.1) g / (200 ∓ 0.1) g, by plain division: 1.449 to 1.551 %.
    assert batch.scale == "steps of 0.1 g: 1.50 % may have been 1.45 to 1.55 %"
    assert (batch.resin_tin, batch.second_tin, batch.cup) == ("R-12", None, "4")
    assert batch.thickness is None


def test_the_stages_say_their_careful_edge(rudder: ShopAtHand) -> None:
    """Sand of this invented day, 04:54, and ten minutes later for a mixing time remembered ± 10."""
    (batch,) = record(rudder).batches
    sand = next(line for line in batch.stages if line.stage == "sand")
    opened = rudder.look(1, NOW).batches[0].worked.assessment.stage(Stage.SAND).opens.late
    assert opened is not None
    assert sand.opened is not None
    assert sand.opened.endswith(" Sun 3 May 2026")
    written = at(f"2026-05-03T{sand.opened[:5]}:00Z")
    assert timedelta(0) <= written - opened < timedelta(minutes=1)
    assert sand.verdict == "READY BY THE COUNT"
    assert sand.needs == "240"
    assert batch.silent == ("sealed", "load")


def test_the_count_at_each_mark(rudder: ShopAtHand) -> None:
    """Each mark has the count of its moment, low to high, by the readings up to then."""
    mark(rudder, "1/skin-a", MarkKind.KICKED, "2026-05-02T11:04:00Z")
    mark(rudder, "1", MarkKind.THUMBNAIL_MARK, "2026-05-02T20:00:00Z", "witness tab")
    told = record(rudder)
    (kicked,), (thumbnail,) = told.marks, told.tests
    assert (kicked.number, kicked.what, kicked.batch) == (1, "kicked", "skin A")
    assert (thumbnail.number, thumbnail.note, thumbnail.batch) == (2, "witness tab", "the part")
    case = rudder.look(1, NOW).batches[0].case
    then = assess(case, at("2026-05-02T20:00:00Z")).count
    assert then.middle is not None
    assert then.high is not None
    assert thumbnail.counts == (f"{then.middle:.0f} ({then.low:.0f} to {then.high:.0f})",)


def test_a_count_in_a_silence_is_a_least(shop: ShopAtHand) -> None:
    """Hours after the last reading nobody knows more than that it earned so much before."""
    shop.hear("shed", warm(2.0))
    shop.lay_up(1, "P1", MIXED)
    shop.put("1", "shed", MIXED)
    batch = shop.look(1, NOW).batches[0]
    assert count_at(batch, MIXED + timedelta(hours=2), "c") == "30 (28 to 32)"
    assert count_at(batch, MIXED + timedelta(hours=9), "c") == "at least 28"


def test_a_mark_before_a_batch_has_none_of_its_count(rudder: ShopAtHand) -> None:
    """A cup that wasn't mixed yet is not spoken of."""
    mark(rudder, "1", MarkKind.SANDED_DUST, "2026-05-03T08:00:00Z")
    rudder.mix("1/skin-b", "P1", at("2026-05-03T09:00:00Z"))
    (sanded,) = record(rudder).tests
    assert len(sanded.counts) == 1
    assert not sanded.counts[0].startswith("skin")


def test_the_surface_before_a_batch(rudder: ShopAtHand) -> None:
    """What was done to it since the batch before, how long before, how near the dew, and rain."""
    mark(rudder, "1", MarkKind.SANDED_DUST, "2026-05-03T08:00:00Z", "80 grit")
    mark(rudder, "1", MarkKind.WIPED, "2026-05-03T08:20:00Z")
    mark(rudder, "1", MarkKind.RAINED, "2026-05-03T08:30:00Z")
    rudder.mix("1/skin-b", "P1", at("2026-05-03T09:00:00Z"))
    first, second = record(rudder).batches
    assert first.prepared == ()
    assert second.prepared[:2] == (
        "sanded dust “80 grit”, 08:00 Sun 3 May 2026, 1 h before it",
        "wiped, 08:20 Sun 3 May 2026, 40 min before it",
    )
    assert second.prepared[-1] == "rained, 08:30 Sun 3 May 2026"


def test_a_gap_and_suspect_readings(shop: ShopAtHand) -> None:
    """The silence by itself, the sunned span by itself, and both in what isn't shown."""
    shop.hear("bow", series("A3a", "A3b"))
    shop.lay_up(3, "P1", at("2026-05-02T15:00:00Z"), "patch")
    shop.put("3", "bow", at("2026-05-02T15:00:00Z"), now=NOW)
    bow = shop.store.book.sensor("bow")
    shop.store.readings.add_flags(
        bow.id,
        at("2026-05-02T18:00:00Z"),
        at("2026-05-02T18:30:00Z"),
        Flags(temperature=Doubt.SUNNED),
    )
    told = record(shop, 3)
    (batch,) = told.batches
    assert any(
        gap == "21:10 Sat 2 May 2026 to 04:40 Sun 3 May 2026, 7 h 30 min: no reading"
        for gap in batch.gaps
    )
    assert any("suspect readings" in gap for gap in batch.gaps)
    (line,) = told.sensors
    assert "31 suspect and not counted (sunned)" in line.readings
    assert told.sun == ("sensor in the sun, not counted: 18:00 to 18:30 Sat 2 May 2026",)
    assert any("nobody measured: patch 8 h" in line for line in told.not_shown)


def test_a_sensors_last_check(rudder: ShopAtHand) -> None:
    """Both numbers of the newest one by then; one never held against anything leaves a line."""
    assert record(rudder).sensors[0].checked is None
    shed = rudder.store.book.sensor("shed")
    for when, read_pct in (
        (at("2026-03-01T10:00:00Z"), 81.0),
        (at("2026-04-01T10:00:00Z"), 78.1),
        (NOW + timedelta(days=1), 76.0),
    ):
        rudder.store.checks.add(
            shed.id, "table salt", Channel.AIR, when, 20.0, humidity_pct=(read_pct, 75.5)
        )
    assert record(rudder).sensors[0].checked == (
        "table salt, 10:00 Wed 1 Apr 2026: read 78.1 % where it was 75.5 %"
    )


def test_an_alert_with_what_was_done(rudder: ShopAtHand) -> None:
    """Beside it stands what was marked while it held, and nothing that came after."""
    began = at("2026-05-02T22:00:00Z")
    alert = rudder.store.alerts.raise_alert(
        "dew", "shed", began, began, (1,), "Dew near.", "Tent it."
    )
    assert alert is not None
    rudder.store.alerts.clear(alert.id, at("2026-05-02T23:30:00Z"))
    mark(rudder, "1", MarkKind.COVERED, "2026-05-02T22:20:00Z", "tarp")
    mark(rudder, "1", MarkKind.UNCOVERED, "2026-05-03T07:00:00Z")
    (line,) = record(rudder).alerts
    assert (line.fact, line.action, line.seen) == ("Dew near.", "Tent it.", None)
    assert line.ended == "23:30 Sat 2 May 2026"
    assert line.done == ("covered “tarp”, 22:20 Sat 2 May 2026",)


def test_another_parts_alert_stays_away(rudder: ShopAtHand) -> None:
    """An alert of another number, or of an earlier part with this one, is not this part's."""
    early = at("2026-04-02T22:00:00Z")
    for when, parts in ((early, (1,)), (MIXED, (2,))):
        rudder.store.alerts.raise_alert("dew", "shed", when, when, parts, "Dew.", "Tent.")
    assert record(rudder).alerts == ()


def test_a_correction_keeps_what_it_said(rudder: ShopAtHand) -> None:
    """Entry, field, before and after, in a person's words, times as times."""
    rudder.book.correct("batch-1", "mixed_at", at("2026-05-02T10:05:00Z"), NOW)
    rudder.book.correct("batch-1", "resin_g", 210.0, NOW)
    rudder.book.correct("batch-1", "cup", None, NOW)
    lines = record(rudder).corrections
    assert [(line.entry, line.field) for line in lines] == [
        ("skin A", "mixed at"), ("skin A", "resin, g"), ("skin A", "cup"),
    ]  # fmt: skip
    assert (lines[0].was, lines[0].now) == ("10:20 Sat 2 May 2026", "10:05 Sat 2 May 2026")
    assert (lines[1].was, lines[1].now) == ("“200.0”", "“210.0”")
    assert (lines[2].was, lines[2].now) == ("“4”", "blank")


def test_fields_in_words() -> None:
    """A unit at the end of a name is told as one."""
    assert [field_said(f) for f in ("thickness_mm", "scale_step_g", "sheet_id", "what")] == [
        "thickness, mm", "scale step, g", "sheet", "what",
    ]  # fmt: skip


def test_the_sheet_is_copied_as_it_was_kept(rudder: ShopAtHand) -> None:
    """A later edit of the file changes nothing on paper: the kept text stands, whole."""
    path = rudder.shop.folder / "sheets" / "demo-laminating.toml"
    kept = rudder.store.book.kept_sheet(rudder.look(1, NOW).layup.sheet_id)
    path.write_text(kept.text.replace("sand = 240", "sand = 1"), encoding="utf-8")
    (copy,) = record(rudder).sheets
    assert copy.text == kept.text.strip("\n")
    assert copy.used_by == "skin A"
    stages = next(rows for heading, rows in copy.sections if heading.startswith("The stages"))
    assert any(row.words == "sand" and row.said.startswith("240 ") for row in stages)
    assert all(heading != "Take care" for heading, _ in copy.sections)


def test_what_is_not_shown(rudder: ShopAtHand) -> None:
    """Hardness, voids, adhesion; and no load of a part that lives hang on."""
    told = record(rudder)
    assert told.safety
    assert LOADS in told.not_shown
    assert "voids" in told.not_shown[0]


def test_an_ended_part_stands_as_it_did(rudder: ShopAtHand) -> None:
    """Ended at ten in the evening, it is printed as of ten in the evening, marks and all."""
    rudder.book.end_layup(1, at("2026-05-02T22:00:00Z"))
    mark(rudder, "1", MarkKind.NOTE, "2026-05-03T09:00:00Z", "later")
    told = record(rudder)
    assert told.stood_at == told.ended == "22:00 Sat 2 May 2026"
    assert told.marks == ()


def test_a_part_with_nothing_mixed(shop: ShopAtHand) -> None:
    """Its record is short, and asks for what is missing."""
    shop.book.add_layup(7, "lid", "demo-epoxy", on="hull", safety=False, now=MIXED)
    told = record(shop, 7)
    assert (told.batches, told.within, told.marks) == ((), (), ())
    assert told.on_hull
    assert told.sheets[0].used_by == "nothing mixed yet"


def test_a_part_says_more_than_its_shop(shop: ShopAtHand) -> None:
    """What a part gives stands before what the shop says of every part."""
    given = Particulars(boat=" Petrel ", laminate="2 light cloth on 12 mm honeycomb", place="  ")
    shop.book.add_layup(7, "lid", "demo-epoxy", on=None, safety=False, now=MIXED, particulars=given)
    told = record(shop, 7, Particulars("Tern", "the shed", "N. Body"))
    assert told.particulars == Particulars(
        "Petrel", "the shed", "N. Body", "2 light cloth on 12 mm honeycomb"
    )


def test_particulars_can_be_put_right(shop: ShopAtHand) -> None:
    """As every entry: the old value is kept and stands among the corrections."""
    shop.lay_up(1, "P1", MIXED)
    shop.book.correct("layup-1", "place", "yard tent", NOW)
    told = record(shop)
    assert told.particulars.place == "yard tent"
    (line,) = told.corrections
    assert (line.entry, line.field, line.was, line.now) == (
        "part 1", "place", "blank", "“yard tent”",
    )  # fmt: skip


def test_a_review_stands_as_it_was_given(rudder: ShopAtHand) -> None:
    """Word for word, with its day; one given after the part ended is not of that time."""
    for when in (at("2026-05-03T08:00:00Z"), NOW + timedelta(hours=1)):
        rudder.store.book.keep_review(
            1, None, when, answers=("thumbnail=dent",), findings=("cold-night",),
            lines=("Most likely: a cold night", "", "  Against it: none"), give_up_by=NOW,
        )  # fmt: skip
    (review,) = record(rudder).reviews
    assert review.when == "08:00 Sun 3 May 2026"
    assert review.lines == ("Most likely: a cold night", "", "  Against it: none")


def test_a_number_that_is_on_no_tape(shop: ShopAtHand) -> None:
    """Two lines, also for one beyond any database's numbers."""
    for number in (9, 10**30):
        with pytest.raises(BadInput):
            as_it_stood(shop.store, number, NOW)


def test_degrees_of_a_fahrenheit_shop(tmp_path: Path) -> None:
    """Temperatures have the 32 in them, differences and counts don't."""
    shop = open_demo_shop(tmp_path / "f", "f")
    shop.hear("shed", warm(20.0))
    shop.lay_up(1, "P1", MIXED)
    shop.put("1", "shed", MIXED)
    told = record(shop)
    assert told.within[0].temperature.startswith("68.0 °F to 68.0 °F. Under the sheet's 59.0 °F")
    assert "Nearer than the sheet's 5.4 °F" in told.within[0].spread
    sand = next(line for line in told.batches[0].stages if line.stage == "sand")
    assert sand.needs == "432"
    shop.store.close()
