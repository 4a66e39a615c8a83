"""How sure a review may be, what it clears, what it holds back, and when it gives up."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.records import MarkKind, Sheet
from monitor.review import review
from monitor.review.parts.facts import BatchFacts
from monitor.review.parts.finding import Strength
from monitor.review.parts.symptoms import (
    Answers,
    Cup,
    Grit,
    LastCoat,
    Looks,
    Rag,
    Smell,
    Thumbnail,
    Where,
    fits,
)
from monitor.review.parts.weigh import strength_of, weaker
from tests.review.histories import GOOD
from tests.review.made import (
    COLD_AT_ONCE,
    COLD_NIGHT,
    DAMP,
    EPOXY,
    GEL_COAT,
    batch,
    facts,
    hour,
    mark,
)


@pytest.mark.parametrize(
    ("known", "against", "expected"),
    [
        (2, 0, "strong"),
        (3, 0, "strong"),
        (1, 0, "fair"),
        (0, 0, "weak"),
        (2, 1, "fair"),
        (1, 1, "weak"),
        (0, 1, None),
        (1, 2, None),
    ],
)
def test_the_rule(known: int, against: int, expected: Strength | None) -> None:
    """Two recorded facts and nothing against: strong; one: fair; the symptom only: weak."""
    assert strength_of(known, against) == expected


def test_one_fact_more_is_never_less_sure() -> None:
    """For any number against, each further fact raises it or leaves it, and the reverse."""
    order = (None, "weak", "fair", "strong")
    for against in range(4):
        ranks = [order.index(strength_of(known, against)) for known in range(6)]
        assert ranks == sorted(ranks)
    for known in range(4):
        ranks = [order.index(strength_of(known, against)) for against in range(6)]
        assert ranks == sorted(ranks, reverse=True)
    assert weaker("strong", "fair") == weaker("fair", "strong") == "fair"


def test_a_symptom_needs_an_answer() -> None:
    """Nothing answered shows nothing; one answer against it is enough to rule it out."""
    assert not fits(Answers(), where=tuple(Where))
    assert fits(Answers(where=Where.EDGES), where=(Where.EDGES,), cup=(Cup.HARD,))
    rubbery = Answers(where=Where.EDGES, cup=Cup.RUBBERY)
    assert not fits(rubbery, where=(Where.EDGES,), cup=(Cup.HARD,))


def test_a_gap_in_the_first_hours_holds_it_at_fair() -> None:
    """Two hours unmeasured: nothing stronger than fair, and it says so."""
    told = review(
        replace(GOOD, last=batch(silent=((0.5, 2.5),)), batches=(batch(silent=((0.5, 2.5),)),))
    )
    assert [finding.strength for finding in told.findings] == ["fair"]
    assert any("of the first 6 h were not measured" in line for line in told.held)
    assert [cleared.what for cleared in told.cleared] == ["mix"], "unmeasured hours clear nothing"


def test_no_amount_logged_holds_it_at_fair() -> None:
    """Without the catalyst's amount nothing is strong, and it says so."""
    unlogged = batch(weighed=None)
    told = review(replace(GOOD, last=unlogged, batches=(unlogged,)))
    assert [finding.strength for finding in told.findings] == ["fair"]
    assert any("No catalyst amount is logged" in line for line in told.held)
    epoxy = review(facts(batch(EPOXY, weighed=None, now_h=20.0), thumbnail=Thumbnail.MARK))
    assert any("No hardener amount is logged" in line for line in epoxy.held)


def test_a_record_that_cant_say_names_no_weather() -> None:
    """Over half of the first hours unmeasured: only what the book says may be a cause."""
    silent = ((0.1, 14.0),)
    cold = batch(warmth=COLD_NIGHT, silent=silent, now_h=16.0)
    told = review(facts(cold, where=Where.ALL_OVER, thumbnail=Thumbnail.DENT))
    assert told.findings[0].id == "record-cant-say"
    assert told.findings[0].strength is None
    assert all("°C" not in e.said for f in told.findings[1:] for e in f.speaks_for)
    short = batch(EPOXY, weighed=(250.0, 80.0), silent=silent, now_h=16.0)
    by_book = review(facts(short, where=Where.ALL_OVER, thumbnail=Thumbnail.DENT))
    assert [f.id for f in by_book.findings] == ["record-cant-say", "off-ratio"]
    assert [e.source for e in by_book.findings[1].speaks_for] == ["answer", "book"]


