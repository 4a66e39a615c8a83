"""Answers as JSON, in the shapes that people script against."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from monitor.assess import Joint
from monitor.overview import LayupView
from monitor.records import Assessment, Edges, Forecast, Reading, Sensor, StageAnswer
from monitor.store import entry_id
from monitor.times import iso_utc

Json = dict[str, Any]


def _time(moment: datetime | None) -> str | None:
    return None if moment is None else iso_utc(moment)


def _count(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def sensor_json(sensor: Sensor, latest: Reading | None) -> Json:
    return {
        "id": entry_id(sensor),
        "sensor": sensor.name,
        "port": sensor.port,
        "bench": sensor.owner,
        "unit": sensor.unit,
        "format": sensor.format,
        "last": latest and iso_utc(latest.at),
        "temperature_c": latest and latest.temperature_c,
        "humidity_pct": latest and latest.humidity_pct,
        "surface_c": latest and latest.surface_c,
        "flags": latest and latest.flags.text(),
    }


def edges_json(edges: Edges) -> Json:
    return {
        "early": _time(edges.early),
        "middle": _time(edges.middle),
        "late": _time(edges.late),
    }


def _needs(needs: tuple[float, ...] | None) -> float | list[float] | None:
    if needs is None:
        return None
    return needs[0] if len(needs) == 1 else list(needs)


def stage_json(answer: StageAnswer) -> Json:
    stage: Json = {
        "stage": answer.stage.value,
        "kind": answer.kind,
        "needs": _needs(answer.needs),
        "verdict": answer.verdict.value,
        "opens": edges_json(answer.opens),
    }
    if answer.shuts is not None:
        stage["shuts"] = {"early": _time(answer.shuts.early), "middle": _time(answer.shuts.middle)}
        stage["shut_by"] = answer.shut_by
    return {**stage, "reason": answer.reason}


def assessment_json(a: Assessment) -> Json:
    """The object of `assess --json`."""
    return {
        "sheet": a.sheet,
        "mixed_at": _time(a.mixed_at),
        "now": _time(a.now),
        "nearness": None if a.nearness is None else a.nearness.value,
        "band_c": a.band_c,
        "unit": a.unit,
        "readings": {
            "used": a.readings.used,
            "suspect": a.readings.suspect,
            "ignored_after_now": a.readings.ignored_after_now,
            "first": _time(a.readings.first),
            "last": _time(a.readings.last),
        },
        "gaps": [
            {
                "from": _time(g.start),
                "to": _time(g.end),
                "hours": round(g.hours, 4),
                "why": g.why,
                **({} if g.said_until is None else {"said_warm_until": _time(g.said_until)}),
            }
            for g in a.gaps
        ],
        "unmeasured_hours": round(a.unmeasured_hours, 4),
        "count": {
            "low": _count(a.count.low),
            "middle": _count(a.count.middle),
            "high": _count(a.count.high),
        },
        "parked_since": _time(a.parked_since),
        "parked": [{"from": _time(p.start), "to": _time(p.end)} for p in a.parked],
        "overruled_by": list(a.overruled_by),
        "stages": [stage_json(answer) for answer in a.stages],
        "bond_line": {
            "state": a.bond_line.state,
            "until": _time(a.bond_line.until),
            "voided_by": list(a.bond_line.voided_by),
            "sanded_at": _time(a.bond_line.sanded_at),
            "since_sanded": list(a.bond_line.since_sanded),
            "reason": a.bond_line.reason,
        },
        "forecast": forecast_json(a.forecast),
    }


def forecast_json(forecast: Forecast) -> Json:
    """What is guessed lives here and nowhere else."""
    stages: Json = {}
    for told in forecast.stages:
        stages[told.stage.value] = edges_json(told.opens)
        if told.shuts is not None:
            stages[told.stage.value]["shuts"] = {
                "early": _time(told.shuts.early),
                "middle": _time(told.shuts.middle),
            }
    return {"basis": forecast.basis, "stages": stages, "dew_at": _time(forecast.dew_at)}


def joint_json(joint: Joint | None) -> Json | None:
    if joint is None:
        return None
    return {
        "overruled_by": list(joint.overruled_by),
        "stages": [
            {
                "stage": s.stage.value,
                "verdict": s.verdict.value,
                "slowest": s.slowest,
                "opens": edges_json(s.opens),
                **(
                    {}
                    if s.shuts is None
                    else {"shuts": {"early": _time(s.shuts.early), "middle": _time(s.shuts.middle)}}
                ),
                "reason": s.reason,
            }
            for s in joint.stages
        ],
    }


def ready_json(view: LayupView, only: Iterable[str] | None = None) -> Json:
    """The object of `ready --json`; `only` names the batches wanted."""
    number = view.layup.number
    wanted = None if only is None else set(only)
    return {
        "layup": number,
        "what": view.layup.what,
        "batches": [
            {"batch": f"{number}/{b.batch.name}", **assessment_json(b.worked.assessment)}
            for b in view.batches
            if wanted is None or b.batch.name in wanted
        ],
        "joint": joint_json(view.joint),
    }
