"""When to give a rescue up."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from monitor.review.parts.facts import Facts
from monitor.review.parts.finding import Finding
from monitor.review.parts.symptoms import Thumbnail

SET_UP = timedelta(hours=4)
"""What it takes to bring it in, tent it and get it warm. This project's rule."""

RESCUE_H = 24.0
STEP_S = 900.0


def give_up_by(facts: Facts, findings: Sequence[Finding]) -> datetime:
    """Until when a rescue is worth it: time to set it up, and the leading cause's own hours.

    The first such time stands: a later review doesn't move it on. Rounded up to a quarter of an
    hour. Valid for any findings, also none. Source: common practice for the hours.
    """
    hours = findings[0].rescue_h if findings else RESCUE_H
    steps = -(-(facts.now + SET_UP + timedelta(hours=hours)).timestamp() // STEP_S)
    mine = datetime.fromtimestamp(steps * STEP_S, UTC)
    hard = facts.answers.thumbnail is Thumbnail.NONE
    if facts.first_deadline is None or hard:
        return mine
    return min(mine, facts.first_deadline)
