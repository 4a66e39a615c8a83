"""What is worth saying aloud: pure functions from one look to what is due now.

Each rule names parts, one fact, the time left and one action; where there is nothing to do there
is no alert. A rule asks of no reading that is older than twelve hours.
"""

from dataclasses import replace

from monitor.alerts.due import Due, Rule, Telling
from monitor.alerts.look import Look
from monitor.alerts.rules.away import RULE as AWAY
from monitor.alerts.rules.cold import RULE as COLD
from monitor.alerts.rules.cooling import RULE as COOLING
from monitor.alerts.rules.dew import RULE as DEW
from monitor.alerts.rules.heat import RULE as HEAT_LOST
from monitor.alerts.rules.hot import RULE as HOT
from monitor.alerts.rules.knife import LAST as KNIFE_LAST
from monitor.alerts.rules.knife import OPENS as KNIFE_OPENS
from monitor.alerts.rules.mixing import RULE as MIXING
from monitor.alerts.rules.outside import RULE as OUTSIDE
from monitor.alerts.rules.pot import RULE as POT
from monitor.alerts.rules.ready import RULE as READY
from monitor.alerts.rules.recoat import RULE as RECOAT
from monitor.alerts.rules.silence import RULE as SILENCE
from monitor.alerts.waking import as_loud_as_due
from monitor.records import Aloud

RULES: tuple[Rule, ...] = (
    HOT,
    DEW,
    COLD,
    HEAT_LOST,
    SILENCE,
    COOLING,
    MIXING,
    POT,
    KNIFE_OPENS,
    KNIFE_LAST,
    RECOAT,
    READY,
    AWAY,
    OUTSIDE,
)

_LOUDEST_FIRST = tuple(Aloud)


def due_now(look: Look) -> tuple[Due, ...]:
    """Everything due, one for each rule and key with all its parts, as loud as it may be."""
    merged: dict[tuple[str, str], Due] = {}
    for rule in RULES:
        for due in rule.find(look):
            known = merged.get((due.rule, due.key))
            merged[due.rule, due.key] = due if known is None else _together(known, due)
    return tuple(as_loud_as_due(due, look) for due in merged.values())


def _together(one: Due, other: Due) -> Due:
    """Both parts in the louder one's words, or the earlier one's."""
    first = min(one, other, key=lambda due: (_LOUDEST_FIRST.index(due.aloud), due.began_at))
    return replace(first, parts=tuple(sorted({*one.parts, *other.parts})))


__all__ = ["RULES", "Due", "Look", "Rule", "Telling", "due_now"]
