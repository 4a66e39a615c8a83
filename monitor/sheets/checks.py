"""What must fit with what on a sheet, each check a function, all of them in CHECKS.

They see the figures as typed, in the degrees of the sheet's own unit.
"""

from collections.abc import Callable, Iterator
from difflib import get_close_matches

from monitor.sheets.keys import BY_NAME, GEL_KEYS, KEYS, STAGE_KEYS, TABLES, Key
from monitor.sheets.model import SheetFile
from monitor.sheets.problems import Problem, missing, shown
from monitor.units import f_degrees_from_c_degrees, f_from_c

Check = Callable[[SheetFile], Iterator[Problem]]

# Beyond these a temperature reads as the other unit: the most it could be in °C, the least in °F.
# Judged by eye so that 15–30 °C and 59–86 °F fall on the right sides; not from any source.
OTHER_UNIT = {
    "working.temperature_c": (55.0, 45.0),
    "count.base_c": (30.0, 10.0),
    "count.floor_c": (45.0, 23.0),
    "count.cap_c": (90.0, 50.0),
    "count.reference_c": (60.0, 41.0),
    "limits.part_max_c": (150.0, 100.0),
    "limits.wax_temperature_c": (60.0, 50.0),
    "limits.rescue_max_c": (85.0, 60.0),
    "gel.temperature_c": (50.0, 41.0),
}


def must_be_there(file: SheetFile) -> Iterator[Problem]:
    """A sheet has a name and a kind."""
    for key in ("name", "kind"):
        if file.value(key) is None:
            yield from missing(key)
    if file.name is not None and not file.name.strip():
        yield Problem("name", shown(file.name), "give the resin a name you will know it by")


def within_bounds(file: SheetFile) -> Iterator[Problem]:
    """Every figure lies where such a figure can lie, in the right order and the right unit."""
    unit = file.unit or "c"
    for key in KEYS:
        yield from _figure(key, key.key, file.value(key.key), unit)
    for number, cup in enumerate(file.gel, start=1):
        for key in GEL_KEYS:
            name = f"gel[{number}].{key.last}"
            value = getattr(cup, key.last)
            if value is None and key.last in ("temperature_c", "minutes"):
                yield Problem(name, "missing", f"give it, such as {key.last} = {key.example}")
            yield from _figure(key, name, value, unit)


def _figure(key: Key, name: str, value: object, unit: str) -> Iterator[Problem]:
    if isinstance(value, tuple):
        figures = value
    elif isinstance(value, float):
        figures = (value,)
    else:
        return
    if swapped := _other_unit(key, figures, unit):
        yield Problem(name, shown(value), swapped)
        return
    low, high = (_printed(key, bound, unit) for bound in (key.low, key.high))
    if any(x < low or x > high or (key.above_zero and x <= 0) for x in figures):
        least = "above 0 and up to" if key.above_zero else f"from {shown(low)} to"
        yield Problem(name, shown(value), f"write {_what(key)} {least} {shown(high)}")
    elif len(figures) == 2 and key.quantity != "parts by weight" and figures[0] >= figures[1]:
        yield Problem(name, shown(value), _in_order(key))


def _printed(key: Key, bound: float | None, unit: str) -> float:
    """A bound in the unit of the sheet."""
    bound = 0.0 if bound is None else bound
    if unit == "c" or key.quantity not in ("temperature", "difference"):
        return bound
    return f_from_c(bound) if key.quantity == "temperature" else f_degrees_from_c_degrees(bound)


def _what(key: Key) -> str:
    return "two figures" if key.pair else "a figure"


def _in_order(key: Key) -> str:
    line = f"{key.last} = {key.example}"
    if key.quantity == "count":
        return f"it shuts before it opens: write when it opens, then when it shuts, as in {line}"
    hint = "; for a single dose give aim_pct alone" if key.key == "mix.catalyst_pct" else ""
    return f"write the lower figure first and a higher one second, as in {line}{hint}"


def _other_unit(key: Key, figures: tuple[float, ...], unit: str) -> str | None:
    if key.key not in OTHER_UNIT:
        return None
    most_c, least_f = OTHER_UNIT[key.key]
    if unit == "c" and max(figures) > most_c:
        return 'that looks like °F: add unit = "f" at the top, or write it in °C'
    if unit == "f" and max(figures) < least_f:
        return 'that looks like °C: write unit = "c" at the top, or write it in °F'
    return None


