"""For each finding: a history that has it, one that must not, one where what is against it wins."""

from dataclasses import dataclass, replace
from typing import Any

from monitor.records import MarkKind, Role
from monitor.review.parts.facts import Facts
from monitor.review.parts.finding import Strength
from monitor.review.parts.symptoms import (
    Cup,
    Grit,
    LastCoat,
    Looks,
    Rag,
    Smell,
    Thumbnail,
    Where,
)
from tests.review.made import (
    COLD_AT_ONCE,
    COLD_NIGHT,
    DAMP,
    EPOXY,
    GEL_COAT,
    LAMINATING,
    STEADY,
    THICKENED,
    batch,
    facts,
    hour,
    mark,
    tin,
    under,
)


@dataclass(frozen=True)
class Row:
    """`left`: what is left of it where the evidence against wins; None: it is not told."""

    has: Facts
    strength: Strength | None
    hasnt: Facts
    outweighed: Facts
    left: Strength | None = None


ALL_OVER, PATCHES, EDGES = Where.ALL_OVER, Where.PATCHES, Where.EDGES
NONE, MARK, DENT, WET = Thumbnail
CATALYST_IN = mark(MarkKind.CATALYST_IN, 0)
WAX_COAT = {"name": "3/wax-coat", "role": Role.WAX_COAT, "waxed": True, "now_h": 14.0}
SHORT_EPOXY = (250.0, 80.0)


def coat(**more: Any) -> Facts:
    """A waxed last coat, sticky all over and hard below."""
    told = {**WAX_COAT, **{k: v for k, v in more.items() if k != "looks"}}
    return facts(
        batch(GEL_COAT, **told),
        where=ALL_OVER,
        thumbnail=NONE,
        last_coat=LastCoat.WAXED,
        looks=more.get("looks"),
    )


GOOD = facts(
    batch(),
    where=ALL_OVER,
    thumbnail=NONE,
    grit=Grit.DUST_AFTER,
    last_coat=LastCoat.UNWAXED,
    smell=Smell.NONE,
)
"""26 hours at 20 °C, well mixed: nothing is wrong with it."""

