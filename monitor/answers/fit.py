"""What a person's own cups say about the count, in words and as JSON. Nothing is written."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from monitor.cautions import HARDENER, HOT_CUP, PEROXIDE
from monitor.cure.cups import Chosen, Why, choose_cups, temperatures_apart
from monitor.cure.fit import LEAST_TEMPERATURES, CupFit, Fit, fit_cups, pace_ratio
from monitor.cure.law import DEFAULT_REFERENCE_C
from monitor.errors import BadInput
from monitor.records import GelRow, Sheet
from monitor.units import Unit, difference_said, f_from_c, temperature_said

POLYESTER_KJ_PER_MOL = (40.0, 60.0)
"""Polyester with a ketone peroxide and cobalt. Source: J. Appl. Polym. Sci. 102 (2006)
1870-1876, abstract. Words only: nothing is refused by it."""

OWN_CUPS = "own cups"
NOT_SURE = "Three cups: no measure of how sure."
STANDS_ABOVE = (
    "The maker's sheet stands above this: a figure of your own only fills a blank. A stage's "
    "figure holds over the base it was given with, and over no other."
)
WHERE_THE_LINE_POINTS = (
    "There the straight line of the pace meets zero. The cure itself may stop sooner: that is the "
    "floor, and your maker's to say."
)
ALIKE = (
    "A cup heats itself: keep the cups small, alike and in a steady place, and give the resin's "
    "own temperature. A thin film takes longer."
)

_WHY_WORDS: dict[Why, str] = {
    "another-dose": "another dose",
    "another-size": "another size of cup",
    "no-dose": "its dose isn't given",
    "no-size": "its size isn't given",
}


@dataclass(frozen=True, slots=True)
class SheetFit:
    """A fit, beside the sheet it is for. `own`: from the person's cups, not the sheet's rows."""

    sheet: Sheet
    chosen: Chosen
    fit: Fit
    own: bool

    @property
    def origin(self) -> str:
        """What a line under [from] should say."""
        given = self.sheet.value_sources
        if self.own or OWN_CUPS in (given.get("gel"), given.get("gel.minutes")):
            return OWN_CUPS
        return "fitted to this sheet's gel rows"


def sheet_fit(
    sheet: Sheet,
    own_cups: Sequence[GelRow] = (),
    *,
    mix_pct: float | None = None,
    cup_g: float | None = None,
) -> SheetFit:
    """The fit to own cups, or without any to the sheet's own gel rows.

    Raises BadInput where there are too few at one mix, or where they contradict each other.
    """
    cups = own_cups or sheet.gel_rows
    if not cups:
        raise BadInput(
            f"{sheet.name} gives no cups timed to gel.",
            f"Time {LEAST_TEMPERATURES} or more at different temperatures, and give each with "
            "--cup 20,1.5,25 or all with --cups FILE.csv.",
        )
    if sheet.kind == "epoxy" and mix_pct is not None:
        raise BadInput(
            f"{sheet.name} is an epoxy: its ratio is fixed.",
            "Choose cups by their size instead, with --cup-g.",
        )
    chosen = choose_cups(cups, mix_pct=mix_pct, cup_g=cup_g, aim_pct=sheet.aim_pct)
    if not chosen.cups:
        raise BadInput(f"There is no cup {_asked(mix_pct, cup_g)}.", f"There are: {_listed(cups)}.")
    apart = temperatures_apart(cup.temperature_c for cup in chosen.cups)
    if chosen.left_out and apart < LEAST_TEMPERATURES:
        raise BadInput(
            f"No one mix and cup size was timed at {LEAST_TEMPERATURES} temperatures: "
            f"{_mix_said(sheet, chosen.mix_pct, chosen.cup_g)} has {apart}, and other doses and "
            "sizes are not mixed in.",
            f"Time it at {LEAST_TEMPERATURES - apart} more, 1 °C apart at the least and better 5.",
        )
    return SheetFit(sheet, chosen, fit_cups(chosen.cups), bool(own_cups))


def _asked(mix_pct: float | None, cup_g: float | None) -> str:
    dose = "" if mix_pct is None else f"at {mix_pct:g} %"
    size = "" if cup_g is None else f"of {cup_g:g} g"
    return " ".join(words for words in (size, dose) if words)


def _listed(cups: Sequence[GelRow]) -> str:
    mixes = dict.fromkeys(_asked(cup.catalyst_pct, cup.cup_g) for cup in cups)
    return ", ".join(words or "without dose or size" for words in mixes)


def _mix_said(sheet: Sheet, mix_pct: float | None, cup_g: float | None) -> str:
    dose = f"{mix_pct:.3g} % catalyst" if mix_pct is not None else None
    if dose is None and sheet.kind != "epoxy":
        dose = "a dose not given"
    size = f"{cup_g:.4g} g" if cup_g is not None else "a cup size not given"
    return ", ".join(words for words in (dose, size) if words)


def fit_lines(found: SheetFit, unit: Unit) -> Iterator[str]:
    """The fit in plain words, in °C or °F; the TOML lines in the sheet's own degrees."""
    sheet, fit, chosen = found.sheet, found.fit, found.chosen
    if sheet.demo:
        yield "This is a demo sheet: its figures are made up."
    whose = "your own cups" if found.own else "the sheet's own gel rows"
    mix = _mix_said(sheet, chosen.mix_pct, chosen.cup_g)
    yield f"{sheet.name}, {whose}: {len(fit.cups)} at {fit.temperatures} temperatures, {mix}."
    yield f"Base {temperature_said(fit.base_c, unit)}. {_base_sure(fit, unit)}"
    yield f"  {WHERE_THE_LINE_POINTS}"
    yield f"Warmth {fit.activation_kj_per_mol:.1f} kJ/mol. {_warmth_sure(fit)}"
    faster = pace_ratio(fit.activation_kj_per_mol, 15.0, 25.0)
    between = f"{_degrees(15.0, unit)} to {_degrees(25.0, unit)}"
    yield f"  From {between} it goes {faster:.1f} times as fast."
    if plausible := plausibility(found):
        yield f"  {plausible}"
    yield "Each cup beside both, and how far off in % of its time:"
    for cup in sorted(fit.cups, key=lambda cup: (cup.cup.temperature_c, cup.cup.minutes)):
        yield f"  {_cup_line(cup, unit)}"
    if chosen.left_out:
        yield "Left out:"
        for left, why in chosen.left_out:
            yield f"  {_cup_said(sheet, left, unit)}: {_WHY_WORDS[why]}"
    yield f"It holds between {_range(fit, unit)}, for this mix in such a cup. {ALIKE}"
    yield from _lines_to_add(found, unit)
    yield from cautions(sheet)