def base_floor_cap(file: SheetFile) -> Iterator[Problem]:
    """Base and floor lie below the cap. A floor below the base is fine: it just never bites."""
    cap = file.count.cap_c
    for key, value in (("count.base_c", file.count.base_c), ("count.floor_c", file.count.floor_c)):
        if value is not None and cap is not None and value >= cap:
            remedy = f"write it below the cap, which is {shown(cap)}"
            yield Problem(key, shown(value), remedy)


def counting(file: SheetFile) -> Iterator[Problem]:
    """A way of counting that is named has the figures it counts with.

    Where none is named a missing base is a blank like any other: the sheet doesn't say.
    """
    if file.count.method == "arrhenius":
        for key in ("count.activation_kj_per_mol", "count.reference_c"):
            if file.value(key) is None:
                yield from missing(key)
    staged = any(file.value(key.key) is not None for key in STAGE_KEYS)
    if file.count.method == "linear" and staged and file.count.base_c is None:
        yield from missing("count.base_c")


def aim(file: SheetFile) -> Iterator[Problem]:
    """The aim lies inside the range."""
    given, aimed = file.mix.catalyst_pct, file.mix.aim_pct
    if given is not None and aimed is not None and not given[0] <= aimed <= given[1]:
        remedy = f"aim inside the sheet's own range, {shown(given[0])} to {shown(given[1])}"
        yield Problem("mix.aim_pct", shown(aimed), remedy)


_CATALYST_KEYS = ("catalyst", "catalyst_pct", "aim_pct", "catalyst_g_per_ml")


def one_second_part(file: SheetFile) -> Iterator[Problem]:
    """Polyester and vinyl ester take a catalyst, epoxy a hardener: never one word for both."""
    if file.kind == "epoxy":
        for last in _CATALYST_KEYS:
            if (value := getattr(file.mix, last)) is not None:
                remedy = "take it out: epoxy has a hardener, give mix.ratio_by_weight"
                yield Problem(f"mix.{last}", shown(value), remedy)
        for number, cup in enumerate(file.gel, start=1):
            if cup.catalyst_pct is not None:
                remedy = "take it out: epoxy has a hardener, and its ratio is fixed"
                yield Problem(f"gel[{number}].catalyst_pct", shown(cup.catalyst_pct), remedy)
    elif file.kind is not None and file.mix.ratio_by_weight is not None:
        remedy = f"take it out: {file.kind} has a catalyst, give mix.catalyst_pct"
        yield Problem("mix.ratio_by_weight", shown(file.mix.ratio_by_weight), remedy)


def stages_in_order(file: SheetFile) -> Iterator[Problem]:
    """Gel comes before what is done to a hard part, load after props off, full last."""
    later = ("sealed", "flip", "sand", "props_off", "load", "full")
    pairs = [("gel", name) for name in later]
    pairs += [("props_off", "load")] + [(name, "full") for name in later[:-1]]
    wrong: set[str] = set()
    for first, second in pairs:
        before, after = getattr(file.stages, first), getattr(file.stages, second)
        if before is not None and after is not None and after < before and second not in wrong:
            wrong.add(second)
            remedy = f"it can't need less than stages.{first}, which is {shown(before)}"
            yield Problem(f"stages.{second}", shown(after), remedy)
    gel = file.stages.gel
    for window in ("knife_trim", "recoat"):
        given = getattr(file.stages, window)
        if gel is not None and given is not None and given[1] < gel:
            remedy = f"it shuts before stages.gel, which is {shown(gel)}"
            yield Problem(f"stages.{window}", shown(given), remedy)


def origins(file: SheetFile) -> Iterator[Problem]:
    """Each line under [from] names a key, or a whole table, that the sheet gives."""
    for key, words in file.origins.items():
        if _given(file, key):
            continue
        if key in BY_NAME or key in TABLES:
            remedy = f"the sheet gives no {key}: give it, or take this line out"
        else:
            near = get_close_matches(key, BY_NAME, n=1, cutoff=0.7)
            hint = f"; did you mean {near[0]}?" if near else ""
            remedy = f"no such key: name one as in stages.sand{hint}"
        yield Problem(f'from."{key}"', shown(words), remedy)


def _given(file: SheetFile, key: str) -> bool:
    if key.startswith("gel.") and key in BY_NAME:
        return any(getattr(cup, key.removeprefix("gel.")) is not None for cup in file.gel)
    if key in BY_NAME:
        return file.value(key) is not None
    return key in TABLES and key != "from" and bool(key in file.model_fields_set)


CHECKS: tuple[Check, ...] = (
    must_be_there,
    within_bounds,
    base_floor_cap,
    counting,
    aim,
    one_second_part,
    stages_in_order,
    origins,
)
