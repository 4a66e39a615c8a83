"""Each finding: a history that has it, one that must not, one where what is against it wins."""

import inspect
import pkgutil
from collections.abc import Callable
from importlib import import_module

import pytest

import monitor.review
from monitor.review import FINDINGS, review
from monitor.review.parts.facts import Facts
from monitor.review.parts.finding import Finding
from tests.review.histories import ROWS

LOOKS = {look.__name__: look for look in FINDINGS}


def test_every_finding_of_the_folder_is_asked() -> None:
    """A function from facts to a finding that lives there is in the registry, and the reverse."""
    shape = inspect.signature(FINDINGS[0])
    found = {
        function
        for part in pkgutil.iter_modules(monitor.review.__path__, "monitor.review.")
        if not part.ispkg
        for name, function in vars(import_module(part.name)).items()
        if inspect.isfunction(function)
        and function.__module__ == part.name
        and not name.startswith("_")
        and inspect.signature(function) == shape
    }
    assert found == set(FINDINGS)
    assert len(FINDINGS) == 28


def test_every_finding_has_its_histories() -> None:
    """None is left out of the table."""
    assert set(ROWS) == set(LOOKS)


@pytest.mark.parametrize("name", ROWS)
def test_a_history_that_has_it(name: str) -> None:
    """It is found, as sure as the record makes it, with nothing against it."""
    found = LOOKS[name](ROWS[name].has)
    assert found is not None
    assert found.strength == ROWS[name].strength
    assert found.speaks_against == ()
    assert any(evidence.source != "answer" for evidence in found.speaks_for)


@pytest.mark.parametrize("name", ROWS)
def test_a_history_that_must_not(name: str) -> None:
    """It is not found."""
    assert LOOKS[name](ROWS[name].hasnt) is None


@pytest.mark.parametrize("name", ROWS)
def test_the_evidence_against_wins(name: str) -> None:
    """It is not told, or is told weaker with what speaks against it."""
    found, row = LOOKS[name](ROWS[name].outweighed), ROWS[name]
    if row.left is None:
        assert found is None
        return
    assert found is not None
    assert found.strength == row.left
    assert found.speaks_against != ()


@pytest.mark.parametrize("name", ROWS)
def test_it_comes_through(name: str) -> None:
    """In the whole review of its own history it is among the three that are told."""
    found = LOOKS[name](ROWS[name].has)
    assert found is not None
    told = review(ROWS[name].has).findings
    assert found.id in [finding.id for finding in told]
    assert len(told) <= 3


def all_found() -> list[Finding]:
    def told(look: Callable[[Facts], Finding | None], facts: Facts) -> Finding:
        found = look(facts)
        assert found is not None
        return found

    return [told(LOOKS[name], row.has) for name, row in ROWS.items()]


def test_each_says_what_to_do() -> None:
    """Every finding has its own word, something to do, to leave, and a test; no table numbers."""
    found = all_found()
    assert len({finding.id for finding in found}) == len(found)
    for finding in found:
        assert finding.do.endswith(".")
        assert finding.do_not[0].islower()
        assert finding.split_by
        assert finding.id == finding.id.lower()
        assert not any(character.isdigit() for character in finding.id)


def test_evidence_has_its_figure_and_its_time() -> None:
    """What comes from the sensor carries a figure, and what comes from the record a time."""
    for finding in all_found():
        for evidence in finding.speaks_for:
            bounds = finding.strength is None
            assert evidence.since is not None or bounds, evidence
            if evidence.source == "sensor":
                figure = any(character.isdigit() for character in evidence.said)
                assert figure or "by the" in evidence.said or "careful edge" in evidence.said
