"""Marks pressed on a page: kept at once, taken back, put earlier, and never lost from the book."""

import re
from datetime import timedelta

import pytest

from dashboards.presses import GROUPS, PRESSES, likely, words_of
from monitor.records import Mark, MarkKind
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import NOW, Clock
from tests.dashboards.test_pages import text_of
from tests.scenarios.shop import ShopAtHand


def marks_of(shop: ShopAtHand, number: int) -> tuple[Mark, ...]:
    return shop.store.book.marks(shop.store.book.layup(number).id)


def test_every_mark_can_be_pressed_once() -> None:
    """Each word of the book stands on the page once; a note is written instead."""
    kinds = [press.kind for group in GROUPS for press in group.presses]
    assert sorted(kinds) == sorted(set(MarkKind) - {MarkKind.NOTE})
    assert len({press.words for press in PRESSES.values()}) == len(PRESSES)
    assert words_of(MarkKind.NOTE) == "Note"


@pytest.mark.parametrize(
    ("made", "next_ones"),
    [
        ((), ("catalyst-in", "kicked")),
        (("catalyst-in",), ("kicked", "trimmed-clean")),
        (("catalyst-in", "kicked"), ("trimmed-clean", "flipped")),
        (("kicked", "trimmed-soft"), ("flipped", "sanded-dust")),
        (("kicked", "flipped"), ("sanded-dust", "sanded-gum")),
        (("flipped", "sanded-gum"), ("sanded-dust", "sanded-gum")),
        (("sanded-dust", "note"), ("coated-plain", "coated-wax")),
    ],
)
def test_what_comes_next_is_nearest_to_the_hand(
    made: tuple[str, ...], next_ones: tuple[str, ...]
) -> None:
    """Two marks stand on the page of everything open, by what was marked so far."""
    marks = [Mark(n, 1, None, MarkKind(kind), NOW) for n, kind in enumerate(made)]
    assert tuple(press.kind.value for press in likely(marks)) == next_ones


def test_a_press_is_a_mark_now(client: Asking, filled: ShopAtHand) -> None:
    """Kept at the moment it was pressed, and the page that comes says what was kept."""
    answer = client.post("/layups/1/marks", data={"kind": "flipped"})
    assert answer.status_code == 303
    mark = marks_of(filled, 1)[-1]
    assert (mark.kind, mark.at, mark.batch_id) == (MarkKind.FLIPPED, NOW, None)
    page = text_of(client.get(answer.headers["location"]).text)
    assert "Flipped, part 1, 08:00 today." in page
    assert "Take it back" in page


def test_a_cup_s_mark_is_of_the_newest_cup(client: Asking, filled: ShopAtHand) -> None:
    """Where there are several; of the chosen one, or of the whole part, if that was said."""
    batches = filled.store.book.batches(filled.store.book.layup(1).id)
    for of, meant in (("", batches[1].id), ("skin-a", batches[0].id), ("all", None)):
        client.post("/layups/1/marks", data={"kind": "kicked", "of": of})
        assert marks_of(filled, 1)[-1].batch_id == meant
    client.post("/layups/3/marks", data={"kind": "kicked"})
    assert marks_of(filled, 3)[-1].batch_id is None


def test_a_mark_taken_back_stays_as_a_note(client: Asking, filled: ShopAtHand) -> None:
    """It counts for nothing any more, and the book still says what was pressed and when."""
    client.post("/layups/1/marks", data={"kind": "sanded-dust", "note": "tab"})
    (mark,) = marks_of(filled, 1)
    answer = client.post(f"/layups/1/marks/{mark.id}/taken-back")
    (after,) = marks_of(filled, 1)
    assert (after.kind, after.note) == (MarkKind.NOTE, "taken back: sanded-dust (tab)")
    kept = [(c.field, c.old_value) for c in filled.store.book.corrections(f"mark-{mark.id}")]
    assert kept == [("note", "tab"), ("kind", "sanded-dust")]
    assert "Taken back." in text_of(client.get(answer.headers["location"]).text)
    again = client.post(f"/layups/1/marks/{mark.id}/taken-back")
    assert again.status_code == 400
    assert "There is nothing to take back." in text_of(again.text)


