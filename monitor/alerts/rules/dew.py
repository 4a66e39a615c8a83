"""Dew, or nearly, on a surface that has not sealed."""

from collections.abc import Iterator

import numpy as np

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, Near, gelled, hours_about, soft
from monitor.cautions import HEAT
from monitor.cure.damp import HOLD_S
from monitor.cure.law import opening_law
from monitor.overview import COATS, BatchView
from monitor.records import Aloud, Stage
from monitor.times import from_unix
from monitor.units import difference_said

NAME = "dew-near"
HOURS_STILL_TO_GO = 1.0
"""Sooner sealed than somebody is dressed: not worth waking for. This project's rule."""


def _find(look: Look) -> Iterator[Due]:
    """For 20 minutes. May wake someone over a coat, and over any part that has not kicked."""
    for near in look.surfaces:
        limit_c = near.batch.sheet.dew_spread_min_c
        if limit_c is None or not soft(near.batch, look.now) or _covered(near.batch):
            continue
        stage = _awaited(near.batch, look)
        if stage is Stage.SEALED and _sealed(near.batch):
            continue
        time_s, spread = near.spread
        began_s = near.spell_s(limit_c - spread, time_s, HOLD_S)
        if began_s is None:
            continue
        hours = _hours_to(near, stage)
        spared = stage is Stage.SAND or (
            hours is not None and hours < HOURS_STILL_TO_GO and look.open(NAME, near.place) is None
        )
        unit = look.telling.unit
        yield Due(
            NAME,
            f"{near.place}:page" if spared else near.place,
            from_unix(began_s),
            (near.part,),
            f"Dew is near on soft {_what(near.batch)}: {difference_said(float(spread[-1]), unit)} "
            f"above the dew point at {near.sensor}; the sheet wants "
            f"{difference_said(limit_c, unit)}.",
            f"Tent it and warm it gently. {HEAT}",
            _left(hours, stage),
            Aloud.PAGE if spared else Aloud.ANY_HOUR,
        )


def _what(batch: BatchView) -> str:
    if batch.batch.role in COATS or batch.sheet.role == "gel-coat":
        return "gel coat"
    return "epoxy" if batch.sheet.kind == "epoxy" else "laminate"


def _awaited(batch: BatchView, look: Look) -> Stage:
    """The stage from which dew does no more harm. Sand: it will be sanded anyway."""
    if batch.batch.waxed and Stage.SEALED in batch.sheet.needs:
        return Stage.SEALED
    return Stage.SAND if gelled(batch, look.now) else Stage.GEL


def _covered(batch: BatchView) -> bool:
    """Whether a later coat is the surface now."""
    return batch.case.covered_at is not None


def _sealed(batch: BatchView) -> bool:
    return batch.worked.assessment.stage(Stage.SEALED).opens.late is not None


def _hours_to(near: Near, stage: Stage) -> float | None:
    """Hours the middle count still takes, as warm as it is now."""
    law, warm_c = opening_law(near.batch.sheet), near.latest_c
    assessment = near.batch.worked.assessment
    needs, count = assessment.stage(stage).needs, assessment.count.middle
    if law is None or warm_c is None or needs is None or count is None:
        return None
    rate = float(law.rate(np.array([warm_c]))[0])
    return max(needs[0] - count, 0.0) / rate if rate > 0.0 else None


def _left(hours: float | None, stage: Stage) -> str:
    word = {Stage.SEALED: "sealed", Stage.GEL: "kicked"}.get(stage, "sand")
    if hours is None:
        return f"It won't get to {word} while it is this cold."
    return f"About {hours_about(hours)} to {word}, if it stays as warm as it is."


RULE = Rule(_find, NAME)
