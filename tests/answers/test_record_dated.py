"""Moments on paper say their whole date, and across a clock change how far they are off UTC."""

from zoneinfo import ZoneInfo

from monitor.answers.dated import Dated
from tests.scenarios import at

BERLIN = ZoneInfo("Europe/Berlin")


def test_a_moment_has_its_year() -> None:
    """A year later it is still known which day it was."""
    dated = Dated.between(BERLIN, at("2026-05-02T08:00:00Z"), at("2026-05-04T08:00:00Z"))
    assert dated.at(at("2026-05-03T02:54:00Z")) == "04:54 Sun 3 May 2026"
    assert dated.note(at("2026-05-03T02:54:00Z")) == "Europe/Berlin (UTC+02:00)"


def test_a_span_within_a_day_says_the_day_once() -> None:
    """`10:00 to 12:30 Sat 2 May 2026`, with its length where it is wanted."""
    dated = Dated(BERLIN)
    start, end = at("2026-05-02T08:00:00Z"), at("2026-05-02T10:30:00Z")
    assert dated.lasted(start, end) == "10:00 to 12:30 Sat 2 May 2026, 2 h 30 min"
    assert dated.span(start, at("2026-05-03T08:00:00Z")) == (
        "10:00 Sat 2 May 2026 to 10:00 Sun 3 May 2026"
    )


def test_beside_another_of_its_day_the_clock_is_enough() -> None:
    """The early edge of a stage is a clock time where its late edge has the day."""
    dated = Dated(BERLIN)
    early, late = at("2026-05-02T08:00:00Z"), at("2026-05-02T10:30:00Z")
    assert dated.beside(early, late) == "10:00"
    assert dated.beside(early, None) == "10:00 Sat 2 May 2026"
    assert dated.beside(early, at("2026-05-03T10:30:00Z")) == "10:00 Sat 2 May 2026"


def test_an_hour_that_comes_twice_is_told_apart() -> None:
    """Clocks go back on 25 October 2026: both half past twos are on paper, each with its offset."""
    first, second = at("2026-10-25T00:30:00Z"), at("2026-10-25T01:30:00Z")
    dated = Dated.between(BERLIN, at("2026-10-24T12:00:00Z"), at("2026-10-25T12:00:00Z"))
    assert dated.at(first) == "02:30 +02:00 Sun 25 Oct 2026"
    assert dated.at(second) == "02:30 +01:00 Sun 25 Oct 2026"
    assert dated.span(first, second) == f"{dated.at(first)} to {dated.at(second)}"
    assert "changed on the way" in dated.note(second)


def test_going_forward_is_seen_too() -> None:
    """Clocks go forward on 29 March 2026, in the middle of a night's cure."""
    dated = Dated.between(BERLIN, at("2026-03-28T20:00:00Z"), at("2026-03-29T06:00:00Z"))
    assert dated.at(at("2026-03-29T00:59:00Z")).startswith("01:59 +01:00")
    assert dated.at(at("2026-03-29T01:01:00Z")).startswith("03:01 +02:00")
