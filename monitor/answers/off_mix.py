"""A cup mixed outside the sheet: what puts it right while it can still be stirred, or not."""

import math

from monitor.answers.bench_words import grams_said
from monitor.cure.bench import TopUp, top_up
from monitor.cure.mixing import Weighed, judge_mix
from monitor.cure.pot import FIRST_SHARE, NoPotTime, PotTime, in_first_share
from monitor.records import Sheet


def remedy_said(
    sheet: Sheet,
    added: TopUp | None,
    minutes_ago: float | None,
    pot: PotTime | NoPotTime | None,
) -> str:
    """What to do with a cup that is mixed outside the sheet: put it right at once, or not use it.

    Only within the first third of its minutes in hand, where those and its age are known. Where
    they aren't it is said as a condition, but never past a third of the longest it can be.
    """
    if added is None:
        return "Don't use it: your sheet doesn't say what would put it right."
    known = pot if isinstance(pot, PotTime) else None
    if minutes_ago is not None and _too_late(sheet, minutes_ago, pot):
        of = "pot time" if known is None else f"{known.in_hand_min} min in hand"
        return (
            f"Don't use it: mixed {minutes_ago:.0f} min ago, it is past the first third of its "
            f"{of}, and nothing stirs in evenly any more."
        )
    resin = " resin" if added.part == "resin" else ""
    words = (
        f"Don't use it like this: add {grams_said(added.grams)} g{resin} now and stir again, if it "
        "hasn't left the cup."
    )
    if known is None:
        return f"{words} Only in the first third of its pot time; after that don't use it."
    if minutes_ago is not None:
        return words
    return (
        f"{words} Only in its first {math.floor(FIRST_SHARE * known.low_min)} min, a third of "
        "its time in hand; after that don't use it."
    )


def _too_late(sheet: Sheet, minutes_ago: float, pot: PotTime | NoPotTime | None) -> bool:
    if isinstance(pot, PotTime):
        return not in_first_share(minutes_ago, pot)
    longest = max((row.minutes for row in sheet.gel_rows), default=math.inf)
    if pot is not None and pot.nearest_min is not None:
        longest = pot.nearest_min
    return minutes_ago > FIRST_SHARE * longest


def off_mix_line(sheet: Sheet, weighed: Weighed, minutes_ago: float) -> str | None:
    """The same for a cup just logged, whose warmth isn't asked for. None: not outside the sheet."""
    if judge_mix(sheet, weighed).state != "outside":
        return None
    return remedy_said(sheet, top_up(sheet, weighed), minutes_ago, None)
