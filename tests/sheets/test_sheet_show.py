"""A sheet described: units, origins, blanks and cautions."""

import pytest

from monitor.records import Sheet, Stage
from monitor.sheets.read import parse_sheet
from monitor.sheets.show import BLANK, Row, cautions, describe

TIN = """
name = "tin"
kind = "polyester"
[working]
temperature_c = [15, 30]
dew_spread_min_c = 3
[count]
base_c = 5
[stages]
recoat = [10, 360]
sand = 240
[from]
"stages" = "printed sheet, page 2"
"stages.sand" = "own cups"
"""


def rows_of(sheet: Sheet, unit: str) -> dict[str, Row]:
    assert unit in ("c", "f")
    sections = describe(sheet, "f" if unit == "f" else "c")
    return {row.key: row for section in sections for row in section.rows}


def test_values_carry_their_units() -> None:
    """°C for one shop, °F for the other; no 32 in a difference or a count."""
    sheet = parse_sheet(TIN, "tin.toml")
    in_c, in_f = rows_of(sheet, "c"), rows_of(sheet, "f")
    assert in_c["working.temperature_c"].said == "15 to 30 °C"
    assert in_f["working.temperature_c"].said == "59 to 86 °F"
    assert in_f["working.dew_spread_min_c"].said == "5.4 °F"
    assert in_c["stages.sand"].said == "240 °C-hours"
    assert in_f["stages.sand"].said == "432 °F-hours"
    assert in_c["stages.recoat"].said == "from 10 to 360 °C-hours"


def test_equivalent_hours_are_said_as_such() -> None:
    """An Arrhenius sheet counts hours in both units."""
    sheet = Sheet(name="x", kind="epoxy", method="arrhenius", needs={Stage.SAND: (24.0,)})
    assert rows_of(sheet, "f")["stages.sand"].said == "24 equivalent hours"
    assert "count.base_c" not in rows_of(sheet, "c")


def test_where_each_value_came_from() -> None:
    """A value's own origin goes before that of its table."""
    rows = rows_of(parse_sheet(TIN, "tin.toml"), "c")
    assert rows["stages.sand"].origin == "own cups"
    assert rows["stages.recoat"].origin == "printed sheet, page 2"
    assert rows["count.base_c"].origin == ""


def test_blanks_are_said() -> None:
    """What the sheet leaves out is said, and never filled in; what can't apply isn't shown."""
    rows = rows_of(parse_sheet(TIN, "tin.toml"), "c")
    assert rows["count.floor_c"].said == BLANK == "your sheet doesn't say"
    assert rows["gel"].said == BLANK
    assert rows["stages.load"] == Row("stages.load", "load", BLANK, "")
    assert "mix.ratio_by_weight" not in rows


def test_the_sheets_own_unit_is_the_default() -> None:
    """A sheet printed in °F is shown in °F unless asked otherwise."""
    sheet = parse_sheet('name = "x"\nkind = "epoxy"\nunit = "f"\n[count]\nbase_c = 41\n', "x")
    (base,) = [row for s in describe(sheet) for row in s.rows if row.key == "count.base_c"]
    assert base.said == "41 °F"


@pytest.mark.parametrize("kind", ["polyester", "vinyl-ester"])
def test_cautions_of_a_catalysed_resin(kind: str) -> None:
    """Eyes, promoter, hot cup and styrene (common practice), and the maker's sheet first."""
    said = " ".join(cautions(parse_sheet(f'name = "x"\nkind = "{kind}"\n', "x")))
    for word in ("eye", "promoter", "Styrene", "cup", "maker's own sheet", "licensed practice"):
        assert word in said
    assert "hardener" not in said


def test_cautions_of_an_epoxy() -> None:
    """Skin, ratio and hot cup; never the other resin's word."""
    said = " ".join(cautions(Sheet(name="x", kind="epoxy")))
    for word in ("skin", "hardener", "cup", "maker's own sheet"):
        assert word in said
    assert "catalyst" not in said.lower()


def test_a_demo_sheet_says_so_first() -> None:
    """The first caution of a made-up sheet is that it is made up."""
    assert "made up" in cautions(Sheet(name="x", kind="epoxy", demo=True))[0]
    assert describe(Sheet(name="x", kind="epoxy"))[-1].heading == "Take care"
