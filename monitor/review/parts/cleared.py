"""What is not the cause: temperature, dew and mix, each cleared in words where it was fine."""

from collections.abc import Iterator

from monitor.review.parts.evidence import (
    MIX_IS_RIGHT,
    inside,
    mix_was_right,
    warmth_was_right,
)
from monitor.review.parts.facts import Facts
from monitor.review.parts.finding import Cleared, Evidence
from monitor.units import difference_said


def cleared(facts: Facts) -> Iterator[Cleared]:
    """Each that was measured or logged, and fine, for the last batch.

    Nothing is cleared by hours that nobody measured. Valid for any facts. Source: the sheet.
    """
    if facts.unmeasured_early_h() == 0.0:
        warmth = _warmth(facts)
        if warmth is not None:
            yield Cleared("temperature", warmth)
        dew = _dew(facts)
        if dew is not None:
            yield Cleared("dew", dew)
    mix = mix_was_right(facts.last)
    if mix is not None and all(batch.mix.state in MIX_IS_RIGHT for batch in facts.batches):
        yield Cleared("mix", mix)


def _warmth(facts: Facts) -> Evidence | None:
    last, wax_c = facts.last, facts.last.sheet.wax_temperature_c
    if facts.waxed and wax_c is not None and inside(last.open_, wax_c) is not True:
        return None
    return warmth_was_right(last, facts.unit)


def _dew(facts: Facts) -> Evidence | None:
    """Far enough from the dew point all the while it was green. A hull needs its own probe."""
    green, limit_c = facts.last.green, facts.last.sheet.dew_spread_min_c
    closest = green.closest
    if closest is None or limit_c is None or closest.value < limit_c:
        return None
    if facts.on_hull and not green.probed:
        return None
    return Evidence(
        f"never nearer than {difference_said(closest.value, facts.unit)} to the dew point, the "
        f"sheet asks {difference_said(limit_c, facts.unit)}",
        "sensor",
        closest.at,
    )
