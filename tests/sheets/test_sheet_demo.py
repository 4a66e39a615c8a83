"""The four made-up sheets hold the figures that the demo and its stories are told with."""

import itertools
import math

import pytest

from monitor.records import GelRow, Sheet, Stage
from monitor.sheets.read import parse_sheet
from monitor.sheets.shelf import DEMO_STEMS, Shelf
from monitor.sheets.show import BLANK, describe

# Invented for the demo; they are ours and come from no resin.
FIGURES: dict[str, dict[str, object]] = {
    "demo-laminating": {
        "kind": "polyester",
        "role": "laminating",
        "base_c": 5.0,
        "floor_c": 10.0,
        "cap_c": 40.0,
        "working_c": (15.0, 30.0),
        "humidity_max_pct": 80.0,
        "dew_spread_min_c": 3.0,
        "catalyst_pct": (1.0, 2.0),
        "aim_pct": 1.5,
        "needs": {
            Stage.GEL: (10.0,),
            Stage.KNIFE_TRIM: (18.0, 40.0),
            Stage.RECOAT: (10.0, 360.0),
            Stage.FLIP: (75.0,),
            Stage.SAND: (240.0,),
            Stage.PROPS_OFF: (360.0,),
            Stage.FULL: (2520.0,),
        },
        "recoat_max_hours": 48.0,
        "air_inhibited": True,
    },
    "demo-gel-coat": {
        "kind": "polyester",
        "role": "gel-coat",
        "base_c": 5.0,
        "floor_c": 12.0,
        "cap_c": 40.0,
        "working_c": (16.0, 30.0),
        "humidity_max_pct": 75.0,
        "dew_spread_min_c": 3.0,
        "catalyst_pct": (1.5, 2.0),
        "aim_pct": 1.8,
        "wax_pct": 5.0,
        "needs": {
            Stage.GEL: (10.0,),
            Stage.RECOAT: (30.0, 360.0),
            Stage.SEALED: (60.0,),
            Stage.FLIP: (75.0,),
            Stage.SAND: (240.0,),
            Stage.FULL: (2520.0,),
        },
        "recoat_max_hours": 24.0,
        "wet_film_mm": (0.4, 0.6),
        "wax_temperature_c": (18.0, 32.0),
        "air_inhibited": True,
    },
    "demo-thickened": {
        "kind": "polyester",
        "role": "thickened",
        "base_c": 5.0,
        "floor_c": 10.0,
        "cap_c": 40.0,
        "working_c": (15.0, 28.0),
        "humidity_max_pct": 80.0,
        "dew_spread_min_c": 3.0,
        "catalyst_pct": (1.0, 1.5),
        "aim_pct": 1.25,
        "needs": {
            Stage.GEL: (8.0,),
            Stage.FLIP: (75.0,),
            Stage.SAND: (240.0,),
            Stage.PROPS_OFF: (360.0,),
            Stage.FULL: (2520.0,),
        },
        "depth_max_mm": 12.0,
        "part_max_c": 80.0,
    },
    "demo-epoxy": {
        "kind": "epoxy",
        "role": "laminating",
        "base_c": 8.0,
        "floor_c": 10.0,
        "cap_c": 45.0,
        "working_c": (12.0, 30.0),
        "humidity_max_pct": 85.0,
        "dew_spread_min_c": 3.0,
        "ratio_by_weight": (100.0, 40.0),
        "tolerance_pct": 3.0,
        "needs": {
            Stage.GEL: (30.0,),
            Stage.KNIFE_TRIM: (45.0, 90.0),
            Stage.RECOAT: (36.0, 288.0),
            Stage.FLIP: (150.0,),
            Stage.SAND: (288.0,),
            Stage.LOAD: (576.0,),
            Stage.FULL: (2016.0,),
        },
        "recoat_max_hours": 24.0,
    },
}
CUP_AT_20_C = {
    "demo-laminating": GelRow(20.0, 25.0, 1.5, 100.0),
    "demo-gel-coat": GelRow(20.0, 18.0, 1.8, 100.0),
    "demo-thickened": GelRow(20.0, 20.0, 1.25, 100.0),
    "demo-epoxy": GelRow(20.0, 40.0, None, 100.0),
}


@pytest.fixture(params=DEMO_STEMS)
def stem(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def text(stem: str, tmp_path_factory: pytest.TempPathFactory) -> str:
    return Shelf(tmp_path_factory.mktemp("shop"), demo_shop=True).text(stem)


@pytest.fixture
def sheet(stem: str, text: str) -> Sheet:
    return parse_sheet(text, stem)


def test_figures_are_those_of_the_demo(stem: str, sheet: Sheet) -> None:
    """Every figure given is there, and no other: a blank stays a blank."""
    told = FIGURES[stem]
    expected = Sheet(
        name=sheet.name,
        demo=True,
        version="1",
        source="invented for the demo",
        gel_rows=sheet.gel_rows,
        value_sources=sheet.value_sources,
        **told,  # type: ignore[arg-type]  # figures by field name, each of its own type
    )
    assert sheet == expected


def test_they_say_that_they_are_made_up(text: str, sheet: Sheet) -> None:
    """In the name, in the mark, in the file's first line, and beside every value."""
    assert sheet.demo
    assert "DEMO" in sheet.name
    assert text.startswith("# Invented for the demo.")
    assert set(sheet.value_sources.values()) == {"invented for the demo"}
    rows = [row for section in describe(sheet) for row in section.rows]
    figures = [row for row in rows if "." in row.key and row.said != BLANK]
    assert figures
    assert all(row.origin == "invented for the demo" for row in figures)


def test_gel_rows_are_a_grid(stem: str, sheet: Sheet) -> None:
    """Three temperatures by two doses (epoxy: one) by its cups, the told cup among them."""
    doses, temperatures, cups = _axes(sheet)
    assert (temperatures, doses) == (3, 1 if sheet.kind == "epoxy" else 2)
    assert len(sheet.gel_rows) == temperatures * doses * cups
    assert cups == (2 if stem in ("demo-epoxy", "demo-laminating") else 1)
    assert CUP_AT_20_C[stem] in sheet.gel_rows


def _axes(sheet: Sheet) -> tuple[int, int, int]:
    """How many doses, temperatures and cups the rows have."""
    rows = sheet.gel_rows
    return (
        len({row.catalyst_pct for row in rows}),
        len({row.temperature_c for row in rows}),
        len({row.cup_g for row in rows}),
    )


def test_hotter_more_and_bigger_is_quicker(sheet: Sheet) -> None:
    """Of two cups, one that is in no way milder and in some way hotter gels sooner."""
    compared = 0
    for mild, hot in itertools.permutations(sheet.gel_rows, 2):
        mild_by = (mild.temperature_c, mild.catalyst_pct or 0.0, mild.cup_g or 0.0)
        hot_by = (hot.temperature_c, hot.catalyst_pct or 0.0, hot.cup_g or 0.0)
        if all(m <= h for m, h in zip(mild_by, hot_by, strict=True)):
            assert hot.minutes < mild.minutes
            compared += 1
    # On a grid each axis of n values has n (n + 1) / 2 pairs in order, a value with itself too.
    in_order = math.prod(n * (n + 1) // 2 for n in _axes(sheet))
    assert compared == in_order - len(sheet.gel_rows)