ROWS: dict[str, Row] = {
    "normal_air_tack": Row(
        GOOD,
        "strong",
        replace(GOOD, answers=replace(GOOD.answers, thumbnail=DENT)),
        facts(batch(weighed=(200.0, 1.0), warmth=((0, 33), (30, 33))), where=ALL_OVER,
              thumbnail=NONE, grit=Grit.DUST_AFTER),
    ),
    "still_green": Row(
        facts(batch(now_h=5.0), where=ALL_OVER, thumbnail=MARK),
        "strong",
        facts(batch(now_h=26.0), where=ALL_OVER, thumbnail=MARK),
        facts(
            batch(now_h=5.0, warmth=((0, 12), (9, 12)), weighed=(200.0, 1.0)),
            where=ALL_OVER, thumbnail=MARK,
        ),
    ),
    "film_wrinkles": Row(
        facts(batch(marks=(mark(MarkKind.COVERED, 1),)), where=Where.UNDER_FILM),
        "fair",
        facts(batch(marks=(mark(MarkKind.COVERED, 1),)), where=ALL_OVER),
        facts(batch(weighed=(200.0, 1.0)), where=Where.UNDER_FILM),
    ),
    "cold_parked": Row(
        facts(batch(warmth=COLD_NIGHT, now_h=16.0), where=ALL_OVER, thumbnail=DENT, cup=Cup.HARD),
        "strong",
        facts(batch(now_h=16.0), where=ALL_OVER, thumbnail=DENT, cup=Cup.HARD),
        facts(
            batch(warmth=COLD_NIGHT, now_h=16.0, weighed=(200.0, 1.0)),
            where=ALL_OVER, thumbnail=DENT, cup=Cup.RUBBERY,
        ),
        "weak",
    ),
    "styrene_lost": Row(
        facts(
            batch(
                warmth=(*COLD_AT_ONCE, (18, 22), (40, 22)), now_h=40.0, cold_before_gel_h=17.0,
                marks=(mark(MarkKind.UNCOVERED, 1),),
            ),
            where=ALL_OVER, thumbnail=DENT, smell=Smell.NONE,
        ),
        "fair",
        facts(batch(warmth=COLD_NIGHT, now_h=16.0), where=ALL_OVER, thumbnail=DENT),
        facts(
            batch(
                warmth=COLD_AT_ONCE, now_h=16.0, cold_before_gel_h=15.0, weighed=(200.0, 1.0)
            ),
            where=ALL_OVER, thumbnail=DENT,
        ),
    ),
    "too_little_catalyst": Row(
        facts(batch(weighed=(200.0, 1.2)), where=ALL_OVER, thumbnail=DENT, cup=Cup.RUBBERY),
        "strong",
        facts(batch(), where=ALL_OVER, thumbnail=DENT),
        facts(
            batch(weighed=None, warmth=COLD_NIGHT, now_h=16.0),
            where=ALL_OVER, thumbnail=DENT, cup=Cup.HARD,
        ),
    ),
    "too_much_catalyst": Row(
        facts(
            batch(weighed=(200.0, 6.0), marks=(mark(MarkKind.KICKED, 0.2),)),
            where=ALL_OVER, looks=Looks.BRITTLE,
        ),
        "strong",
        facts(batch(weighed=(200.0, 6.0)), where=ALL_OVER, looks=Looks.WRINKLED),
        facts(batch(), where=ALL_OVER, looks=Looks.BRITTLE),
    ),
    "nothing_in_the_cup": Row(
        facts(
            batch(name="3/skin-b", now_h=30.0),
            batch(marks=(CATALYST_IN,), now_h=30.0),
            where=PATCHES, thumbnail=WET,
        ),
        "strong",
        facts(batch(now_h=30.0), where=PATCHES, thumbnail=DENT),
        facts(
            batch(
                marks=(CATALYST_IN, mark(MarkKind.KICKED, 0.7)), now_h=30.0,
            ),
            where=PATCHES, thumbnail=WET,
        ),
    ),
    "unstirred": Row(
        facts(batch(), batch(name="3/skin-b"), where=PATCHES, thumbnail=DENT),
        "strong",
        facts(batch(), where=ALL_OVER, thumbnail=DENT),
        facts(
            batch(weighed=(200.0, 1.0), warmth=COLD_NIGHT, now_h=16.0),
            where=PATCHES, thumbnail=DENT,
        ),
    ),
    "off_ratio": Row(
        facts(batch(EPOXY, weighed=SHORT_EPOXY, now_h=48.0), where=ALL_OVER, thumbnail=DENT),
        "strong",
        facts(batch(EPOXY, now_h=48.0), where=ALL_OVER, thumbnail=DENT),
        facts(
            batch(EPOXY, weighed=SHORT_EPOXY, warmth=COLD_NIGHT, now_h=16.0),
            where=ALL_OVER, thumbnail=MARK, cup=Cup.HARD,
        ),
        "weak",
    ),
    "thin_film": Row(
        facts(
            batch(GEL_COAT, role=Role.PLAIN_COAT, thickness_mm=0.2,
                  marks=(mark(MarkKind.UNCOVERED, 0.5),)),
            where=EDGES, thumbnail=DENT,
        ),
        "fair",
        facts(batch(GEL_COAT, role=Role.PLAIN_COAT, thickness_mm=0.2),
              where=ALL_OVER, thumbnail=DENT),
        facts(batch(GEL_COAT, role=Role.PLAIN_COAT, thickness_mm=0.5),
              where=EDGES, thumbnail=DENT),
    ),
    "wax_too_cold": Row(
        coat(warmth=((0, 17), (2, 15), (8, 11), (14, 18))),
        "strong",
        coat(),
        coat(
            warmth=((0, 19), (2.5, 17), (8, 17), (14, 18)),
            marks=(mark(MarkKind.SANDED_DUST, 13),),
        ),
        "weak",
    ),
    "wax_too_hot": Row(
        coat(warmth=((0, 34), (14, 34)), marks=(mark(MarkKind.SUN, 0.5),)),
        "fair",
        coat(),
        coat(marks=(mark(MarkKind.SUN, 0.5),)),
        "weak",
    ),
    "wax_left_out": Row(
        coat(waxed=False, role=Role.PLAIN_COAT),
        "fair",
        facts(batch(GEL_COAT, **{**WAX_COAT, "waxed": False}),
              where=ALL_OVER, thumbnail=NONE, last_coat=LastCoat.UNWAXED),
        coat(warmth=((0, 15), (14, 15))),
    ),
    "coat_too_early": Row(
        facts(
            batch(GEL_COAT, **WAX_COAT, under=under(14.0)),
            where=ALL_OVER, thumbnail=DENT, looks=Looks.WRINKLED,
        ),
        "strong",
        facts(
            batch(GEL_COAT, **WAX_COAT, under=under(34.0)),
            where=ALL_OVER, thumbnail=DENT,
        ),
        facts(
            batch(GEL_COAT, **WAX_COAT, under=under(34.0)),
            where=ALL_OVER, looks=Looks.WRINKLED,
        ),
    ),
    "wax_at_the_joint": Row(
        facts(
            batch(GEL_COAT, **WAX_COAT, under=under(34.0, waxed=True)),
            where=ALL_OVER, looks=Looks.PEELING,
        ),
        "strong",
        facts(
            batch(GEL_COAT, **WAX_COAT, under=under(34.0)),
            where=ALL_OVER, looks=Looks.PEELING,
        ),
        facts(
            batch(
                GEL_COAT, **WAX_COAT,
                under=under(34.0, waxed=True, sanded_at=hour(-1)),
            ),
            where=ALL_OVER, looks=Looks.PEELING,
        ),
        "weak",
    ),
    "dew_on_green": Row(
        coat(humidity=DAMP, looks=Looks.MILKY),
        "strong",
        coat(looks=Looks.MILKY),
        coat(
            humidity=((0, 60), (1, 86), (14, 86)), looks=Looks.PLAIN,
            marks=(mark(MarkKind.COVERED, 0.2),),
        ),
        "weak",
    ),
    "damp_inside": Row(
        facts(
            batch(humidity=DAMP, marks=(mark(MarkKind.NOTE, 0, "damp mat from the van"),)),
            looks=Looks.WHITE_INSIDE,
        ),
        "fair",
        facts(batch(humidity=DAMP), looks=Looks.MILKY),
        facts(batch(), looks=Looks.WHITE_INSIDE),
    ),
    "blush": Row(
        facts(batch(EPOXY, humidity=DAMP, warmth=((0, 18), (30, 13)), now_h=30.0),
              thumbnail=NONE, smell=Smell.GREASY),
        "strong",
        facts(batch(humidity=DAMP), thumbnail=NONE, smell=Smell.GREASY),
        facts(batch(EPOXY, now_h=30.0), thumbnail=NONE, smell=Smell.GREASY),
    ),
    "epoxy_parked": Row(
        facts(batch(EPOXY, warmth=((0, 13), (24, 9)), now_h=24.0), where=ALL_OVER, thumbnail=DENT),
        "strong",
        facts(batch(EPOXY, now_h=5.0), where=ALL_OVER, thumbnail=DENT),
        facts(
            batch(EPOXY, warmth=((0, 13), (24, 9)), now_h=24.0, weighed=SHORT_EPOXY),
            where=ALL_OVER, thumbnail=DENT,
        ),
        "fair",
    ),
    "amine_at_the_join": Row(
        facts(
            batch(replace(LAMINATING, over_epoxy=False)),
            batch(EPOXY, name="3/fillet", now_h=26.0),
            where=Where.AT_JOIN, thumbnail=MARK,
        ),
        "strong",
        facts(batch(), batch(EPOXY, name="3/fillet"), where=ALL_OVER, thumbnail=MARK),
        facts(
            replace(batch(), mixed_at=hour(200)),
            batch(EPOXY, name="3/fillet", now_h=240.0, warmth=((0, 25), (240, 25))),
            where=Where.AT_JOIN, thumbnail=MARK,
        ),
    ),
    "what_lies_below": Row(
        facts(batch(marks=(mark(MarkKind.NOTE, 0, "over old foam"),)), where=Where.AT_JOIN),
        "fair",
        facts(batch(), where=Where.AT_JOIN),
        facts(
            batch(weighed=(200.0, 1.0), marks=(mark(MarkKind.NOTE, 0, "over old paint"),)),
            where=ALL_OVER,
        ),
        "weak",
    ),
    "over_filled": Row(
        facts(batch(marks=(mark(MarkKind.NOTE, 0, "much white pigment"),)),
              where=ALL_OVER, thumbnail=DENT),
        "weak",
        facts(batch(), where=ALL_OVER, thumbnail=DENT),
        facts(batch(marks=(mark(MarkKind.NOTE, 0, "much white pigment"),)),
              where=ALL_OVER, thumbnail=NONE),
    ),
    "hot_heart": Row(
        facts(
            batch(
                THICKENED, role=Role.FILLET, name="3/fillet", probed=True, now_h=6.0,
                warmth=((0, 24), (0.5, 41), (0.75, 104), (2.5, 38), (4, 26)), thickness_mm=30.0,
            ),
            where=EDGES, looks=Looks.CRACKED,
        ),
        "strong",
        facts(batch(THICKENED, role=Role.FILLET, thickness_mm=10.0), where=EDGES),
        facts(
            batch(THICKENED, role=Role.FILLET, probed=True, thickness_mm=10.0),
            where=EDGES, looks=Looks.CRACKED,
        ),
    ),
    "slow_tin": Row(
        facts(batch(), tins=(tin(False, True, True),), where=ALL_OVER, thumbnail=DENT),
        "strong",
        facts(batch(), tins=(tin(True, True, False),), where=ALL_OVER, thumbnail=DENT),
        facts(
            batch(warmth=COLD_NIGHT, now_h=16.0), tins=(tin(False, True),),
            where=ALL_OVER, thumbnail=DENT,
        ),
    ),
    "water_on_green": Row(
        facts(batch(marks=(mark(MarkKind.RAINED, 3),)), where=ALL_OVER, thumbnail=MARK),
        "fair",
        facts(batch(), where=ALL_OVER, thumbnail=MARK),
        facts(batch(marks=(mark(MarkKind.RAINED, 25),)), where=ALL_OVER, thumbnail=MARK),
    ),
    "solvent_on_green": Row(
        facts(
            batch(marks=(mark(MarkKind.WIPED, 4),)), where=ALL_OVER, thumbnail=MARK,
            rag=Rag.STICKY,
        ),
        "fair",
        facts(batch(), where=ALL_OVER, thumbnail=MARK, rag=Rag.STICKY),
        facts(batch(marks=(mark(MarkKind.WIPED, 25),)), where=ALL_OVER, thumbnail=NONE),
    ),
    "record_cant_say": Row(
        facts(batch(silent=((0.5, 5.9),), now_h=26.0), where=ALL_OVER, thumbnail=MARK),
        None,
        facts(batch(warmth=STEADY), where=ALL_OVER, thumbnail=MARK),
        facts(batch(silent=((0.5, 2.5),), now_h=26.0), where=ALL_OVER, thumbnail=MARK),
    ),
}  # fmt: skip