def _base_sure(fit: Fit, unit: Unit) -> str:
    if fit.base_error_c is None:
        return NOT_SURE
    return f"Give or take {difference_said(fit.base_error_c, unit)} ({_error(fit)})."


def _warmth_sure(fit: Fit) -> str:
    if fit.activation_error_kj_per_mol is None:
        return NOT_SURE
    return f"Give or take {fit.activation_error_kj_per_mol:.1f} ({_error(fit)})."


def _error(fit: Fit) -> str:
    return f"one standard error, {len(fit.cups)} cups"


def plausibility(found: SheetFit) -> str | None:
    """How the warmth figure stands to what is published. None: nothing of the kind at hand."""
    if found.sheet.kind != "polyester":
        return None
    low, high = POLYESTER_KJ_PER_MOL
    published = f"Published for polyester with a ketone peroxide and cobalt: {low:g} to {high:g}."
    if low <= found.fit.activation_kj_per_mol <= high:
        return f"{published} Yours lies inside."
    return f"{published} Yours lies outside: time the cups once more before you believe it."


def _degrees(temperature_c: float, unit: Unit) -> str:
    return f"{f_from_c(temperature_c):g} °F" if unit == "f" else f"{temperature_c:g} °C"


def _range(fit: Fit, unit: Unit) -> str:
    at = [cup.cup.temperature_c for cup in fit.cups]
    return f"{temperature_said(min(at), unit)} and {temperature_said(max(at), unit)}"


def _cup_line(cup: CupFit, unit: Unit) -> str:
    measured = f"{temperature_said(cup.cup.temperature_c, unit)}  {cup.cup.minutes:g} min"
    base = f"by the base {cup.base_minutes:.1f} min, {_off(cup.base_off_pct)}"
    return f"{measured}  {base}; by warmth {cup.warmth_minutes:.1f} min, {_off(cup.warmth_off_pct)}"


def _off(off_pct: float) -> str:
    if abs(off_pct) < 0.05:
        return "0 % off"
    return f"the cup {abs(off_pct):.1f} % {'slower' if off_pct > 0 else 'quicker'}"


