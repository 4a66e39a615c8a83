"""Names carry their units."""

import dataclasses
import inspect
import typing

import numpy as np
import pytest

from monitor import records

SUFFIXES = (
    "_c",
    "_pct",
    "_g",
    "_mm",
    "_s",
    "_h",
    "_hours",
    "_kj_per_mol",
    "_g_per_ml",
)

EXPLAINED = {
    "Count.low": "in the sheet's own count, degree-hours or equivalent hours: Assessment.unit",
    "Count.middle": "as Count.low",
    "Count.high": "as Count.low",
    "Sheet.needs": "as Count.low",
    "StageAnswer.needs": "as Count.low",
    "Sheet.ratio_by_weight": "two weights, of which only the ratio counts",
    "GelRow.minutes": "the name is the unit",
}


def holds_a_float(annotation: object) -> bool:
    if annotation in (float, np.float64):
        return True
    return any(holds_a_float(part) for part in typing.get_args(annotation))


def float_fields() -> list[str]:
    found = []
    for name in records.__all__:
        record = getattr(records, name)
        if inspect.isclass(record) and dataclasses.is_dataclass(record):
            hints = typing.get_type_hints(record)
            fields = dataclasses.fields(record)
            found += [f"{name}.{f.name}" for f in fields if holds_a_float(hints[f.name])]
    return found


FIELDS = float_fields()


@pytest.mark.parametrize("field", FIELDS)
def test_a_float_says_its_unit(field: str) -> None:
    """A number's name ends in its unit, or the list above says why it doesn't."""
    assert field.endswith(SUFFIXES) or field in EXPLAINED


def test_the_explained_ones_are_there() -> None:
    """Nothing is explained away that no longer exists, or that needs no explaining."""
    assert set(EXPLAINED) <= set(FIELDS)
    assert [field for field in EXPLAINED if field.endswith(SUFFIXES)] == []


def test_columns_and_options_are_seen() -> None:
    """The search looks into arrays, pairs and values that may be missing."""
    assert {"Readings.time_s", "Sheet.wet_film_mm", "Reading.humidity_pct"} <= set(FIELDS)
