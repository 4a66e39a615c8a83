"""How much goes in, what the scale can hold, how long it stays workable; and a wrong cup."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from monitor.answers.bench_words import (
    amount_lines,
    cautions,
    enough_line,
    grams_said,
    minutes_line,
    room_lines,
    scale_lines,
)
from monitor.answers.off_mix import remedy_said
from monitor.answers.own_minutes import OwnMinutes, own_lines
from monitor.cure.bench import (
    Dose,
    Doses,
    Resolution,
    TopUp,
    allowed_pct,
    cup_said_g,
    dose,
    doses,
    finer_step_g,
    holds,
    least_resin_g,
    resolution,
    room_pct,
    top_up,
)
from monitor.cure.mixing import MixJudgement, Weighed, judge_mix
from monitor.cure.pot import (
    OWN_SHARE,
    SHEET_SHARE,
    NoPotTime,
    PotTime,
    pot_time,
)
from monitor.errors import BadInput
from monitor.records import Sheet
from monitor.units import Unit

OWN_CUPS = "own cups"


@dataclass(frozen=True)
class Asked:
    """What a person at the bench gives: grams, %, °C, minutes. None: not given."""

    resin_g: float
    temperature_c: float | None = None
    scale_step_g: float | None = None
    weighed_g: float | None = None
    mix_pct: float | None = None
    drops_per_ml: float | None = None
    minutes_ago: float | None = None
    minutes_needed: float | None = None
    cup: str | None = None


@dataclass(frozen=True)
class Scale:
    """What the scale resolves on this cup, beside what the sheet allows. None: it doesn't say."""

    step_g: float
    resolves: Resolution
    room_pct: float | None
    least_resin_g: float | None
    finer_step_g: float | None

    @property
    def holds(self) -> bool | None:
        return None if self.room_pct is None else holds(self.resolves, self.room_pct)


@dataclass(frozen=True)
class Mix:
    """The answer. `dose`: what is asked for, the aim if nothing else is. None: not known."""

    sheet: Sheet
    asked: Asked
    doses: Doses
    dose: Dose | None
    scale: Scale | None
    pot: PotTime | NoPotTime | None
    judged: MixJudgement | None
    top_up: TopUp | None
    remedy: str | None


def mix_for(sheet: Sheet, asked: Asked) -> Mix:
    """The answer for one cup. Raises BadInput for what can't be, or what the sheet forbids."""
    _numbers_fit(asked)
    wanted = _dose_asked(sheet, asked)
    second_pct = wanted.pct if wanted is not None else None
    judged, added, remedy = None, None, None
    weighed = Weighed(
        asked.resin_g,
        asked.weighed_g if sheet.kind != "epoxy" else None,
        asked.weighed_g if sheet.kind == "epoxy" else None,
    )
    if asked.weighed_g is not None:
        judged = judge_mix(sheet, weighed)
        if judged.state in ("right", "at-the-limit", "off-aim"):
            second_pct = judged.pct
    pot = _pot(sheet, asked, second_pct)
    if judged is not None and judged.state == "outside":
        added = top_up(sheet, weighed, asked.mix_pct)
        # Short of catalyst is slower than the aim, so the aim's time is the careful one; with too
        # much it is quicker than any row says.
        known = pot if added is None or added.part != "resin" or sheet.kind == "epoxy" else None
        remedy = remedy_said(sheet, added, asked.minutes_ago, known)
    return Mix(
        sheet,
        asked,
        doses(sheet, asked.resin_g),
        wanted,
        _scale(sheet, asked, wanted),
        pot,
        judged,
        added,
        remedy,
    )


def _numbers_fit(asked: Asked) -> None:
    for option, value, may_be_zero in (
        ("--resin-g", asked.resin_g, False),
        ("--scale-step-g", asked.scale_step_g, False),
        ("--weighed-g", asked.weighed_g, True),
        ("--mix-pct", asked.mix_pct, False),
        ("--drops-per-ml", asked.drops_per_ml, False),
        ("--minutes-ago", asked.minutes_ago, True),
        ("--minutes-needed", asked.minutes_needed, False),
    ):
        if value is None:
            continue
        if not math.isfinite(value) or value < 0.0 or (value == 0.0 and not may_be_zero):
            least = "0 or more" if may_be_zero else "above 0"
            raise BadInput(f"{option} {value:g} can't be.", f"Give a figure {least}.")
    if asked.temperature_c is not None and not math.isfinite(asked.temperature_c):
        raise BadInput("That is no temperature.", "Give the resin's own, such as 18.5.")


