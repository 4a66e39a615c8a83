"""Short forms of what no sensor, no page and nobody's hand would send; the long ones beside it."""

from pathlib import Path

from tests.soak.files import Files
from tests.soak.hostile import at_another_rate
from tests.soak.lines import MISSED_AT_MOST, send_hostile
from tests.soak.requests import ask_hostile

MOST_GROWN_MIB = 60


def test_hostile_lines_hide_no_true_one(tmp_path: Path) -> None:
    """Every true line between them is stored as it was sent, and none that wasn't sent."""
    outcome = send_hostile(tmp_path, 15_000, seed=3)
    assert outcome.fine, outcome
    assert all(told.true > 50 for told in outcome.each)
    # Where the format is to be found out, a burst may lose its first lines, and no more.
    assert all(told.missed <= told.true * MISSED_AT_MOST / 24 for told in outcome.each)
    assert outcome.held_mib[2] - outcome.held_mib[1] < MOST_GROWN_MIB


def test_hostile_requests_break_nothing(tmp_path: Path) -> None:
    """No answer is the program's own fault, or less strict than others; somebody's work goes on."""
    outcome = ask_hostile(tmp_path, 600, 5)
    assert outcome.fine, outcome
    asked = {kind for kind, _, _ in outcome.tally.statuses}
    assert {"schema", "form", "JSON", "question", "address", "body", "broken"} <= asked
    answered = {status for _, who, status in outcome.tally.statuses if who == "writer"}
    assert {200, 303, 400, 404} <= answered


def test_hostile_files_are_refused_or_taken(tmp_path: Path) -> None:
    """Two lines and a code, never a crash; what is refused changes nothing."""
    outcome = Files(tmp_path, seed=7).run(4)
    assert not outcome.wrong, outcome
    assert {code for _, code in outcome.codes} >= {0, 2, 3}


def test_bytes_at_their_own_rate_are_themselves() -> None:
    """And at another's they are noise: so the lines heard at a wrong rate are as on a wire."""
    line = bytes(range(256))
    assert at_another_rate(line, 9600, 9600) == line
    assert at_another_rate(line, 9600, 115200) != line
    # By hand: sent half as fast, the start bit and eight zeros are 18 zeros, then two ones. The
    # first byte takes ten zeros; of the second's eight bits, ticks 11 to 18, the last is a one.
    assert at_another_rate(b"\x00", 9600, 19200) == b"\x00\x80"
