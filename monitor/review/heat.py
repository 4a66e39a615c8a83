"""A deep bead that cooked its own heart, with edges that stayed cold."""

from monitor.records import Role
from monitor.review.parts.evidence import extreme_said
from monitor.review.parts.facts import Facts
from monitor.review.parts.finding import Cause, Evidence, Finding
from monitor.review.parts.symptoms import Looks, Where, fits
from monitor.review.parts.weigh import symptoms, weigh
from monitor.units import temperature_said

HOT_HEART = Cause(
    "hot-heart",
    "It ran too hot inside, and its edges stayed cold",
    "Look for cracks, a brown heart, a gap at the hull, dimples on the far side. Try it with a "
    "chisel, cut back what is cracked, and build it up again in passes.",
    "load it, or hide it with gel coat.",
    "Chisel into the middle of the bead: brown and crumbly is heat, soft and clear is cold.",
)

DEEP_ROLES = (Role.FILLET, Role.MAT_EDGE, Role.PATCH, Role.OTHER)


def hot_heart(facts: Facts) -> Finding | None:
    """Deeper than the sheet's pass, or measured hotter than it may run. Common practice, no
    source."""
    shown = fits(
        facts.answers, where=(Where.EDGES, Where.ALL_OVER, Where.PATCHES), looks=(Looks.CRACKED,)
    ) or (
        facts.answers.looks in (Looks.PLAIN, Looks.BRITTLE)
        and fits(facts.answers, where=(Where.EDGES,))
    )
    deep = [b for b in facts.batches if b.role in DEEP_ROLES]
    if not shown or not deep:
        return None
    batch = next((b for b in deep if b.hottest and b.sheet.part_max_c), deep[-1])
    limit_c, hottest = batch.sheet.part_max_c, batch.hottest
    hot = cool = None
    if limit_c is not None and hottest is not None:
        words = f"the part may run to {temperature_said(limit_c, facts.unit)}"
        if hottest.value > limit_c:
            hot = extreme_said(hottest, words, facts.unit)
        elif batch.early.probed:
            cool = extreme_said(hottest, f"the hottest; {words}", facts.unit)
    depth, allowed = batch.thickness_mm, batch.sheet.depth_max_mm
    too_deep = None
    if depth is not None and allowed is not None and depth > allowed:
        too_deep = Evidence(
            f"{batch.address}: {depth:g} mm in one pass, the sheet allows {allowed:g} mm",
            "book",
            batch.mixed_at,
        )
    if hot is None and too_deep is None and facts.answers.looks is not Looks.CRACKED:
        return None
    return weigh(
        HOT_HEART,
        symptoms(facts, "looks", "where"),
        (hot, too_deep, _cold_hull(facts)),
        (cool,),
        at_most="strong" if hot else "fair",
    )


def _cold_hull(facts: Facts) -> Evidence | None:
    """The hull's own probe, where there is one, went below the sheet's working range."""
    last = facts.last
    range_c, coldest = last.sheet.working_c, last.green.coldest
    if not (facts.on_hull and last.green.probed) or range_c is None or coldest is None:
        return None
    if coldest.value >= range_c[0]:
        return None
    return extreme_said(coldest, "the hull below the sheet's working range", facts.unit)
