"""When the record can't say: nobody measured the hours that decide."""

from monitor.review.parts.facts import FIRST_HOURS, Facts
from monitor.review.parts.finding import Evidence, Finding
from monitor.times import length_said

UNMEASURED_SHARE = 0.5
"""Past half of the first hours unmeasured, no cause is read from them. This project's rule."""

WHY = {
    "silent": "no reading",
    "suspect": "suspect readings",
    "carried": "carried between sensors",
    "before-first": "no reading yet",
    "after-last": "no reading since",
}


def record_cant_say(facts: Facts) -> Finding | None:
    """A gap or suspect span over the first hours. This project's rule."""
    last = facts.last
    whole = min(FIRST_HOURS, facts.now - last.mixed_at).total_seconds() / 3600.0
    missing_h = facts.unmeasured_early_h()
    if whole <= 0.0 or missing_h <= UNMEASURED_SHARE * whole:
        return None
    end = last.mixed_at + FIRST_HOURS
    gaps = [gap for gap in last.assessment.gaps if gap.start < end]
    count = last.assessment.count
    span = (
        f"the count is at least {count.low:.0f}, and nobody knows how much more"
        if count.high is None
        else f"the count can be anything from {count.low:.0f} to {count.high:.0f}"
    )
    told = [
        Evidence(
            f"{WHY[gap.why]} for {length_said(gap.hours * 3600)}", "sensor", gap.start, gap.end
        )
        for gap in gaps
    ]
    bounds = Evidence(span, "sensor")
    return Finding(
        "record-cant-say",
        "The record can't say",
        None,
        (*told, bounds),
        (),
        "Decide by the witness tab and the tests: thumbnail, then 10 cm of 80 grit.",
        "take a cause from hours that nobody measured.",
        "The thumbnail on the witness tab, now and after a warm day.",
    )
