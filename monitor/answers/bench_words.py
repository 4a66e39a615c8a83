"""The sentences of the mixing bench: amounts, scale, minutes, care."""

import math
from collections.abc import Iterator

from monitor.cautions import HARDENER, HOT_CUP, MASK, NO_PROMOTER, PEROXIDE, PEROXIDE_DUST
from monitor.cure.bench import CUP_STEP_G, Dose, Doses, Resolution
from monitor.cure.pot import NoPotTime, PotTime
from monitor.records import Sheet
from monitor.units import Unit, f_from_c, temperature_said

ASK = "Ask the maker, and type it into the sheet."


def grams_said(grams: float) -> str:
    """`20.0`, and `1.20` under ten grams, where a tenth is too coarse."""
    return f"{grams:.{_decimals(grams)}f}"


def _decimals(grams: float) -> int:
    return 1 if round(grams, 2) >= 10.0 else 2


def _inward(dose: Dose, towards: float) -> Dose:
    """An end of what is allowed, rounded so that weighing it as said stays inside."""
    scale = 10.0 ** _decimals(dose.grams)
    steps = round(dose.grams * scale, 6)
    whole = math.ceil(steps) if towards > dose.grams else math.floor(steps)
    return Dose(dose.pct, whole / scale, dose.millilitres)


def amount_lines(
    sheet: Sheet, resin_g: float, by_sheet: Doses, wanted: Dose | None, drops_per_ml: float | None
) -> Iterator[str]:
    """Grams first, then what the sheet allows, then millilitres and own drops."""
    second = sheet.second_part
    what = f"{second.capitalize()} {{}} for {resin_g:g} g of resin"
    low, high = by_sheet.low, by_sheet.high
    if low is not None and high is not None:
        low, high = _inward(low, high.grams), _inward(high, low.grams)
    if sheet.kind == "epoxy":
        if wanted is None or sheet.ratio_by_weight is None:
            yield f"Your sheet doesn't give a ratio by weight. {ASK}"
            return
        resin, hardener = sheet.ratio_by_weight
        yield (
            f"{what.format(grams_said(wanted.grams) + ' g')}: {resin:g} to {hardener:g} by weight, "
            "not by volume."
        )
        if low is None or high is None:
            yield f"Your sheet doesn't say how far off it may be. {ASK}"
        else:
            yield (
                f"It may be {grams_said(low.grams)} to {grams_said(high.grams)} g "
                f"({sheet.tolerance_pct:g} % either way). The ratio never changes, cold or hot."
            )
        return
    if wanted is not None:
        whose = "the sheet's aim" if wanted.pct == sheet.aim_pct else "as you asked"
        yield f"{what.format(_amount(wanted, drops_per_ml))}: {wanted.pct:g} %, {whose}."
    elif low is not None:
        yield "Your sheet doesn't say what to aim for: choose inside its range with --mix-pct."
    if low is None or high is None:
        much = "" if wanted is None else " is too little or too much"
        yield f"Your sheet doesn't say how much catalyst{much}. {ASK}"
    else:
        yield (
            f"Never under {_amount(low, drops_per_ml)} ({low.pct:g} %) nor over "
            f"{_amount(high, drops_per_ml)} ({high.pct:g} %), cold or hot."
        )
    if sheet.catalyst_g_per_ml is None and (wanted is not None or low is not None):
        drops = " and no drops" if drops_per_ml is not None else ""
        yield f"No millilitres{drops}: your sheet doesn't give the catalyst's density. Weigh it."


def _amount(dose: Dose, drops_per_ml: float | None) -> str:
    words = f"{grams_said(dose.grams)} g"
    if dose.millilitres is None:
        return words
    words += f" or {dose.millilitres:.2f} ml"
    if drops_per_ml is not None:
        words += f" or {dose.millilitres * drops_per_ml:.0f} drops of your own dropper"
    return words


def scale_lines(sheet: Sheet, step_g: float, resolves: Resolution) -> Iterator[str]:
    """What ± one step on each weighing, added, makes of the dose."""
    low, high = resolves.hits_pct
    yield (
        f"Scale: {step_g:g} g on each weighing, added, is ± {resolves.off_pct:.1f} % (resin "
        f"{resolves.resin_share_pct:.1f}, {sheet.second_part} {resolves.second_share_pct:.1f}): "
        f"really {low:.3g} to {high:.3g} % {sheet.second_part}."
    )


def room_lines(
    sheet: Sheet,
    kept: bool | None,
    room: float | None,
    least_g: float | None,
    finer_g: float | None,
) -> Iterator[str]:
    """Whether that stays inside the sheet, and what would."""
    if kept is None or kept:
        return
    if not room:
        yield (
            "At the very end of the sheet's range any scale may land outside it: aim further in."
        )
        return
    what = "that range"
    if sheet.tolerance_pct is not None and sheet.kind == "epoxy":
        what = f"{sheet.tolerance_pct:g} %"
    elif sheet.catalyst_pct is not None:
        what = f"{sheet.catalyst_pct[0]:g} to {sheet.catalyst_pct[1]:g} %"
    words = f"This scale can't hold {what} on so small a cup: mix at least {least_g:g} g of resin"
    yield f"{words} or use a {finer_g:g} g scale." if finer_g is not None else f"{words}."


