"""A sheet from its file: read, checked whole, and turned into °C and °C-hours."""

import re
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from monitor.errors import BadInput, SheetError
from monitor.records import GelRow, Sheet, Stage
from monitor.sheets.checks import CHECKS
from monitor.sheets.keys import KEYS, Key
from monitor.sheets.model import SheetFile
from monitor.sheets.problems import MISSING, Problem, sheet_error, typed
from monitor.units import Unit, c_degrees_from_f_degrees, c_from_f

_DEEPEST, _TOO_DEEP = 20, "brackets inside brackets, far too deep"
_LINE = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)")


def load_sheet(path: Path) -> Sheet:
    """The sheet in that file.

    Raises BadInput where the file can't be read, SheetError where it can't be used.
    """
    return parse_sheet(sheet_text(path), path.name)


def sheet_text(path: Path) -> str:
    """The file's text. Raises BadInput where there is none or it isn't UTF-8."""
    try:
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise BadInput(
            f"There is no sheet at {path}.", "Check the name, or list them: layupwatch sheet list."
        ) from None
    except UnicodeDecodeError:
        raise BadInput(
            f"{path.name} is not UTF-8 text.", "Open it in an editor and save it as UTF-8."
        ) from None
    except (OSError, ValueError) as error:
        raise BadInput(
            f"{path} can't be read ({getattr(error, 'strerror', None) or 'not a file name'}).",
            "Give the path of a sheet's .toml file that you may read.",
        ) from None


def parse_sheet(text: str, where: str) -> Sheet:
    """The sheet in that text. `where` names it in errors.

    Raises SheetError with every problem at once.
    """
    try:
        raw = tomllib.loads(text.removeprefix("\ufeff"))
    except RecursionError:
        raise _not_toml(where, "", _TOO_DEEP) from None
    except tomllib.TOMLDecodeError as error:
        found = _LINE.search(str(error))
        place = f"line {found[1]}" if found and found[1] else "the end of the file"
        raise _not_toml(where, f" at {place}", _LINE.sub("", str(error))) from None
    except ValueError:  # Python's own limit on the digits of a whole number
        raise _not_toml(where, "", "a number thousands of digits long") from None
    if _is_deep(raw):
        raise _not_toml(where, "", _TOO_DEEP)
    return sheet_of(raw, where)


def _is_deep(raw: Mapping[str, Any]) -> bool:
    """Whether tables lie in tables further down than any sheet's; asked without going down there
    call by call, which Python bears only so far."""
    level: list[Any] = [raw]
    for _ in range(_DEEPEST):
        inner = [value.values() if isinstance(value, Mapping) else value for value in level]
        level = [one for values in inner for one in values if isinstance(one, Mapping | list)]
    return bool(level)


def _not_toml(where: str, place: str, why: str) -> SheetError:
    problem = f"{where}{place}: {why}: mend it, this is not TOML"
    return SheetError(
        f"{where} can't be read{place}: {why}.",
        'Mend it: a sheet is TOML, such as name = "in quotes", sand = 240, recoat = [10, 360].',
        (problem,),
    )


def sheet_of(raw: Mapping[str, Any], where: str) -> Sheet:
    """The sheet in a file already taken apart. Raises SheetError with every problem at once."""
    file, problems = examined(raw)
    if problems:
        raise sheet_error(where, problems)
    return _record(file)


def examined(raw: Mapping[str, Any]) -> tuple[SheetFile, tuple[Problem, ...]]:
    """The file's shape and everything that is wrong with it."""
    origins = raw.get("from")
    if isinstance(origins, Mapping):
        raw = {**raw, "from": _flat(origins)}
    file, problems = typed(raw)
    wrong = {problem.key for problem in problems}
    found = [problem for check in CHECKS for problem in check(file)]
    kept = [p for p in found if not (p.value == MISSING and _within(p.key, wrong))]
    kept = [p for p in kept if not (p.key.startswith("from.") and _within(p.key[6:-1], wrong))]
    return file, tuple(dict.fromkeys((*problems, *kept)))


def _within(key: str, wrong: set[str]) -> bool:
    """Whether the key, or the table or row around it, has been called wrong already."""
    return any(key == w or key.startswith((f"{w}.", f"{w}[")) for w in wrong)


def _flat(origins: Mapping[str, Any], before: str = "") -> dict[str, Any]:
    """`stages.sand` without its quotes is a table to TOML; it means the same here."""
    flat: dict[str, Any] = {}
    for key, value in origins.items():
        if isinstance(value, Mapping) and value:
            flat.update(_flat(value, f"{before}{key}."))
        else:
            flat[before + key] = value
    return flat


def _record(file: SheetFile) -> Sheet:
    unit: Unit = file.unit or "c"
    equivalent = file.count.method == "arrhenius"
    fields: dict[str, Any] = {}
    needs: dict[Stage, tuple[float, ...]] = {}
    for key in KEYS:
        value = file.value(key.key)
        if value is None:
            continue
        value = in_c(key, value, unit, equivalent=equivalent)
        if key.quantity == "count":
            needs[Stage(key.field)] = value if isinstance(value, tuple) else (value,)
        else:
            fields[key.field] = value
    rows = tuple(_gel_row(cup.model_dump(), unit) for cup in file.gel)
    return Sheet(**fields, needs=needs, gel_rows=rows, value_sources=dict(file.origins))


def _gel_row(cup: Mapping[str, Any], unit: Unit) -> GelRow:
    temperature = cup["temperature_c"]
    return GelRow(
        temperature_c=c_from_f(temperature) if unit == "f" else temperature,
        minutes=cup["minutes"],
        catalyst_pct=cup["catalyst_pct"],
        cup_g=cup["cup_g"],
    )


def in_c(key: Key, value: Any, unit: Unit, *, equivalent: bool) -> Any:
    """A printed value in °C and °C-hours.

    Temperatures lose the 32, differences and degree-hours don't; equivalent hours are hours.
    Source: NIST Special Publication 811, B.8.
    """
    if unit == "c" or (key.quantity == "count" and equivalent):
        return value
    convert: Callable[[float], float]
    if key.quantity == "temperature":
        convert = c_from_f
    elif key.quantity in ("difference", "count"):
        convert = c_degrees_from_f_degrees
    else:
        return value
    return tuple(map(convert, value)) if isinstance(value, tuple) else convert(value)
