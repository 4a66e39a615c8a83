"""The keys of a sheet: the list people script against, and that nothing of it was forgotten."""

import dataclasses

from monitor.records import Sheet, Stage
from monitor.sheets.keys import BY_NAME, GEL_KEYS, KEYS, STAGE_KEYS, TABLES
from monitor.sheets.model import GelCup, SheetFile
from monitor.sheets.questions import QUESTIONS
from monitor.sheets.read import parse_sheet

EVERY_KEY_TEXT = """
name kind role air_inhibited demo version unit over_epoxy source
working.temperature_c working.humidity_max_pct working.dew_spread_min_c
count.method count.base_c count.floor_c count.cap_c count.activation_kj_per_mol
count.reference_c count.doubling_c
mix.catalyst mix.catalyst_pct mix.aim_pct mix.catalyst_g_per_ml mix.ratio_by_weight
mix.tolerance_pct mix.wax_pct mix.filler_max_pct mix.pigment_max_pct
stages.gel stages.knife_trim stages.recoat stages.recoat_max_hours stages.sealed stages.flip
stages.sand stages.props_off stages.load stages.full
limits.depth_max_mm limits.part_max_c limits.wet_film_mm limits.wax_temperature_c
limits.rescue_max_c
"""
EVERY_KEY = EVERY_KEY_TEXT.split()

HOLDS_ALL = """
name = "all that a sheet may hold"
kind = "vinyl-ester"
role = "finishing"
air_inhibited = true
demo = false
version = "3"
unit = "c"
over_epoxy = false
source = "made up for this test"

[working]
temperature_c = [15, 30]
humidity_max_pct = 80
dew_spread_min_c = 3

[count]
method = "linear"
base_c = 5
floor_c = 4
cap_c = 40
activation_kj_per_mol = 60
reference_c = 20
doubling_c = 10

[mix]
catalyst = "the one sold with it"
catalyst_pct = [1.0, 2.0]
aim_pct = 1.5
catalyst_g_per_ml = 1.15
tolerance_pct = 5
wax_pct = 5
filler_max_pct = 120
pigment_max_pct = 10

[stages]
gel = 10
knife_trim = [18, 40]
recoat = [10, 360]
recoat_max_hours = 48
sealed = 60
flip = 75
sand = 240
props_off = 360
load = 576
full = 2520

[limits]
depth_max_mm = 12
part_max_c = 80
wet_film_mm = [0.4, 0.6]
wax_temperature_c = [18, 32]
rescue_max_c = 40

[[gel]]
temperature_c = 20
catalyst_pct = 1.5
minutes = 25
cup_g = 100

[from]
"stages.sand" = "printed sheet, page 2, 2026-03"
"stages.gel" = "own cups"
"mix" = "the maker's reply"
"gel" = "own cups"
"""

EPOXY = """
name = "two parts"
kind = "epoxy"
[mix]
ratio_by_weight = [100, 40]
tolerance_pct = 3
"""


def test_the_list_is_the_published_one() -> None:
    """The keys are exactly those that people's files already use."""
    assert [key.key for key in KEYS] == EVERY_KEY
    assert [key.key for key in GEL_KEYS] == [
        "gel.temperature_c",
        "gel.catalyst_pct",
        "gel.minutes",
        "gel.cup_g",
    ]


def test_model_and_list_agree() -> None:
    """No key is in the file's shape and missing from the list, or the other way round."""
    tops = set(SheetFile.model_fields) - {*TABLES, "origins"}
    tables = {
        f"{table}.{name}"
        for table in ("working", "count", "mix", "stages", "limits")
        for name in type(getattr(SheetFile(), table)).model_fields
    }
    cups = {f"gel.{name}" for name in GelCup.model_fields}
    assert tops | tables | cups == set(BY_NAME)


def test_every_key_reaches_the_record() -> None:
    """A sheet holding every key of its kind is accepted, and no field of the record stays bare."""
    sheet = parse_sheet(HOLDS_ALL, "all.toml")
    bare = {f.name for f in dataclasses.fields(Sheet) if getattr(sheet, f.name) is None}
    assert bare == {"ratio_by_weight"}
    assert set(sheet.needs) == set(Stage)
    assert parse_sheet(EPOXY, "epoxy.toml").ratio_by_weight == (100.0, 40.0)
    assert sheet.value_sources["stages.gel"] == "own cups"


def test_every_stage_has_a_key() -> None:
    """The stages of the sheet are the stages that verdicts are given for, in the same order."""
    assert [key.field for key in STAGE_KEYS] == [stage.value for stage in Stage]


def test_every_question_is_about_a_key() -> None:
    """The questions cover the plain sheet: every key but those set by hand or by fitting."""
    asked = {question.key for question in QUESTIONS}
    by_hand = {
        "demo",
        "count.method",
        "count.activation_kj_per_mol",
        "count.reference_c",
        "count.doubling_c",
    }
    assert asked == (set(EVERY_KEY) - by_hand) | {"gel"}


def test_a_name_and_a_kind_are_enough() -> None:
    """Every other key may be missing, and a missing figure stays missing."""
    sheet = parse_sheet('name = "bare"\nkind = "epoxy"\n', "bare.toml")
    assert sheet == Sheet(name="bare", kind="epoxy")
    assert sheet.base_c is None
    assert dict(sheet.needs) == {}


def test_any_one_key_may_be_left_out() -> None:
    """Taking any one line out of a full sheet leaves a sheet, but for the few it leans on."""
    leaned_on = {"name", "kind", "base_c", "temperature_c", "minutes"}
    lines = HOLDS_ALL.replace('method = "linear"\n', "").partition("[from]")[0].splitlines()
    dropped = 0
    for number, line in enumerate(lines):
        if "=" not in line or line.split(" =")[0] in leaned_on - {"base_c"}:
            continue
        rest = "\n".join(lines[:number] + lines[number + 1 :])
        assert parse_sheet(rest, "less.toml").name == "all that a sheet may hold"
        dropped += 1
    assert dropped > 35


def test_windows_line_ends_and_a_byte_order_mark_are_no_matter() -> None:
    """A file saved by a plain editor on any system reads the same."""
    text = "\ufeff" + HOLDS_ALL.replace("\n", "\r\n")
    assert parse_sheet(text, "all.toml") == parse_sheet(HOLDS_ALL, "all.toml")