def minutes_line(
    sheet: Sheet,
    pot: PotTime | NoPotTime | None,
    temperature_c: float | None,
    dose_known: bool,
    unit: Unit,
) -> str:
    """Minutes in hand with their band, or why there are none."""
    if temperature_c is None:
        return "Minutes in hand: give the resin's own temperature with --temperature-c."
    if pot is None:
        why = "no dose is chosen" if not dose_known else "nothing is known"
        return f"No minutes in hand: {why}."
    at = temperature_said(temperature_c, unit)
    if isinstance(pot, NoPotTime):
        return f"No minutes at {at}: {_why_not(sheet, pot, unit)}"
    band = f"{pot.middle_min:.0f} min to gel, {pot.in_hand_min} to {pot.high_min:.0f}"
    words = f"In hand: {pot.in_hand_min} min from mixing at {at} (about {band}, in the cup)."
    if pot.fits == "smaller":
        return f"{words} Your cup is smaller than the sheet's and slower still."
    if pot.fits == "size-not-given":
        return f"{words} Your sheet doesn't say in what size of cup: a bigger one is quicker."
    return f"{words} A bigger cup is quicker, a thin film slower."


def _why_not(sheet: Sheet, pot: NoPotTime, unit: Unit) -> str:
    if pot.why == "no-rows":
        return "your sheet doesn't say how soon a cup gels. Time a test cup."
    if pot.why == "no-dose":
        return "your sheet doesn't say what dose its cups had."
    if pot.why == "bigger" and pot.cup_g is not None:
        least, most = pot.cup_g
        sizes = f"{most:g} g" if least == most else f"{least:g} to {most:g} g"
        return (
            f"your sheet's cups are of {sizes} (about {pot.nearest_min:.0f} min in the biggest), "
            f"and a bigger cup is quicker. Split it into cups of {most:g} g at most."
        )
    if pot.why == "dose" and pot.mix_pct is not None:
        least, most = pot.mix_pct
        doses = f"have {most:g} %" if least == most else f"go from {least:g} to {most:g} %"
        return f"your sheet's cups {doses} catalyst."
    if pot.why in ("cold", "hot") and pot.temperature_c is not None:
        words = f"your sheet's cups go from {_degrees(pot.temperature_c, unit)}."
        hot = " Hotter than that a cup can run away: cool resin, shade, small cups, or wait."
        return words + hot if pot.why == "hot" else words
    return f"your {sheet.kind} sheet has no cups around this point."


def _degrees(ends_c: tuple[float, float], unit: Unit) -> str:
    low, high = ((f_from_c(c) if unit == "f" else c) for c in ends_c)
    return f"{low:.3g} to {high:.3g} °{unit.upper()}"


def enough_line(
    sheet: Sheet,
    pot: PotTime | NoPotTime | None,
    needed_min: float,
    resin_g: float,
    least_g: float | None,
) -> str:
    """Whether the hands are quick enough, and what to change if not: inside the sheet."""
    if not isinstance(pot, PotTime):
        return f"Whether {needed_min:g} min is too long can't be told without minutes in hand."
    if needed_min <= pot.in_hand_min:
        return f"{needed_min:g} min of work fits."
    share = resin_g * pot.in_hand_min / needed_min
    smaller = CUP_STEP_G * math.floor(share / CUP_STEP_G)
    batch = f"cups of about {smaller:g} g of resin" if smaller > 0 else "a smaller cup"
    if least_g is not None and smaller < least_g:
        batch += " (on a finer scale)"
    place = "cooler resin and shade, inside the sheet's working range"
    if sheet.kind == "epoxy":
        return (
            f"{needed_min:g} min is longer than you have: {batch}, or {place}; a wide tray keeps "
            "it cooler than a cup. Never another ratio."
        )
    return (
        f"{needed_min:g} min is longer than you have: {batch}, or {place}, or the low end of the "
        "sheet's range, never under it."
    )


def cautions(sheet: Sheet, temperature_c: float | None, unit: Unit) -> tuple[str, ...]:
    """What anybody at the bench must know, a short line each."""
    lines = []
    if temperature_c is not None and sheet.working_c is not None:
        low, high = sheet.working_c
        if not low <= temperature_c <= high:
            side, end = ("under", low) if temperature_c < low else ("over", high)
            lines.append(
                f"{temperature_said(temperature_c, unit)} is {side} the sheet's working "
                f"{temperature_said(end, unit)}: bring resin and place inside it first. "
                f"{'The ratio' if sheet.kind == 'epoxy' else 'The range'} stays as it is."
            )
    if sheet.kind == "epoxy":
        lines.append(HARDENER)
    else:
        lines += [PEROXIDE, NO_PROMOTER, PEROXIDE_DUST]
    return (*lines, f"A full cup heats itself. {HOT_CUP}", MASK)
