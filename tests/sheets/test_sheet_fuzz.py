"""Whatever stands in a sheet's file, the answer is a sheet or the list of what to put right."""

from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from monitor.errors import SheetError
from monitor.records import Sheet
from monitor.sheets.keys import BY_NAME, TABLES
from monitor.sheets.read import parse_sheet, sheet_of
from monitor.sheets.show import describe

SCALARS = (
    st.none().map(lambda _: "")
    | st.booleans()
    | st.integers()
    | st.just(10**400)
    | st.floats()
    | st.text(max_size=12)
    | st.dates()
    | st.datetimes()
    | st.times()
    | st.sampled_from(["polyester", "epoxy", "c", "f", "linear", "arrhenius"])
)
FIGURES = st.floats(-20.0, 120.0) | st.integers(-5, 700)
PAIRS = st.lists(FIGURES, min_size=2, max_size=2)
VALUES = st.recursive(
    SCALARS | FIGURES | PAIRS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=6,
)
LASTS = st.sampled_from(sorted({key.last for key in BY_NAME.values()})) | st.text(max_size=6)
TABLE = st.dictionaries(LASTS, VALUES, max_size=6)
SHEETS = st.dictionaries(
    st.sampled_from(sorted({key.key for key in BY_NAME.values() if not key.table}))
    | st.text(max_size=6),
    VALUES,
    max_size=5,
).flatmap(
    lambda tops: st.dictionaries(
        st.sampled_from(TABLES), TABLE | st.lists(TABLE, max_size=3) | VALUES, max_size=6
    ).map(lambda tables: {**tops, **tables})
)


def sheet_or_problems(raw: dict[str, Any]) -> Sheet | tuple[str, ...]:
    try:
        return sheet_of(raw, "any.toml")
    except SheetError as error:
        return error.problems


@settings(max_examples=300)
@given(raw=SHEETS)
def test_any_table_gives_a_sheet_or_its_problems(raw: dict[str, Any]) -> None:
    """Never another exception; every problem has a key, a value and a remedy, on one line."""
    outcome = sheet_or_problems(raw)
    if isinstance(outcome, Sheet):
        assert describe(outcome)
    else:
        assert outcome
        assert all(line.isprintable() and line.count(": ") >= 2 for line in outcome)


@settings(suppress_health_check=[HealthCheck.filter_too_much])
@given(
    kind=st.sampled_from(["polyester", "vinyl-ester", "epoxy"]),
    unit=st.sampled_from(["c", "f"]),
    stages=st.dictionaries(
        st.sampled_from(["gel", "flip", "sand", "load", "full", "knife_trim", "recoat"]),
        FIGURES | PAIRS,
    ),
    count=st.dictionaries(st.sampled_from(["base_c", "floor_c", "cap_c"]), FIGURES),
    working=st.dictionaries(st.just("temperature_c"), PAIRS),
)
def test_what_is_accepted_can_be_counted_by(
    kind: str, unit: str, stages: dict[str, Any], count: dict[str, Any], working: dict[str, Any]
) -> None:
    """A sheet that passes is in order: windows open first, base and floor are below the cap."""
    raw = {"name": "x", "kind": kind, "unit": unit}
    sheet = sheet_or_problems({**raw, "stages": stages, "count": count, "working": working})
    assume(isinstance(sheet, Sheet))
    assert isinstance(sheet, Sheet)
    assert all(need[0] >= 0 and need[-1] > 0 for need in sheet.needs.values())
    assert all(need[0] < need[1] for need in sheet.needs.values() if len(need) == 2)
    lows = [low for low in (sheet.base_c, sheet.floor_c) if low is not None]
    assert all(sheet.cap_c is None or low < sheet.cap_c for low in lows)


@given(text=st.text(max_size=60))
def test_any_text_gives_a_sheet_or_its_problems(text: str) -> None:
    """A file that is no TOML at all is refused with what to put right."""
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "any.toml")
    assert caught.value.problems
