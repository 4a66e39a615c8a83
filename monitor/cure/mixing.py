"""Whether a cup was mixed as the sheet asks."""

from dataclasses import dataclass
from typing import Literal

from monitor.records import Sheet

AIM_SLACK_POINTS = 0.2
"""How far off the aim a mix may be before the touch test decides. This project's rule."""

_ROUNDING = 1e-6

MixState = Literal["right", "at-the-limit", "off-aim", "outside", "not-logged", "not-asked"]


@dataclass(frozen=True)
class Weighed:
    """What went into one cup: grams, or the second part as a percentage of the resin."""

    resin_g: float | None = None
    catalyst_g: float | None = None
    hardener_g: float | None = None
    mix_pct: float | None = None

    def second_part_pct(self, sheet: Sheet) -> float | None:
        """Catalyst or hardener as % of the resin's weight. None: not logged.

        Valid for weights above 0. Source: arithmetic.
        """
        if self.mix_pct is not None:
            return self.mix_pct
        second_g = self.hardener_g if sheet.kind == "epoxy" else self.catalyst_g
        if not self.resin_g or second_g is None:
            return None
        return 100.0 * second_g / self.resin_g


NOTHING_WEIGHED = Weighed()


@dataclass(frozen=True)
class MixJudgement:
    state: MixState
    pct: float | None
    sentence: str


def judge_mix(sheet: Sheet, weighed: Weighed) -> MixJudgement:
    """The mix against the sheet's range or ratio.

    Valid for any weights. Source: the sheet; the slack around its aim is this project's rule.
    """
    pct = weighed.second_part_pct(sheet)
    if sheet.kind == "epoxy":
        return _by_ratio(sheet, pct)
    return _by_range(sheet, pct)


def _not_logged(sheet: Sheet) -> MixJudgement:
    return MixJudgement(
        "not-logged", None, f"No {sheet.second_part} amount is logged, so the count can't vouch."
    )


def _by_range(sheet: Sheet, pct: float | None) -> MixJudgement:
    if sheet.catalyst_pct is None:
        return MixJudgement("not-asked", pct, "Your sheet doesn't say how much catalyst.")
    low, high = sheet.catalyst_pct
    allowed = f"the sheet's {low:g} to {high:g} %"
    if pct is None:
        return _not_logged(sheet)
    if pct < low - _ROUNDING or pct > high + _ROUNDING:
        side = "under" if pct < low else "over"
        return MixJudgement("outside", pct, f"Catalyst {pct:.2f} % is {side} {allowed}.")
    if sheet.aim_pct is not None and abs(pct - sheet.aim_pct) > AIM_SLACK_POINTS + _ROUNDING:
        return MixJudgement(
            "off-aim",
            pct,
            f"Catalyst {pct:.2f} % is off the sheet's aim of {sheet.aim_pct:g} %: "
            "its stage figures hold at the aim.",
        )
    return MixJudgement("right", pct, f"Catalyst {pct:.2f} % is inside {allowed}.")


def _by_ratio(sheet: Sheet, pct: float | None) -> MixJudgement:
    if sheet.ratio_by_weight is None:
        return MixJudgement("not-asked", pct, "Your sheet doesn't give a ratio.")
    if pct is None:
        return _not_logged(sheet)
    wanted = 100.0 * sheet.ratio_by_weight[1] / sheet.ratio_by_weight[0]
    off = 100.0 * (pct / wanted - 1.0)
    words = f"{abs(off):.1f} % {'short of' if off < 0 else 'over'} the sheet's ratio"
    limit = sheet.tolerance_pct
    if limit is None:
        if abs(off) <= AIM_SLACK_POINTS:
            return MixJudgement("right", pct, "Hardener is at the sheet's ratio.")
        return MixJudgement(
            "off-aim", pct, f"Hardener is {words}; your sheet doesn't say how far it may be."
        )
    if abs(off) > limit + _ROUNDING:
        return MixJudgement("outside", pct, f"Hardener is {words}; its limit is {limit:g} %.")
    if abs(off) > 0.9 * limit:
        return MixJudgement("at-the-limit", pct, f"Hardener is {words}, at the limit.")
    return MixJudgement("right", pct, f"Hardener is within {limit:g} % of the sheet's ratio.")
