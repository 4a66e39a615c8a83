"""When an open window will shut, if it stays as warm as it is."""

from datetime import datetime, timedelta

import numpy as np

from monitor.alerts.look import Look
from monitor.cure.law import closing_law
from monitor.cure.stages import NOTHING_COUNTED, count_stages
from monitor.cure.steady import hours_at
from monitor.cure.trace import GAP_S
from monitor.overview import BatchView
from monitor.records import Stage


def shuts_at(batch: BatchView, stage: Stage, look: Look) -> datetime | None:
    """At its careful edge, by the count or by plain hours. None: nobody can say."""
    sheet, before = batch.sheet, batch.case.before
    needs, law = sheet.needs.get(stage), closing_law(sheet)
    exposure = batch.worked.exposure
    last_s = float(exposure.time_s[-1]) if exposure.time_s.size else -np.inf
    if needs is None or law is None or look.now_s - last_s > GAP_S:
        return None
    counted = count_stages(exposure, sheet, before.counted if before else NOTHING_COUNTED)
    if counted is None or counted.closing_high is None:
        return None
    warm_c = float(exposure.temperature_c[-1]) + (batch.worked.assessment.band_c or 0.0)
    hours = hours_at(law, warm_c, max(needs[1] - counted.closing_high, 0.0))
    ends = [] if hours is None else [look.now + timedelta(hours=hours)]
    if stage is Stage.RECOAT and sheet.recoat_max_hours is not None:
        earliest = batch.batch.mixed_at - batch.batch.give_or_take
        ends.append(earliest + timedelta(hours=sheet.recoat_max_hours))
    return min(ends, default=None)