def _dose_asked(sheet: Sheet, asked: Asked) -> Dose | None:
    """The dose asked for, inside the sheet's range at any temperature, or its aim."""
    if sheet.kind == "epoxy" and asked.drops_per_ml is not None:
        raise BadInput(
            f"{sheet.name} is an epoxy: hardener is weighed, not dropped.",
            "Leave --drops-per-ml out.",
        )
    if asked.mix_pct is None:
        return doses(sheet, asked.resin_g).aim
    if sheet.kind == "epoxy":
        raise BadInput(
            f"{sheet.name} is an epoxy: its ratio is fixed, in the cold as in the heat.",
            "Leave --mix-pct out; warm the resin and the place, or ask the maker for another "
            "hardener.",
        )
    ends = allowed_pct(sheet)
    if ends is None:
        raise BadInput(
            "Your sheet doesn't say how much catalyst is too little or too much.",
            "Ask the maker, and type catalyst_pct into the sheet.",
        )
    if not ends[0] <= asked.mix_pct <= ends[1]:
        side = "under" if asked.mix_pct < ends[0] else "over"
        raise BadInput(
            f"{asked.mix_pct:g} % is {side} the sheet's {ends[0]:g} to {ends[1]:g} % catalyst.",
            "Stay inside it, however cold or hot it is: bring the resin and the place to the "
            "right warmth instead.",
        )
    return dose(sheet, asked.resin_g, asked.mix_pct)


def _scale(sheet: Sheet, asked: Asked, wanted: Dose | None) -> Scale | None:
    if asked.scale_step_g is None or wanted is None:
        return None
    step_g, ends = asked.scale_step_g, allowed_pct(sheet)
    resolves = resolution(step_g, asked.resin_g, wanted.grams)
    if ends is None:
        return Scale(step_g, resolves, None, None, None)
    room = room_pct(wanted.pct, ends)
    least = least_resin_g(step_g, wanted.pct, room)
    finer = finer_step_g(step_g, asked.resin_g, wanted.grams, room)
    return Scale(step_g, resolves, room, None if least is None else cup_said_g(least), finer)


def _pot(sheet: Sheet, asked: Asked, second_pct: float | None) -> PotTime | NoPotTime | None:
    """Minutes in hand. None: no temperature, or no dose to ask them for."""
    if asked.temperature_c is None or second_pct is None:
        return None
    return pot_time(
        sheet.gel_rows,
        temperature_c=asked.temperature_c,
        cup_g=asked.resin_g * (1.0 + second_pct / 100.0),
        mix_pct=None if sheet.kind == "epoxy" else second_pct,
        share=pot_share(sheet),
    )


def pot_share(sheet: Sheet) -> float:
    """How far a gel time may be off: less where the cups are the person's own."""
    told = sheet.value_sources
    own = OWN_CUPS in (told.get("gel"), told.get("gel.minutes"))
    return OWN_SHARE if own else SHEET_SHARE


def mix_lines(mix: Mix, unit: Unit, own: Sequence[OwnMinutes] = ()) -> Iterator[str]:
    """The answer in words: what was weighed first, then grams, scale, time, next step, care."""
    sheet, asked = mix.sheet, mix.asked
    if sheet.demo:
        yield "This is a demo sheet: its figures are made up."
    if asked.cup is not None:
        yield f"Cup {asked.cup}:"
    if mix.judged is not None:
        yield mix.judged.sentence
        if mix.remedy is not None:
            yield mix.remedy
    yield from amount_lines(sheet, asked.resin_g, mix.doses, mix.dose, asked.drops_per_ml)
    if mix.scale is not None:
        yield from scale_lines(sheet, mix.scale.step_g, mix.scale.resolves)
        yield from room_lines(
            sheet,
            mix.scale.holds,
            mix.scale.room_pct,
            mix.scale.least_resin_g,
            mix.scale.finer_step_g,
        )
    elif mix.dose is not None:
        yield "What your scale can hold: give its smallest step with --scale-step-g."
    yield minutes_line(sheet, mix.pot, asked.temperature_c, mix.dose is not None, unit)
    yield from own_lines(own, mix.pot, unit)
    if asked.minutes_ago is not None and isinstance(mix.pot, PotTime):
        left = _left_min(mix.pot, asked.minutes_ago)
        yield f"{left} min of them are left." if left > 0 else "They are used up."
    if asked.minutes_needed is not None:
        least_g = None if mix.scale is None else mix.scale.least_resin_g
        yield enough_line(sheet, mix.pot, asked.minutes_needed, asked.resin_g, least_g)
    if mix.remedy is None and mix.dose is not None:
        yield _next(mix)
    yield from cautions(sheet, asked.temperature_c, unit)