def test_that_was_some_minutes_ago(client: Asking, filled: ShopAtHand, clock: Clock) -> None:
    """Counted from the press, however long the second press took; the first time is kept."""
    pressed = client.post("/layups/1/marks", data={"kind": "flipped"})
    (mark,) = marks_of(filled, 1)
    page = client.get(pressed.headers["location"]).text
    stamp = re.search(r'name="pressed" value="([^"]+)"', page)
    assert stamp is not None
    clock.now = NOW + timedelta(minutes=2)
    for minutes in (15, 30):
        answer = client.post(
            f"/layups/1/marks/{mark.id}/earlier", data={"minutes": minutes, "pressed": stamp[1]}
        )
        assert marks_of(filled, 1)[0].at == NOW - timedelta(minutes=minutes)
    page = text_of(client.get(answer.headers["location"]).text)
    assert "Flipped, part 1, 07:30 today: 30 min before you pressed." in page
    old = [c.old_value for c in filled.store.book.corrections(f"mark-{mark.id}")]
    assert old == ["2026-05-03T08:00:00Z", "2026-05-03T07:45:00Z"]


def test_only_the_steps_shown_are_taken(client: Asking, filled: ShopAtHand) -> None:
    """Any other time is put right on the mark's own page."""
    client.post("/layups/1/marks", data={"kind": "flipped"})
    (mark,) = marks_of(filled, 1)
    data = {"minutes": 7, "pressed": "2026-05-03T08:00:00Z"}
    assert client.post(f"/layups/1/marks/{mark.id}/earlier", data=data).status_code == 400
    assert marks_of(filled, 1)[0].at == NOW


@pytest.mark.parametrize(
    ("path", "data"),
    [
        ("/layups/1/marks", {}),
        ("/layups/1/marks", {"kind": "dried"}),
        ("/layups/1/marks", {"kind": "note"}),
        ("/layups/1/marks", {"kind": "note", "note": "x" * 501}),
        ("/layups/1/marks", {"kind": "flipped", "of": "fillet"}),
        ("/layups/1/marks", {"kind": "flipped", "of": "<b>"}),
        ("/layups/77/marks", {"kind": "flipped"}),
        (f"/layups/{10**30}/marks", {"kind": "flipped"}),
        ("/layups/1/marks/999/taken-back", {}),
        (f"/layups/1/marks/{10**30}/taken-back", {}),
    ],
)
def test_what_can_t_be_a_mark_is_two_lines(
    client: Asking, filled: ShopAtHand, path: str, data: dict[str, str]
) -> None:
    """And nothing is written."""
    answer = client.post(path, data=data)
    assert answer.status_code == 400
    assert 'class="remedy"' in answer.text
    assert marks_of(filled, 1) == ()


def test_a_note_is_in_one_s_own_words(client: Asking, filled: ShopAtHand) -> None:
    """Escaped where it is shown."""
    client.post("/layups/1/marks", data={"kind": "note", "note": "<i>drips</i> at the tip"})
    page = client.get("/layups/1/book").text
    assert "&lt;i&gt;drips&lt;/i&gt; at the tip" in page
    assert "<i>drips" not in page


def test_a_part_with_several_cups_asks_of_what(client: Asking) -> None:
    """With one cup there is nothing to ask."""
    page = client.get("/layups/1/mark").text
    assert "of skin B, mixed last" in page
    assert '<a class="step" href="?of=skin-a">skin A</a>' in page
    chosen = client.get("/layups/1/mark?of=skin-a").text
    assert '<input type="hidden" name="of" value="skin-a">' in chosen
    assert "Of what?" not in client.get("/layups/3/mark").text