def test_the_bounds_are_told() -> None:
    """What the count can be at the least and at the most stands beside the gap."""
    told = review(
        facts(batch(silent=((0.5, 5.9),)), where=Where.ALL_OVER, thumbnail=Thumbnail.MARK)
    )
    words = " ".join(evidence.said for evidence in told.findings[0].speaks_for)
    assert "no reading for 5 h 26 min" in words
    assert "anything from" in words


def test_weather_is_cleared_by_name() -> None:
    """Temperature, dew and mix, each with its figure, where they were fine."""
    cleared = {c.what: c.evidence.said for c in review(GOOD).cleared}
    assert set(cleared) == {"temperature", "dew", "mix"}
    assert "20.0 °C" in cleared["temperature"]
    assert "10.7 °C" in cleared["dew"]
    assert "1.50 %" in cleared["mix"]


@pytest.mark.parametrize(
    ("made", "missing"),
    [
        (batch(warmth=COLD_NIGHT, now_h=16.0), "temperature"),
        (batch(humidity=DAMP), "dew"),
        (batch(weighed=(200.0, 1.0)), "mix"),
    ],
)
def test_what_was_not_fine_is_not_cleared(made: object, missing: str) -> None:
    """Each is cleared only on its own figures."""
    told = review(replace(GOOD, last=made, batches=(made,)))
    assert missing not in {cleared.what for cleared in told.cleared}


def test_a_hull_is_not_cleared_of_dew_by_the_air() -> None:
    """It may be colder than the air: only its own probe clears it."""
    assert "dew" not in {c.what for c in review(replace(GOOD, on_hull=True)).cleared}
    probed = batch(probed=True)
    told = review(replace(GOOD, on_hull=True, last=probed, batches=(probed,)))
    assert "dew" in {c.what for c in told.cleared}


def test_wax_has_its_own_range() -> None:
    """17 °C is inside the sheet's working range and below the wax's: not cleared for a wax coat."""
    cool = batch(GEL_COAT, warmth=((0, 17), (30, 17)), waxed=True)
    told = review(facts(cool, where=Where.ALL_OVER, thumbnail=Thumbnail.DENT))
    assert "temperature" not in {cleared.what for cleared in told.cleared}


def test_normal_comes_first_and_alone() -> None:
    """Nothing wrong: normal air tack, strong, and no cold and no catalyst."""
    told = review(GOOD)
    assert [(f.id, f.strength) for f in told.findings] == [("normal-air-tack", "strong")]


def test_at_most_three_ranked() -> None:
    """Many marks against one part: three causes, the surest first."""
    many = batch(
        warmth=COLD_AT_ONCE,
        now_h=16.0,
        humidity=DAMP,
        marks=(
            mark(MarkKind.RAINED, 1),
            mark(MarkKind.WIPED, 2),
            mark(MarkKind.NOTE, 0, "over old paint, much filler"),
        ),
        cold_before_gel_h=15.5,
    )
    told = review(facts(many, where=Where.ALL_OVER, thumbnail=Thumbnail.DENT, looks=Looks.MILKY))
    order = ["strong", "fair", "weak"]
    ranks = [order.index(f.strength or "weak") for f in told.findings]
    assert len(ranks) == 3
    assert ranks == sorted(ranks)
    assert ranks[0] == 0


def test_giving_up_has_a_time() -> None:
    """Parked: four hours to set it up and twelve warm ones, to the next quarter of an hour."""
    cold = batch(warmth=COLD_NIGHT, now_h=16.0)
    told = review(facts(cold, where=Where.ALL_OVER, thumbnail=Thumbnail.DENT))
    assert told.findings[0].id == "cold-parked"
    assert told.give_up_by == hour(32)
    assert not told.given_up


