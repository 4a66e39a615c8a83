"""Earlier cups are worked out a part at a time, and held until that part's book or air changes."""

from datetime import timedelta

import pytest

import monitor.answers.past_kept as past_kept
from monitor.answers.past import past_jobs
from monitor.answers.past_kept import PastCups
from monitor.logbook import parse_address
from monitor.records import Channel, Doubt, Flags, MarkKind
from tests.answers.test_past import START, job
from tests.scenarios import columns
from tests.scenarios.shop import ShopAtHand

NOW = START + timedelta(days=9)
STEM = "demo-laminating"


class Counted:
    """What is worked out anew: the numbers of its parts."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.numbers: list[int] = []
        real = past_kept.jobs_of

        def counting(store, layup, *given):
            self.numbers.append(layup.number)
            return real(store, layup, *given)

        monkeypatch.setattr(past_kept, "jobs_of", counting)

    def since(self) -> list[int]:
        told, self.numbers = self.numbers, []
        return told


@pytest.fixture
def worked(monkeypatch: pytest.MonkeyPatch) -> Counted:
    return Counted(monkeypatch)


@pytest.fixture
def three(shop: ShopAtHand) -> ShopAtHand:
    """Two days apart, the first ended; a fourth with nothing marked."""
    for number, day in ((1, 0), (2, 2), (3, 4)):
        job(shop, number, day, 18.0, 40, 20.0)
    shop.book.end_layup(1, START + timedelta(days=1))
    shop.lay_up(4, "P1", START + timedelta(days=5))
    return shop


def test_what_is_kept_is_what_is_worked_out_whole(three: ShopAtHand, worked: Counted) -> None:
    """For each sheet, newest first; a second look works out nothing."""
    past = PastCups(three.store)
    assert past.of(STEM, NOW) == past_jobs(three.store, STEM, NOW)
    assert worked.since() == [1, 2, 3]
    assert past.of(STEM, NOW + timedelta(hours=5)) == past_jobs(three.store, STEM, NOW)
    assert past.of("demo-epoxy", NOW) == ()
    assert worked.since() == []


def test_a_part_without_a_cup_that_somebody_marked(three: ShopAtHand) -> None:
    """One press before any cup was logged tells of no cup, and keeps nobody from the others'."""
    three.book.add_layup(5, "lid", STEM, on=None, safety=False, now=NOW)
    at = NOW - timedelta(hours=1)
    three.book.add_mark(parse_address("5"), MarkKind.KICKED, at=at, note=None, now=NOW)
    assert len(PastCups(three.store).of(STEM, NOW)) == 3


def test_a_mark_or_a_correction_is_of_its_own_part(three: ShopAtHand, worked: Counted) -> None:
    """Made, put right, or put right in a part that was ended: only that one is worked out."""
    past = PastCups(three.store)
    past.of(STEM, NOW)
    worked.since()
    book = three.book
    told = MarkKind.CUP_KICKED
    at = START + timedelta(days=2, hours=1)
    book.add_mark(parse_address("2"), told, at=at, note=None, now=NOW)
    assert past.of(STEM, NOW) == past_jobs(three.store, STEM, NOW)
    assert worked.since() == [2]
    first = three.store.book.batches(1)[0]
    book.correct(f"batch-{first.id}", "resin_g", 150.0, NOW)
    assert past.of(STEM, NOW)[-1].mix_pct == pytest.approx(2.0)
    assert worked.since() == [1]
    stay = three.store.book.stays(3)[0]
    book.correct(f"stay-{stay.id}", "since", START + timedelta(days=4, hours=1), NOW)
    assert past.of(STEM, NOW) == past_jobs(three.store, STEM, NOW)
    assert worked.since() == [3]


def test_readings_that_change_the_past_are_asked_again(three: ShopAtHand, worked: Counted) -> None:
    """Late, doubted or put right; a reading after all that is told of a part changes nothing."""
    past = PastCups(three.store)
    past.of(STEM, NOW)
    worked.since()
    later = NOW.timestamp()
    three.hear("shed", columns([later, later + 60], [30.0, 30.0]))
    assert past.of(STEM, NOW) == past_jobs(three.store, STEM, NOW)
    assert worked.since() == []
    shed = three.store.book.sensor("shed")
    day = timedelta(days=1)
    doubted = START + 4 * day
    three.store.readings.add_flags(
        shed.id, doubted, doubted + timedelta(hours=1), Flags(temperature=Doubt.SUNNED)
    )
    assert past.of(STEM, NOW) == past_jobs(three.store, STEM, NOW)
    assert worked.since() == [3]
    between = (START + 2 * day + timedelta(minutes=90)).timestamp() + 30.0
    three.hear("shed", columns([between], [25.0]))
    assert past.of(STEM, NOW) == past_jobs(three.store, STEM, NOW)
    assert worked.since() == [2, 3]


def test_a_part_still_being_heard_grows_until_all_is_known(
    shop: ShopAtHand, worked: Counted
) -> None:
    """The cup's warmth is over its first hours: it is worked out with each reading until then."""
    job(shop, 1, 0, 18.0, 40, 0.9)
    past, hours = PastCups(shop.store), timedelta(hours=1)
    past.of(STEM, START + 2 * hours)
    worked.since()
    for after, anew in ((2.5, [1]), (2.9, [1]), (3.0, [1]), (3.1, []), (4.0, [])):
        moment = START + after * hours
        shop.hear("shed", columns([moment.timestamp()], [25.0]))
        assert past.of(STEM, moment) == past_jobs(shop.store, STEM, moment)
        assert worked.since() == anew


def test_a_part_whose_marks_are_gone_is_forgotten(three: ShopAtHand) -> None:
    """A mark that was taken back tells of nothing."""
    past = PastCups(three.store)
    past.of(STEM, NOW)
    layup = three.store.book.layup(3)
    for mark in three.store.book.marks(layup.id):
        three.book.take_back(layup, mark.id, NOW)
    assert past.of(STEM, NOW) == past_jobs(three.store, STEM, NOW)
    assert {told.address for told in past.of(STEM, NOW)} == {"1/skin-a", "2/skin-a"}


def test_a_check_against_salt_is_asked_again(three: ShopAtHand, worked: Counted) -> None:
    """It puts readings right from its own moment on."""
    past = PastCups(three.store)
    past.of(STEM, NOW)
    worked.since()
    shed = three.store.book.sensor("shed")
    at = START + timedelta(days=3)
    three.store.checks.add(shed.id, "ice", Channel.AIR, at, temperature_c=0.0, ice_c=(1.0, 0.0))
    assert past.of(STEM, NOW) == past_jobs(three.store, STEM, NOW)
    assert worked.since() == [3]
