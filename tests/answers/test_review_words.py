"""A review in words, for terminal and page alike, and the answers that make it."""

import re
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from monitor.answers.review import keep, review_blocks, review_lines, review_of
from monitor.answers.review_asked import QUESTIONS, answer_words, offered_answers, parse_answers
from monitor.errors import BadInput
from monitor.logbook import parse_address
from monitor.records import MarkKind
from tests.scenarios import at, columns
from tests.scenarios.shop import ShopAtHand

LISBON = ZoneInfo("Europe/Lisbon")
MIXED = at("2026-05-03T08:00:00Z")
NOW = at("2026-05-03T13:00:00Z")


@pytest.fixture
def green(shop: ShopAtHand) -> ShopAtHand:
    """A part five hours old at 20 °C, in a place known for two days."""
    since_s = (MIXED - timedelta(hours=48)).timestamp()
    time_s = [since_s + 60.0 * i for i in range(53 * 60 + 1)]
    shop.hear("shed", columns(time_s, [20.0] * len(time_s), [50.0] * len(time_s)))
    shop.lay_up(3, "P1", MIXED)
    shop.put("3", "shed", MIXED)
    return shop


def test_seven_questions_and_a_look() -> None:
    """In the order they are asked, each with its flag, its words and its choices."""
    assert [question.name for question in QUESTIONS] == [
        *("where", "thumbnail", "grit", "rag", "cup", "last_coat", "smell", "looks")
    ]
    for question in QUESTIONS:
        assert question.flag == f"--{question.name.replace('_', '-')}"
        assert question.words.endswith("?")
        assert len({choice.said for choice in question.choices}) == len(question.choices) >= 2


def test_every_choice_parses() -> None:
    """Each word a page can send comes back as it was; a form's empty fields stay open."""
    for question in QUESTIONS:
        for choice in question.choices:
            form = {q.name: "" for q in QUESTIONS} | {question.name: choice.word}
            assert answer_words(parse_answers(form)) == (f"{question.name}={choice.word}",)


def test_words_are_read_as_people_type_them() -> None:
    """Capitals and a space are no reason to refuse."""
    assert answer_words(parse_answers({"where": " All over"})) == ("where=all-over",)


@pytest.mark.parametrize("form", [{}, {"where": "-"}, {"thumbnail": "", "grit": None}])
def test_nothing_answered_is_refused(form: dict[str, str | None]) -> None:
    """There is nothing to go by."""
    with pytest.raises(BadInput) as told:
        parse_answers(form)
    assert "--where" in told.value.remedy


def test_a_word_that_is_no_answer_is_refused() -> None:
    """With the words that are."""
    with pytest.raises(BadInput) as told:
        parse_answers({"cup": "soft"})
    assert told.value.remedy == "Use one of: hard, rubbery, not-kept."


def test_blocks_for_a_page(green: ShopAtHand) -> None:
    """The question, each cause under its heading, what is cleared, and how it closes."""
    answers = parse_answers({"where": "all-over", "thumbnail": "mark"})
    told = review_of(green.store, green.look(3, NOW), answers, None, NOW, "c")
    headings = [block.heading for block in review_blocks(told, LISBON)]
    assert headings == [
        *("", "1. Still green: early, not wrong: strong", "Not the cause", "Before you go on")
    ]
    told_lines = review_blocks(told, LISBON)[1].lines
    starts = [line.partition(": ")[0] for line in told_lines]
    assert list(dict.fromkeys(starts)) == ["For", "Against", "Do", "Don't", "To tell it apart"]


def test_a_green_part_is_told_when(green: ShopAtHand) -> None:
    """240 at 20 °C is 16 h: 01:00 in Lisbon, some hours later at the careful edge; a guess."""
    answers = parse_answers({"thumbnail": "mark"})
    told = review_of(green.store, green.look(3, NOW), answers, None, NOW, "c")
    text = "\n".join(review_lines(told, LISBON))
    found = re.search(r"Expected after about (0\d:\d\d) Mon, a guess", text)
    assert found is not None
    assert "01:00" <= found[1] < "05:00"


def test_kept_times_carry_their_own_day(green: ShopAtHand) -> None:
    """What is read next month doesn't say today."""
    answers = parse_answers({"where": "all-over", "thumbnail": "mark"})
    told = review_of(green.store, green.look(3, NOW), answers, "skin-a", NOW, "c")
    assert "today" in "\n".join(review_lines(told, LISBON))
    kept = keep(green.store, told, LISBON)
    assert not any("today" in line for line in kept.lines)
    assert any("Sun 3 May" in line for line in kept.lines)
    assert kept.findings == ("still-green=strong",)
    assert kept.give_up_by == told.review.give_up_by


def test_what_was_marked_is_offered(green: ShopAtHand) -> None:
    """The thumbnail and the grit that were marked this morning, and the last review's answers."""
    assert offered_answers(green.store, green.look(3, NOW), NOW) == {}
    for kind, hours in ((MarkKind.THUMBNAIL_DENT, 1), (MarkKind.SANDED_GUM, 2)):
        moment = MIXED + timedelta(hours=hours)
        green.book.add_mark(parse_address("3"), kind, at=moment, note=None, now=NOW)
    offered = offered_answers(green.store, green.look(3, NOW), NOW)
    assert offered == {"thumbnail": "dent", "grit": "gum"}
    answers = parse_answers({"where": "edges", "thumbnail": "mark"})
    keep(
        green.store,
        review_of(green.store, green.look(3, NOW), answers, None, NOW, "c"),
        LISBON,
    )
    later = NOW + timedelta(hours=1)
    offered = offered_answers(green.store, green.look(3, later), later)
    assert offered == {"where": "edges", "thumbnail": "mark", "grit": "gum"}
    assert offered_answers(green.store, green.look(3, later), NOW + timedelta(hours=13)) == {}