def _cup_said(sheet: Sheet, cup: GelRow, unit: Unit) -> str:
    mix = _mix_said(sheet, cup.catalyst_pct, cup.cup_g)
    return f"{temperature_said(cup.temperature_c, unit)}  {cup.minutes:g} min, {mix}"


def _lines_to_add(found: SheetFit, unit: Unit) -> Iterator[str]:
    yield "Nothing was written. " + STANDS_ABOVE
    if given := _already(found.sheet, unit):
        yield f"Your sheet already gives {given}: leave it as it is."
    yield "Where your sheet is blank you may add one of these, under the headings it has:"
    for line in base_toml(found):
        yield f"  {line}"
    yield "or, only with stage figures in equivalent hours at that temperature:"
    for line in warmth_toml(found):
        yield f"  {line}"


def _already(sheet: Sheet, unit: Unit) -> str:
    base = sheet.base_c
    words = [] if base is None else [f"a base of {temperature_said(base, unit)}"]
    if sheet.activation_kj_per_mol is not None:
        words.append(f"a warmth of {sheet.activation_kj_per_mol:g} kJ/mol")
    return " and ".join(words)


def base_toml(found: SheetFit) -> tuple[str, ...]:
    """The sheet's lines for counting by the base, in the degrees of the sheet."""
    base = _figure(found.fit.base_c, found.sheet.unit)
    return ("[count]", f"base_c = {base}", "[from]", f'"count.base_c" = "{found.origin}"')


def warmth_toml(found: SheetFit) -> tuple[str, ...]:
    """The sheet's lines for counting by equivalent hours, in the degrees of the sheet."""
    sheet = found.sheet
    reference_c = DEFAULT_REFERENCE_C if sheet.reference_c is None else sheet.reference_c
    return (
        "[count]",
        'method = "arrhenius"',
        f"activation_kj_per_mol = {found.fit.activation_kj_per_mol:.1f}",
        f"reference_c = {_figure(reference_c, sheet.unit)}",
        "[from]",
        f'"count.activation_kj_per_mol" = "{found.origin}"',
    )


def _figure(temperature_c: float, unit: Unit) -> str:
    return f"{f_from_c(temperature_c) if unit == 'f' else temperature_c:.1f}"


def cautions(sheet: Sheet) -> tuple[str, ...]:
    """What a person who times cups must know. Common practice of the trade, no one source."""
    return (
        "Trial cups get hot. " + HOT_CUP,
        HARDENER if sheet.kind == "epoxy" else PEROXIDE,
    )


def fit_json(found: SheetFit) -> dict[str, Any]:
    """The object of `sheet fit --json`: °C, %, g and minutes."""
    fit, sheet = found.fit, found.sheet
    return {
        "sheet": sheet.name,
        "demo": sheet.demo,
        "cups_from": OWN_CUPS if found.own else "sheet",
        "mix_pct": _rounded(found.chosen.mix_pct),
        "cup_g": _rounded(found.chosen.cup_g),
        "temperatures": fit.temperatures,
        "base_c": round(fit.base_c, 3),
        "base_standard_error_c": _rounded(fit.base_error_c),
        "activation_kj_per_mol": round(fit.activation_kj_per_mol, 3),
        "activation_standard_error_kj_per_mol": _rounded(fit.activation_error_kj_per_mol),
        "plausibility": plausibility(found),
        "cups": [
            {
                **_cup_json(cup.cup),
                "base_minutes": round(cup.base_minutes, 3),
                "base_off_pct": round(cup.base_off_pct, 3),
                "warmth_minutes": round(cup.warmth_minutes, 3),
                "warmth_off_pct": round(cup.warmth_off_pct, 3),
            }
            for cup in fit.cups
        ],
        "left_out": [{**_cup_json(cup), "why": why} for cup, why in found.chosen.left_out],
        "sheet_gives": {
            "base_c": _rounded(sheet.base_c),
            "activation_kj_per_mol": _rounded(sheet.activation_kj_per_mol),
        },
        "toml": {"base": list(base_toml(found)), "warmth": list(warmth_toml(found))},
        "stands_above": STANDS_ABOVE,
        "cautions": list(cautions(sheet)),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _cup_json(cup: GelRow) -> dict[str, float | None]:
    return {
        "temperature_c": round(cup.temperature_c, 3),
        "minutes": cup.minutes,
        "catalyst_pct": cup.catalyst_pct,
        "cup_g": cup.cup_g,
    }
