"""When a line came, and at which rate."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from monitor.sensing.baud import USUAL_BAUDS, BaudHunt
from monitor.sensing.stamps import Stamps

AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
SECOND = timedelta(seconds=1)


def test_lines_of_one_block_are_a_microsecond_apart() -> None:
    """One look at the clock a block, and strictly increasing, also into the next block."""
    stamps = Stamps(lambda: AT)
    seen = []
    for _ in range(3):
        stamps.block()
        seen += [stamps.line() for _ in range(4)]
    assert seen[0] == AT
    assert all(later > earlier for earlier, later in pairwise(seen))
    assert seen[-1] - AT < timedelta(milliseconds=1)
    # Unix seconds as a float still tell them apart.
    assert len({stamp.timestamp() for stamp in seen}) == len(seen)


@pytest.mark.parametrize(
    ("jump", "followed"), [(timedelta(milliseconds=-500), False), (timedelta(hours=-1), True)]
)
def test_a_clock_set_back_is_followed_and_a_small_slip_is_not(
    jump: timedelta, followed: bool
) -> None:
    """An hour back was a wrong clock put right; half a second is its trimming."""
    times = iter([AT, AT + jump])
    stamps = Stamps(lambda: next(times))
    stamps.block()
    first = stamps.line()
    second = stamps.block()
    assert (second < first) is followed


def feed(hunt: BaudHunt, kinds: str, every: timedelta = SECOND) -> list[int]:
    """One block a second: g garbage, c a clean line, r a reading, m a clean line amid garbage."""
    rates = []
    for place, kind in enumerate(kinds):
        hunt.heard(
            AT + place * every, clean=kind in "crm", garbage=kind in "gm", proven=kind == "r"
        )
        rates.append(hunt.baud)
    return rates


def test_garbage_alone_tries_the_usual_rates_in_turn_and_round_again() -> None:
    """Twice a second apart at each."""
    rates = feed(BaudHunt(), "gg" * 6)
    assert rates[1::2] == [*USUAL_BAUDS[1:], *USUAL_BAUDS[:2]]
    assert rates[0::2] == [*USUAL_BAUDS, USUAL_BAUDS[0]]


@pytest.mark.parametrize("kinds", ["g", "gcgcgcgc", "cccc", "mmmm", "rrgrgrg"])
def test_a_rate_at_which_lines_are_clean_is_kept(kinds: str) -> None:
    """One burst at start-up, or noise between good lines, moves nothing."""
    assert set(feed(BaudHunt(), kinds)) == {9600}


def test_garbage_faster_than_a_second_is_one_burst() -> None:
    """A board's start-up burst comes in many blocks."""
    assert set(feed(BaudHunt(), "g" * 100, timedelta(milliseconds=9))) == {9600}


def test_a_proven_rate_is_given_up_only_after_ten_minutes_of_garbage() -> None:
    """A bad cable for a while is no new rate."""
    rates = feed(BaudHunt(), "r" + "g" * 602)
    assert set(rates[:601]) == {9600}
    assert rates[-1] == 115200


def test_a_rate_that_was_given_is_never_left() -> None:
    """The person knows."""
    assert set(feed(BaudHunt(57600), "g" * 30)) == {57600}
