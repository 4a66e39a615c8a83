"""A sheet in plain sentences: what it says, what it doesn't, and where each value came from."""

from collections.abc import Iterable
from typing import NamedTuple

from monitor.records import GelRow, Sheet, Stage
from monitor.sheets.keys import KEYS, Key
from monitor.units import Unit, f_degrees_from_c_degrees, f_from_c

BLANK = "your sheet doesn't say"


class Row(NamedTuple):
    """One value: its key in the file, its words, what it says with its unit, its origin."""

    key: str
    words: str
    said: str
    origin: str


class Section(NamedTuple):
    heading: str
    rows: tuple[Row, ...]


_HEADINGS = (
    ("", "The resin"),
    ("working", "Where it may be worked"),
    ("count", "How it is counted"),
    ("mix", "The mix"),
    ("stages", "The stages, counted from mixing"),
    ("limits", "Limits"),
)
# A blank that the other kind of resin would fill is no blank.
_POLYESTER_ONLY = frozenset(
    {"mix.catalyst", "mix.catalyst_pct", "mix.aim_pct", "mix.catalyst_g_per_ml"}
)
_EPOXY_ONLY = frozenset({"mix.ratio_by_weight", "mix.tolerance_pct"})
_ARRHENIUS_ONLY = frozenset({"count.activation_kj_per_mol"})
_LINEAR_ONLY = frozenset({"count.base_c", "count.doubling_c"})
_SILENT_WHEN_BLANK = frozenset({"demo", "unit", "version"})


def describe(sheet: Sheet, unit: Unit | None = None) -> list[Section]:
    """The sheet as headings and rows, in °C or °F (default: the sheet's own unit).

    The last section holds the cautions; their rows have no key and no origin.
    """
    unit = unit or sheet.unit
    sections = [Section(heading, tuple(_rows(sheet, table, unit))) for table, heading in _HEADINGS]
    sections.append(Section("Cups timed to gel", tuple(_cups(sheet, unit))))
    take_care = tuple(Row("", "", caution, "") for caution in cautions(sheet))
    sections.append(Section("Take care", take_care))
    return sections


def _rows(sheet: Sheet, table: str, unit: Unit) -> Iterable[Row]:
    for key in KEYS:
        if key.table != table or not _fits(key.key, sheet):
            continue
        value = _value(sheet, key)
        if value is None and key.key in _SILENT_WHEN_BLANK:
            continue
        said = BLANK if value is None else _said(sheet, key, value, unit)
        yield Row(key.key, key.words, said, "" if value is None else origin(sheet, key.key))


def _fits(key: str, sheet: Sheet) -> bool:
    not_this_kind = _POLYESTER_ONLY if sheet.kind == "epoxy" else _EPOXY_ONLY
    not_this_way = _LINEAR_ONLY if sheet.method == "arrhenius" else _ARRHENIUS_ONLY
    return key not in not_this_kind and key not in not_this_way


def _value(sheet: Sheet, key: Key) -> object:
    if key.quantity == "count":
        return sheet.needs.get(Stage(key.field))
    value: object = getattr(sheet, key.field)
    return value


def origin(sheet: Sheet, key: str) -> str:
    """Where a value came from: its own line under [from], or that of its table; else empty."""
    sources = sheet.value_sources
    return sources.get(key) or sources.get(key.rpartition(".")[0]) or ""


def _said(sheet: Sheet, key: Key, value: object, unit: Unit) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if key.key == "unit":
        return f"the printed sheet is in °{str(value).upper()}"
    if key.key == "count.method":
        return _WAYS[str(value)]
    if isinstance(value, str):
        return value
    figures = value if isinstance(value, tuple) else (value,)
    inside = [_figure(sheet, key, float(figure), unit) for figure in figures]
    if key.quantity == "parts by weight":
        return f"{inside[0]} of resin to {inside[1]} of hardener, by weight"
    unit_words = _unit_words(sheet, key, unit)
    if key.quantity == "count" and len(inside) == 2:
        return f"from {inside[0]} to {inside[1]} {unit_words}"
    return f"{' to '.join(inside)} {unit_words}"


_WAYS = {
    "linear": "degree-hours above the base",
    "arrhenius": "equivalent hours at the reference temperature (Arrhenius)",
}


def _figure(sheet: Sheet, key: Key, value: float, unit: Unit) -> str:
    if unit == "f" and key.quantity == "temperature":
        value = f_from_c(value)
    elif unit == "f" and (
        key.quantity == "difference" or (key.quantity == "count" and sheet.count_unit == "dh")
    ):
        value = f_degrees_from_c_degrees(value)
    return plain(value)


def plain(value: float) -> str:
    """A figure without needless noughts: 5, 1.5, 0.45."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _unit_words(sheet: Sheet, key: Key, unit: Unit) -> str:
    degree = f"°{unit.upper()}"
    if key.quantity == "count":
        return "equivalent hours" if sheet.count_unit == "eq_h" else f"{degree}-hours"
    words = {
        "temperature": degree,
        "difference": degree,
        "percent": "%",
        "hours": "hours",
        "millimetres": "mm",
        "grams a millilitre": "g a millilitre",
        "kJ/mol": "kJ/mol",
    }
    return words[key.quantity]


def _cups(sheet: Sheet, unit: Unit) -> Iterable[Row]:
    if not sheet.gel_rows:
        yield Row("gel", "cups", BLANK, "")
    for cup in sheet.gel_rows:
        yield Row("gel", "cup", _cup_said(cup, unit), origin(sheet, "gel"))


def _cup_said(cup: GelRow, unit: Unit) -> str:
    temperature = f_from_c(cup.temperature_c) if unit == "f" else cup.temperature_c
    size = "a cup" if cup.cup_g is None else f"{plain(cup.cup_g)} g"
    dose = "" if cup.catalyst_pct is None else f" with {plain(cup.catalyst_pct)} % catalyst"
    where = f"at {plain(temperature)} °{unit.upper()}"
    return f"{size}{dose} {where} gels in {plain(cup.minutes)} min"


_CATALYST_CAUTIONS = (
    "Catalyst is a peroxide: in the eye it can blind. Wear goggles; if it splashes, rinse with "
    "running water at once for 15 minutes and more, and get a doctor.",
    "Never let catalyst and promoter (accelerator) meet undiluted: together they explode. One "
    "goes into the resin and is stirred in before the other comes near.",
    "Styrene: work in moving air with the mask your maker's sheet names, and keep flames and "
    "sparks away.",
)
_HARDENER_CAUTIONS = (
    "Epoxy on the skin can make you allergic for life. Wear gloves and sleeves, change them when "
    "soiled, and wash with soap and water, never with solvent.",
    "Wear goggles: hardener burns the eyes. If it splashes, rinse with running water at once for "
    "15 minutes and more, and get a doctor.",
    "The ratio is fixed: more hardener never makes it quicker, it only keeps it from curing.",
)
_BOTH = (
    "A full cup heats itself and can smoke. While it can still be held, stand it outside on bare "
    "ground, away from what burns; after that keep clear and don't breathe it.",
    "These figures count time and warmth, not hardness. The maker's own sheet, local codes and "
    "licensed practice stand before them.",
)


def cautions(sheet: Sheet) -> tuple[str, ...]:
    """The usual cautions for this kind of resin. Common practice of the trade, no one source."""
    own = _HARDENER_CAUTIONS if sheet.kind == "epoxy" else _CATALYST_CAUTIONS
    made_up = ("Every figure here is made up for the demo: mix and cure nothing by it.",)
    return (*(made_up if sheet.demo else ()), *own, *_BOTH)
