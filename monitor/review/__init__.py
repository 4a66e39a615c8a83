"""Why a cure stayed tacky: findings, each with evidence for and against. A new one: a function in
a module here, its name in FINDINGS."""

from collections.abc import Callable

from monitor.review.coats import coat_too_early, thin_film
from monitor.review.cold import cold_parked, epoxy_parked, styrene_lost
from monitor.review.company import amine_at_the_join, over_filled, what_lies_below
from monitor.review.dose import (
    nothing_in_the_cup,
    off_ratio,
    too_little_catalyst,
    too_much_catalyst,
    unstirred,
)
from monitor.review.heat import hot_heart
from monitor.review.parts.facts import Facts
from monitor.review.parts.finding import Finding, Review
from monitor.review.parts.ranking import reviewed
from monitor.review.silence import record_cant_say
from monitor.review.tack import film_wrinkles, normal_air_tack, still_green
from monitor.review.tins import slow_tin
from monitor.review.water import (
    blush,
    damp_inside,
    dew_on_green,
    solvent_on_green,
    water_on_green,
)
from monitor.review.wax import wax_at_the_joint, wax_left_out, wax_too_cold, wax_too_hot

FINDINGS: tuple[Callable[[Facts], Finding | None], ...] = (
    normal_air_tack,
    off_ratio,
    nothing_in_the_cup,
    coat_too_early,
    wax_at_the_joint,
    wax_too_cold,
    dew_on_green,
    cold_parked,
    epoxy_parked,
    styrene_lost,
    too_little_catalyst,
    too_much_catalyst,
    slow_tin,
    hot_heart,
    blush,
    amine_at_the_join,
    unstirred,
    thin_film,
    wax_too_hot,
    wax_left_out,
    water_on_green,
    solvent_on_green,
    damp_inside,
    what_lies_below,
    film_wrinkles,
    still_green,
    over_filled,
    record_cant_say,
)
"""Where two are as sure as each other and rest on as many facts, the earlier is told first."""


def review(facts: Facts) -> Review:
    """Why it stayed tacky: at most three findings, what is cleared, and when to give up.

    Valid for any facts. Source: this project's rules.
    """
    found = [finding for look in FINDINGS if (finding := look(facts)) is not None]
    return reviewed(facts, found)