def _left_min(pot: PotTime, minutes_ago: float) -> int:
    return max(0, math.floor(pot.low_min - minutes_ago))


def _next(mix: Mix) -> str:
    second = mix.sheet.second_part
    grams = mix.asked.weighed_g
    if mix.dose is not None and grams is None:
        grams = mix.dose.grams
    amount = "…" if grams is None else grams_said(grams)
    step_g = mix.asked.scale_step_g
    rest = "" if step_g is None else f" --scale-step-g {step_g:g}"
    if mix.asked.cup is not None:
        rest += f" --cup {mix.asked.cup}"
    return (
        "Stir it through, sides and bottom. Then: batch add NUMBER/ROLE "
        f"--resin-g {mix.asked.resin_g:g} --{second}-g {amount}{rest}"
    )


def mix_json(mix: Mix, own: Sequence[OwnMinutes] = ()) -> dict[str, Any]:
    """The object of `mix --json`: g, ml, %, minutes and °C. Null: the sheet doesn't say."""
    asked, three = mix.asked, {"low": mix.doses.low, "aim": mix.doses.aim, "high": mix.doses.high}
    three["asked"] = mix.dose
    drops = asked.drops_per_ml
    return {
        "sheet": mix.sheet.name,
        "demo": mix.sheet.demo,
        "kind": mix.sheet.kind,
        "cup": asked.cup,
        "second_part": mix.sheet.second_part,
        "resin_g": asked.resin_g,
        "temperature_c": _rounded(asked.temperature_c),
        "percent": {name: d and round(d.pct, 4) for name, d in three.items()},
        "grams": {name: d and round(d.grams, 4) for name, d in three.items()},
        "millilitres": {name: d and _rounded(d.millilitres) for name, d in three.items()},
        "drops": {
            name: round(d.millilitres * drops, 1)
            if d is not None and d.millilitres is not None and drops is not None
            else None
            for name, d in three.items()
        },
        "scale": None if mix.scale is None else _scale_json(mix.scale),
        "minutes": {**_minutes_json(mix), "own": sorted(round(told.minutes, 1) for told in own)},
        "weighed": _weighed_json(mix),
        "cautions": list(cautions(mix.sheet, asked.temperature_c, "c")),
    }


def _scale_json(scale: Scale) -> dict[str, Any]:
    low, high = scale.resolves.hits_pct
    return {
        "step_g": scale.step_g,
        "plus_minus_pct": round(scale.resolves.off_pct, 3),
        "resin_share_pct": round(scale.resolves.resin_share_pct, 3),
        "second_share_pct": round(scale.resolves.second_share_pct, 3),
        "hits_pct": {"low": round(low, 4), "high": round(high, 4)},
        "room_pct": _rounded(scale.room_pct),
        "holds": scale.holds,
        "least_resin_g": scale.least_resin_g,
        "finer_step_g": scale.finer_step_g,
    }


def _minutes_json(mix: Mix) -> dict[str, Any]:
    pot, ago = mix.pot if isinstance(mix.pot, PotTime) else None, mix.asked.minutes_ago
    said = minutes_line(mix.sheet, mix.pot, mix.asked.temperature_c, mix.dose is not None, "c")
    return {
        "in_hand": pot and pot.in_hand_min,
        "low": pot and round(pot.low_min, 2),
        "middle": pot and round(pot.middle_min, 2),
        "high": pot and round(pot.high_min, 2),
        "left": None if pot is None or ago is None else _left_min(pot, ago),
        "band_pct": round(100.0 * pot_share(mix.sheet), 1),
        "reason": said if pot is None else None,
        "sentence": said,
    }


def _weighed_json(mix: Mix) -> dict[str, Any] | None:
    if mix.judged is None:
        return None
    added = mix.top_up
    return {
        "grams": mix.asked.weighed_g,
        "pct": _rounded(mix.judged.pct),
        "state": mix.judged.state,
        "sentence": mix.judged.sentence,
        "add": added and {"part": added.part, "grams": round(added.grams, 3)},
        "do": mix.remedy,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)
