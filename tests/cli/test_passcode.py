"""Passcodes from the command line, and a network that is only opened with one."""

import re
from io import StringIO

import pytest

from tests.scenarios.terminal import Layupwatch


def test_the_network_is_not_opened_without_a_passcode(layupwatch: Layupwatch) -> None:
    """Two lines: what is wrong, and the command to give."""
    refused = layupwatch("run", "--lan", "--port", "0")
    assert refused.code == 2
    assert refused.err.splitlines() == [
        "No passcode is set: anyone on this network could open the pages.",
        "Set one first: layupwatch passcode set write. For looking only: passcode set look.",
    ]


def test_one_that_is_made_up_is_shown_once(layupwatch: Layupwatch) -> None:
    """Twelve digits; nothing shows it again."""
    made = layupwatch("passcode", "set", "write", "--make")
    assert re.search(r"The passcode to write is (\d{3} ){3}\d{3}\n", made.out)
    assert layupwatch("passcode", "phones").out == "None.\n"


def test_one_that_is_typed(layupwatch: Layupwatch, monkeypatch: pytest.MonkeyPatch) -> None:
    """From a pipe, one line; never shown."""
    monkeypatch.setattr("sys.stdin", StringIO("quiet water 3\n"))
    told = layupwatch("passcode", "set", "look")
    assert told.out == "The passcode to look is set.\n"
    assert (
        layupwatch("passcode", "remove", "look").out == "Nobody may look from a phone any more.\n"
    )


@pytest.mark.parametrize("phone", ["3", "x", "-1", "999999999999"])
def test_a_phone_that_is_not_signed_in(layupwatch: Layupwatch, phone: str) -> None:
    """Two lines, exit code 2."""
    layupwatch("passcode", "set", "write", "--make")
    refused = layupwatch("passcode", "sign-out", phone)
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 2


def test_too_short_a_passcode(layupwatch: Layupwatch, monkeypatch: pytest.MonkeyPatch) -> None:
    """Says how long, and offers to make one up."""
    monkeypatch.setattr("sys.stdin", StringIO("short\n"))
    refused = layupwatch("passcode", "set", "write")
    assert refused.code == 2
    assert "8 to 200 characters" in refused.err