def test_warm_hours_are_those_it_lacks() -> None:
    """From nothing to 240 at 24 °C over a base of 5: 12.6 h, and not more than it lacks."""
    cold = batch(warmth=COLD_AT_ONCE, now_h=16.0)
    told = review(facts(cold, where=Where.ALL_OVER, thumbnail=Thumbnail.DENT))
    lacks = 240.0 - cold.assessment.count.low
    assert told.findings[0].rescue_h == pytest.approx(max(12.0, lacks / (25.0 - 1.0 - 5.0)))


def test_the_first_deadline_stands() -> None:
    """A later review doesn't move it on; once it is past, that is said."""
    cold = batch(warmth=COLD_NIGHT, now_h=16.0)
    asked = facts(cold, where=Where.ALL_OVER, thumbnail=Thumbnail.DENT, first_deadline=hour(20))
    assert review(asked).give_up_by == hour(20)
    late = replace(asked, first_deadline=hour(15))
    assert review(late).given_up
    hard = replace(late, answers=replace(late.answers, thumbnail=Thumbnail.NONE))
    assert review(hard).give_up_by > cold.assessment.now + timedelta(hours=4)


def test_answers_of_different_questions_are_told_apart() -> None:
    """`none` and `hard` answer several questions, each in its own words."""
    told = review(replace(GOOD, answers=replace(GOOD.answers, smell=Smell.NONE, grit=Grit.DUST)))
    said = [evidence.said for evidence in told.findings[0].speaks_for]
    assert "the thumbnail leaves no mark" in said


PARTS = (
    batch(),
    batch(weighed=None),
    batch(warmth=COLD_NIGHT, now_h=16.0),
    batch(warmth=COLD_AT_ONCE, now_h=16.0, humidity=DAMP, cold_before_gel_h=15.5),
    batch(silent=((-1.0, 99.0),)),
    batch(silent=((0.5, 2.5),)),
    batch(now_h=0.0),
    batch(EPOXY, weighed=(250.0, 80.0), now_h=30.0),
    batch(EPOXY, warmth=((0, 13), (24, 9)), now_h=24.0, humidity=DAMP),
    batch(GEL_COAT, warmth=((0, 17), (30, 17)), waxed=True, humidity=DAMP),
    batch(Sheet("bare", "polyester")),
)
"""Good and bad, measured and not, and a sheet that says nothing."""


@given(
    last=st.sampled_from(PARTS),
    other=st.sampled_from((None, *PARTS)),
    answers=st.builds(
        Answers,
        *(st.none() | st.sampled_from(kind) for kind in (Where, Thumbnail, Grit, Rag, Cup)),
        *(st.none() | st.sampled_from(kind) for kind in (LastCoat, Smell, Looks)),
    ),
    on_hull=st.booleans(),
)
@settings(max_examples=300)
def test_any_answers_keep_the_rules(
    last: BatchFacts, other: BatchFacts | None, answers: Answers, on_hull: bool
) -> None:
    """At most three, the surest first, held where it must be, nothing cleared that is blamed."""
    others = () if other is None else (other,)
    asked = replace(facts(last, *others, on_hull=on_hull), answers=answers)
    told = review(asked)
    assert len(told.findings) <= 3
    assert len({finding.id for finding in told.findings}) == len(told.findings)
    strengths = [f.strength for f in told.findings if f.id != "normal-air-tack" and f.strength]
    assert strengths == sorted(strengths, key=("strong", "fair", "weak").index)
    if told.held:
        assert "strong" not in strengths
    for finding in told.findings:
        assert finding.strength is None or finding.speaks_for
        if finding.strength == "strong":
            assert finding.speaks_against == ()
            assert len([e for e in finding.speaks_for if e.source != "answer"]) >= 2
    blamed = {finding.id for finding in told.findings}
    clear = {cleared.what for cleared in told.cleared}
    if "temperature" in clear:
        assert not blamed & {"cold-parked", "styrene-lost", "wax-too-cold", "epoxy-parked"}
    if "dew" in clear:
        assert not blamed & {"dew-on-green", "blush"}
    if "mix" in clear:
        assert not blamed & {"off-ratio", "too-much-catalyst"}
    assert told.give_up_by > asked.now
