"""Every key a sheet may hold: its words, what kind of figure it is, and what it may be.

One table, read by the checks, the reader, the questions and the description, so that a key
means the same thing in all four.
"""

from dataclasses import dataclass
from typing import Literal

Quantity = Literal[
    "text",
    "flag",
    "choice",
    "temperature",  # °C or °F, with the 32
    "difference",  # degrees, no 32
    "count",  # degree-hours, or equivalent hours
    "percent",
    "hours",
    "minutes",
    "millimetres",
    "grams",
    "grams a millilitre",
    "kJ/mol",
    "parts by weight",
]


@dataclass(frozen=True, slots=True)
class Key:
    """One key. `low` and `high` are inclusive and in °C; `above_zero` shuts the low end at 0."""

    key: str
    field: str
    quantity: Quantity
    words: str
    example: str
    pair: bool = False
    low: float | None = None
    high: float | None = None
    above_zero: bool = False
    choices: tuple[str, ...] = ()

    @property
    def table(self) -> str:
        return self.key.rpartition(".")[0]

    @property
    def last(self) -> str:
        return self.key.rpartition(".")[2]


def _words(key: str, words: str, example: str) -> Key:
    return Key(key, key, "text", words, f'"{example}"')


def _flag(key: str, words: str) -> Key:
    return Key(key, key, "flag", words, "true")


def _choice(key: str, words: str, *choices: str) -> Key:
    field = key.rpartition(".")[2]
    return Key(key, field, "choice", words, f'"{choices[0]}"', choices=choices)


def _temperature(key: str, field: str, words: str, example: str, *, pair: bool = False) -> Key:
    return Key(key, field, "temperature", words, example, pair, low=-40.0, high=250.0)


def _count(stage: str, words: str, example: str, *, pair: bool = False) -> Key:
    return Key(
        f"stages.{stage}",
        stage,
        "count",
        words,
        example,
        pair,
        low=0.0,
        high=1e6,
        above_zero=not pair,
    )


def _upto(key: str, quantity: Quantity, words: str, example: str, high: float) -> Key:
    field = key.rpartition(".")[2]
    return Key(key, field, quantity, words, example, low=0.0, high=high, above_zero=True)


KEYS: tuple[Key, ...] = (
    _words("name", "name", "laminating resin, green tin"),
    _choice("kind", "kind of resin", "polyester", "vinyl-ester", "epoxy"),
    _choice("role", "what it is for", "laminating", "gel-coat", "thickened", "finishing"),
    _flag("air_inhibited", "stays tacky where air reaches it"),
    _flag("demo", "made up for the demo"),
    _words("version", "version of this sheet", "2026-03"),
    _choice("unit", "degrees on the printed sheet", "c", "f"),
    _flag("over_epoxy", "may go over epoxy"),
    _words("source", "where the sheet comes from", "printed sheet, March 2026"),
    _temperature("working.temperature_c", "working_c", "working range", "[15, 30]", pair=True),
    Key(
        "working.humidity_max_pct",
        "humidity_max_pct",
        "percent",
        "most humidity",
        "80",
        low=0.0,
        high=100.0,
        above_zero=True,
    ),
    Key(
        "working.dew_spread_min_c",
        "dew_spread_min_c",
        "difference",
        "least spread over the dew point",
        "3",
        low=0.0,
        high=20.0,
    ),
    _choice("count.method", "way of counting", "linear", "arrhenius"),
    _temperature("count.base_c", "base_c", "base", "5"),
    _temperature("count.floor_c", "floor_c", "floor", "10"),
    _temperature("count.cap_c", "cap_c", "cap", "40"),
    _upto("count.activation_kj_per_mol", "kJ/mol", "activation energy", "60", 500.0),
    _temperature("count.reference_c", "reference_c", "reference temperature", "20"),
    _upto("count.doubling_c", "difference", "degrees that double the pace", "10", 50.0),
    Key("mix.catalyst", "catalyst", "text", "catalyst", '"the one sold with the resin"'),
    Key(
        "mix.catalyst_pct",
        "catalyst_pct",
        "percent",
        "catalyst range",
        "[1.0, 2.0]",
        pair=True,
        low=0.0,
        high=10.0,
    ),
    _upto("mix.aim_pct", "percent", "catalyst to aim for", "1.5", 10.0),
    Key(
        "mix.catalyst_g_per_ml",
        "catalyst_g_per_ml",
        "grams a millilitre",
        "density of the catalyst",
        "1.15",
        low=0.5,
        high=2.0,
    ),
    Key(
        "mix.ratio_by_weight",
        "ratio_by_weight",
        "parts by weight",
        "resin to hardener",
        "[100, 40]",
        pair=True,
        low=0.0,
        high=1000.0,
        above_zero=True,
    ),
    _upto("mix.tolerance_pct", "percent", "how far off the ratio may be", "3", 50.0),
    _upto("mix.wax_pct", "percent", "wax solution in the last coat", "5", 20.0),
    Key("mix.filler_max_pct", "filler_max_pct", "percent", "most filler", "50", low=0, high=500),
    Key("mix.pigment_max_pct", "pigment_max_pct", "percent", "most pigment", "10", low=0, high=100),
    _count("gel", "gel", "10"),
    _count("knife_trim", "knife trim", "[18, 40]", pair=True),
    _count("recoat", "recoat without sanding", "[10, 360]", pair=True),
    _upto("stages.recoat_max_hours", "hours", "longest wait before recoating", "48", 10000.0),
    _count("sealed", "sealed", "60"),
    _count("flip", "flip", "75"),
    _count("sand", "sand", "240"),
    _count("props_off", "props and clamps off, light load", "360"),
    _count("load", "load", "576"),
    _count("full", "full", "2520"),
    _upto("limits.depth_max_mm", "millimetres", "deepest in one pass", "12", 500.0),
    _temperature("limits.part_max_c", "part_max_c", "hottest the part may run", "80"),
    Key(
        "limits.wet_film_mm",
        "wet_film_mm",
        "millimetres",
        "wet film of a coat",
        "[0.4, 0.6]",
        pair=True,
        low=0.0,
        high=20.0,
        above_zero=True,
    ),
    _temperature(
        "limits.wax_temperature_c", "wax_temperature_c", "range for the wax", "[18, 32]", pair=True
    ),
    _temperature("limits.rescue_max_c", "rescue_max_c", "warmest for a rescue", "40"),
)

GEL_KEYS: tuple[Key, ...] = (
    _temperature("gel.temperature_c", "temperature_c", "temperature of the cup", "20"),
    _upto("gel.catalyst_pct", "percent", "catalyst in the cup", "1.5", 10.0),
    _upto("gel.minutes", "minutes", "minutes to gel", "25", 10000.0),
    _upto("gel.cup_g", "grams", "weight of the cup", "100", 100000.0),
)

TABLES = ("working", "count", "mix", "stages", "limits", "gel", "from")
STAGE_KEYS = tuple(k for k in KEYS if k.quantity == "count")
BY_NAME = {k.key: k for k in (*KEYS, *GEL_KEYS)}
