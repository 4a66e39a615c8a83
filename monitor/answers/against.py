"""The one thing that speaks against a headline, the weightiest first, and what to do about it."""

from datetime import datetime, tzinfo

import numpy as np

from monitor.answers.here import PROBE_IT
from monitor.answers.wording import STAGE_WORDS
from monitor.cautions import HOT_CUP
from monitor.cure.beside import StayRead, good
from monitor.cure.law import opening_law
from monitor.cure.steady import hours_at
from monitor.cure.trace import GAP_S
from monitor.overview import COATS, BatchView, Beside
from monitor.records import Doubt, Flags, Stage, Verdict
from monitor.times import length_said, said
from monitor.units import Unit, temperature_said

WARMER = ": make it warmer"

LOOK_FOR = "look for cracks and a brown heart, a gap at its edges, dimples on the far side"

_OPENINGS = (Stage.FLIP, Stage.SEALED, Stage.SAND, Stage.PROPS_OFF, Stage.LOAD, Stage.FULL)


def against(batch: BatchView, now: datetime, zone: tzinfo, unit: Unit) -> str | None:
    """The one thing that speaks against the headline, the weightiest first."""
    a = batch.worked.assessment
    if "mix-outside" in a.overruled_by:
        return (
            f"{a.stages[0].reason.rstrip('.')}: take it off and lay up anew; time, warmth or a "
            "coat over it won't mend it"
        )
    if "part-too-hot" in a.overruled_by:
        return _hot_said(batch, now, unit)
    return _unmeasured_said(batch, now, zone, unit) or _doubted(batch)


def _hot_said(batch: BatchView, now: datetime, unit: Unit) -> str:
    """What to do while it still runs hot, and what to look for once it doesn't."""
    limit_c = batch.sheet.part_max_c
    newest = max((_newest_good(b, now) for b in batch.watched), default=None)
    if limit_c is None or newest is None or newest[1] <= limit_c:
        return f"it ran too hot: {LOOK_FOR}"
    return (
        f"it is at {temperature_said(newest[1], unit)}, over the sheet's "
        f"{temperature_said(limit_c, unit)}: clear anything that burns and don't breathe it. "
        f"{HOT_CUP.rstrip('.')}"
    )


def _newest_good(beside: Beside, now: datetime) -> tuple[float, float]:
    """The newest good reading of a stay that lasts: its time and °C."""
    read = StayRead(
        beside.readings.between(now.timestamp() - GAP_S, now.timestamp()),
        beside.stay.channel,
        beside.stay.nearness,
    )
    found = np.flatnonzero(good(read))
    if found.size == 0 or (beside.until is not None and beside.until <= now):
        return -np.inf, -np.inf
    return float(read.readings.time_s[found[-1]]), float(read.column_c[found[-1]])


def _unmeasured_said(batch: BatchView, now: datetime, zone: tzinfo, unit: Unit) -> str | None:
    """No sensor, no reading, cold, silence."""
    a = batch.worked.assessment
    if not batch.counted:
        return "no sensor beside it"
    last = a.readings.last
    if last is None:
        return "no reading since it was mixed"
    if a.parked_since is not None:
        floor = "" if batch.sheet.floor_c is None else temperature_said(batch.sheet.floor_c, unit)
        since = f"parked since {said(a.parked_since, zone, now)}, below {floor}"
        return since + (warmth_needed(batch, unit) or WARMER)
    if any(gap.why == "after-last" for gap in a.gaps):
        return _silence_said(batch, last, now, zone)
    if "cold-before-gel" in a.overruled_by:
        return "it was cold for hours before it gelled"
    if a.unmeasured_hours > 0:
        return f"{length_said(a.unmeasured_hours * 3600)} not measured"
    return None


def _silence_said(batch: BatchView, last: datetime, now: datetime, zone: tzinfo) -> str:
    """No reading since, or none but suspect ones: those say why they are."""
    since = said(last, zone, now)
    flags = Flags()
    for beside in batch.counted:
        later = beside.readings.between(last.timestamp() + 1e-3, now.timestamp()).flags
        flags |= Flags.unpacked(int(np.bitwise_or.reduce(later)) if later.size else 0)
    if not flags:
        return f"no reading since {since}"
    if Doubt.SUNNED in flags.temperature | flags.surface:
        return (
            f"no reading to trust since {since}: the sensor reads as if in the sun. Shade it; "
            "is the part in the sun too?"
        )
    return f"none but suspect readings since {since}"


def _doubted(batch: BatchView) -> str | None:
    """What the count can't see: the mix, the coat under, the hull."""
    a = batch.worked.assessment
    if "coated-too-early" in a.overruled_by:
        return "coated while too soft: let it go fully hard, sand to sound, and coat again"
    if "wax-spoiled" in a.overruled_by:
        return "cold, heat or dew before it sealed: the wax may not have come up, tent and warm it"
    recoat = a.stage(Stage.RECOAT).verdict
    covered = batch.case.covered_at is not None
    if batch.batch.role in COATS and not covered and recoat is Verdict.NOT_YET:
        return "still soft: a coat over it would wrinkle"
    mix = next((f for f in a.overruled_by if f.startswith("mix-")), None)
    if mix is not None:
        return "no mix logged" if mix == "mix-not-logged" else "mixed off the sheet's aim"
    return PROBE_IT if "hull-unprobed" in a.overruled_by else None


def warmth_needed(batch: BatchView, unit: Unit) -> str | None:
    """`: 4 h at 22.0 °C bring it to flip`, at the careful edge, in the middle of the sheet's range.

    None: the sheet gives no range, or nothing is left to reach.
    """
    sheet, a = batch.sheet, batch.worked.assessment
    law = opening_law(sheet)
    ahead = [s for s in _OPENINGS if s in sheet.needs and a.stage(s).verdict is not Verdict.READY]
    if law is None or sheet.working_c is None or not ahead:
        return None
    held_c = sum(sheet.working_c) / 2.0
    band_c = a.band_c or 0.0
    missing = sheet.needs[ahead[0]][0] - a.count.low
    hours = hours_at(law, held_c - band_c, max(missing, 0.0))
    if hours is None:
        return None
    return (
        f": make it warmer, {length_said(hours * 3600)} at {temperature_said(held_c, unit)} "
        f"bring it to {STAGE_WORDS[ahead[0]]}"
    )


__all__ = ["WARMER", "against", "warmth_needed"]
