"""Still sticky: the terminal's questions and words, pressed, held against the record, and kept."""

from datetime import timedelta

import pytest

from monitor.answers.review import keep, kept_blocks, review_blocks, review_of
from monitor.answers.review_asked import QUESTIONS, parse_answers
from monitor.records import MarkKind
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import NOW, Clock
from tests.dashboards.test_marking import marks_of
from tests.dashboards.test_pages import text_of
from tests.scenarios.shop import ShopAtHand

ANSWERED = {"where": "all-over", "thumbnail": "none", "grit": "dust-after", "rag": "-"}


def flat(words: str) -> str:
    return " ".join(words.split())


def test_still_sticky_is_a_mark_and_leads_to_the_questions(
    client: Asking, filled: ShopAtHand
) -> None:
    """The mark is kept at once, and can be taken back from there."""
    answer = client.post("/layups/3/marks", data={"kind": "sticky"})
    mark = marks_of(filled, 3)[-1]
    assert mark.kind is MarkKind.STICKY
    assert answer.headers["location"] == f"/layups/3/review?just={mark.id}"
    page = client.get(answer.headers["location"]).text
    assert "Marked: still sticky." in text_of(page)
    assert f"/layups/3/mark?just={mark.id}#just" in page


def test_the_page_asks_what_the_terminal_asks(client: Asking) -> None:
    """Every question, hint and choice in its words; each can be left open, and is so at first."""
    page = client.get("/layups/3/review").text
    told = flat(text_of(page)).lower()
    for question in QUESTIONS:
        assert question.words.lower() in told
        assert question.hint in told
        assert f'id="{question.name}-open" value="-" checked' in page
        for choice in question.choices:
            assert choice.said.lower() in told


def test_an_answer_is_the_terminal_s(client: Asking, filled: ShopAtHand) -> None:
    """Line for line what `review` prints, kept as the terminal keeps it, and found again later."""
    seen = filled.look(3, NOW)
    told = review_of(filled.store, seen, parse_answers(ANSWERED), None, NOW, "c")
    answer = client.post("/layups/3/review", data=ANSWERED)
    assert answer.status_code == 303
    page = flat(text_of(client.get(answer.headers["location"]).text))
    for block in review_blocks(told, filled.shop.zone, lasting=True):
        assert flat(block.heading) in page
        for line in block.lines:
            assert flat(line) in page
    (kept,) = filled.store.book.reviews(seen.layup.id)
    assert kept.answers == ("where=all-over", "thumbnail=none", "grit=dust-after")
    again = text_of(client.get("/layups/3/review").text)
    assert "08:00 today 1. " in again
    assert f"/layups/3/review/{kept.id}" in client.get("/layups/3/review").text


def test_a_kept_review_is_laid_out_as_it_was_given(filled: ShopAtHand) -> None:
    """The blocks come back from its lines."""
    seen = filled.look(3, NOW)
    told = review_of(filled.store, seen, parse_answers(ANSWERED), None, NOW, "c")
    kept = keep(filled.store, told, filled.shop.zone)
    assert kept_blocks(kept) == review_blocks(told, filled.shop.zone, lasting=True)


def test_what_was_answered_before_is_offered(
    client: Asking, filled: ShopAtHand, clock: Clock
) -> None:
    """For twelve hours, said to be from before; after that the question is open again."""
    client.post("/layups/3/review", data=ANSWERED)
    page = client.get("/layups/3/review").text
    assert 'id="grit-dust-after" value="dust-after" checked' in page
    assert text_of(page).count("(as before)") == 3
    clock.now = NOW + timedelta(hours=13)
    page = client.get("/layups/3/review").text
    assert 'id="grit-open" value="-" checked' in page
    assert "(as before)" not in page


@pytest.mark.parametrize(
    ("data", "told"),
    [
        ({"where": "-", "grit": ""}, "Nothing about the tack is answered"),
        ({"where": "everywhere"}, "'everywhere' is no answer to where"),
        ({"where": "patches", "of": "keel"}, "Part 3 has no batch keel."),
    ],
)
def test_what_can_t_be_reviewed_is_told(
    client: Asking, filled: ShopAtHand, data: dict[str, str], told: str
) -> None:
    """In two lines above the questions, which keep what was pressed; nothing is kept."""
    answer = client.post("/layups/3/review", data=data)
    assert answer.status_code == 400
    page = text_of(answer.text)
    assert told in page
    assert "--" not in page
    assert filled.store.book.reviews(filled.store.book.layup(3).id) == ()
    if data["where"] == "patches":
        assert 'id="where-patches" value="patches" checked' in answer.text


def test_a_batch_can_be_named_where_there_are_several(client: Asking, filled: ShopAtHand) -> None:
    """Else it is the one mixed last."""
    first, last = filled.store.book.batches(filled.store.book.layup(1).id)
    for of, meant in (("skin-a", first.id), ("", last.id)):
        client.post("/layups/1/review", data=ANSWERED | {"of": of})
        assert filled.store.book.reviews(first.layup_id)[-1].batch_id == meant
    assert "Of which batch?" in client.get("/layups/1/review").text
    assert "Of which batch?" not in client.get("/layups/3/review").text


def test_a_part_with_nothing_mixed_has_nothing_to_review(
    client: Asking, filled: ShopAtHand
) -> None:
    """It says so, and leads to the cup; an unknown review is a page with two lines."""
    filled.book.add_layup(4, "cleat pad", "demo-laminating", on=None, safety=False, now=NOW)
    assert "nothing to review" in text_of(client.get("/layups/4/review").text)
    assert client.post("/layups/4/review", data=ANSWERED).status_code == 400
    assert client.get("/layups/3/review/99").status_code == 404


def test_programs_ask_too(client: Asking, filled: ShopAtHand) -> None:
    """The object of `review --json` with its id; and every review as it was given."""
    told = client.post("/api/layups/3/review", json=ANSWERED)
    assert told.status_code == 201
    assert told.json()["answers"] == {k: v for k, v in ANSWERED.items() if v != "-"}
    (kept,) = client.get("/api/layups/3/reviews").json()
    assert kept["id"] == told.json()["id"]
    assert kept["answers"] == told.json()["answers"]
    assert kept["said"] == list(filled.store.book.reviews(filled.store.book.layup(3).id)[0].lines)
    nothing = client.post("/api/layups/3/review", json={})
    assert nothing.status_code == 400
    assert set(nothing.json()) == {"what", "remedy"}
