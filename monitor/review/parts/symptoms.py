"""What the person feels, sees and smells: the questions' answers as words. None: not answered."""

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum


class Where(StrEnum):
    ALL_OVER = "all-over"
    PATCHES = "patches"
    EDGES = "edges"
    UNDER_FILM = "under-film"
    AT_JOIN = "at-join"


class Thumbnail(StrEnum):
    NONE = "none"
    MARK = "mark"
    DENT = "dent"
    WET = "wet"


class Grit(StrEnum):
    DUST = "dust"
    DUST_AFTER = "dust-after"
    GUM = "gum"


class Rag(StrEnum):
    HARD = "hard"
    STICKY = "sticky"


class Cup(StrEnum):
    HARD = "hard"
    RUBBERY = "rubbery"
    NOT_KEPT = "not-kept"


class LastCoat(StrEnum):
    UNWAXED = "unwaxed"
    WAXED = "waxed"
    FILM = "film"


class Smell(StrEnum):
    NONE = "none"
    STYRENE = "styrene"
    AMINE = "amine"
    GREASY = "greasy"


class Looks(StrEnum):
    PLAIN = "plain"
    WRINKLED = "wrinkled"
    PEELING = "peeling"
    MILKY = "milky"
    WHITE_INSIDE = "white-inside"
    CRACKED = "cracked"
    BRITTLE = "brittle"


@dataclass(frozen=True, slots=True)
class Answers:
    """One answer a question, in the order they are asked."""

    where: Where | None = None
    thumbnail: Thumbnail | None = None
    grit: Grit | None = None
    rag: Rag | None = None
    cup: Cup | None = None
    last_coat: LastCoat | None = None
    smell: Smell | None = None
    looks: Looks | None = None


SOFT = (Thumbnail.MARK, Thumbnail.DENT, Thumbnail.WET)
HARD_BELOW = (Thumbnail.NONE, Thumbnail.MARK)
SPREAD_OUT = (Where.ALL_OVER, Where.PATCHES, Where.EDGES)
EVEN = (Where.ALL_OVER, Where.EDGES)
"""As warmth and time leave it; patches are mixing, a thin film or dirt. Common practice, no
source."""
UNMARKED = (Looks.PLAIN, Looks.MILKY)

_SAID: dict[type[StrEnum], dict[str, str]] = {
    Where: {
        "all-over": "sticky all over",
        "patches": "sticky in patches",
        "edges": "sticky at edges or thin spots",
        "under-film": "sticky only under film or tape",
        "at-join": "sticky at the join to something old",
    },
    Thumbnail: {
        "none": "the thumbnail leaves no mark",
        "mark": "the thumbnail leaves a mark",
        "dent": "the thumbnail dents it deep",
        "wet": "it is wet below the skin",
    },
    Grit: {
        "dust": "80 grit makes dust",
        "dust-after": "80 grit makes dust after the first strokes",
        "gum": "80 grit gums from start to end",
    },
    Rag: {"hard": "the rag leaves it hard", "sticky": "the rag makes it sticky"},
    Cup: {
        "hard": "the leftover cup is hard",
        "rubbery": "the leftover cup is rubbery",
        "not-kept": "no leftover cup was kept",
    },
    LastCoat: {
        "unwaxed": "the last coat has no wax in it",
        "waxed": "the last coat is waxed",
        "film": "the last coat is under film or PVA",
    },
    Smell: {
        "none": "it has no smell",
        "styrene": "it smells of styrene",
        "amine": "it smells of amine",
        "greasy": "a greasy film lies on it",
    },
    Looks: {
        "plain": "nothing odd to see",
        "wrinkled": "it is wrinkled or lifted",
        "peeling": "it peels in sheets",
        "milky": "it is milky, ringed or matt",
        "white-inside": "the fibres inside are white",
        "cracked": "it is cracked or brown inside",
        "brittle": "it is yellow, brittle or cheesy",
    },
}


def answer_said(answer: StrEnum) -> str:
    """An answer in words. By its question: as text, the same word answers several.

    Valid for the answers above. Source: this project's words.
    """
    return _SAID[type(answer)][answer.value]


def fits(answers: Answers, **wanted: Collection[StrEnum]) -> bool:
    """Whether the answers show a symptom: one of `wanted` is answered, and none against it.

    Valid for the names of `Answers`. Source: this project's rule.
    """
    given = {name: getattr(answers, name) for name in wanted}
    known = {name: answer for name, answer in given.items() if answer is not None}
    return bool(known) and all(answer in wanted[name] for name, answer in known.items())
