"""What is wrong with a sheet: all of it at once, each with its key, its value and a remedy."""

from pathlib import Path

import pytest

from monitor.errors import BadInput, SheetError
from monitor.sheets.checks import CHECKS, OTHER_UNIT
from monitor.sheets.keys import BY_NAME
from monitor.sheets.read import load_sheet, parse_sheet

POLYESTER = 'name = "tin"\nkind = "polyester"\n'
EPOXY = 'name = "cans"\nkind = "epoxy"\n'

PYDANTIC_WORDS = ("input should", "valid ", "extra inputs", "permitted", "type=", "pydantic")


def problems(text: str) -> tuple[str, ...]:
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "rudder.toml")
    return caught.value.problems


def test_three_errors_are_reported_at_once() -> None:
    """A wrong type, a negative count and an aim outside its range come back together."""
    text = (
        POLYESTER
        + '[working]\nhumidity_max_pct = "eighty"\n'
        + "[mix]\ncatalyst_pct = [1.0, 2.0]\naim_pct = 3\n"
        + "[stages]\nsand = -5\n"
    )
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "rudder.toml")
    error = caught.value
    assert set(error.problems) == {
        'working.humidity_max_pct: "eighty": write one number without quotes, '
        "such as humidity_max_pct = 80",
        "mix.aim_pct: 3: aim inside the sheet's own range, 1 to 2",
        "stages.sand: -5: write a figure above 0 and up to 1000000",
    }
    what, remedy = error.lines()
    assert what == "rudder.toml can't be used: 3 things to put right."
    assert all(problem in remedy for problem in error.problems)
    assert "\n" not in what + remedy
    assert error.exit_code == 2


ONE_PROBLEM = [
    (POLYESTER + "[stages]\nsand = true\n", "stages.sand: true: write one number"),
    (POLYESTER + "[stages]\nsand = [1, 2]\n", "stages.sand: [1, 2]: write one number"),
    (POLYESTER + "[stages]\nsand = nan\n", "stages.sand: nan: write one number"),
    (POLYESTER + "[stages]\nrecoat = 10\n", "stages.recoat: 10: write two numbers"),
    (POLYESTER + "[stages]\nrecoat = [1, 2, 3]\n", "stages.recoat: [1, 2, 3]: write two numbers"),
    (POLYESTER + '[stages]\nrecoat = [1, "b"]\n', 'stages.recoat: [1, "b"]: write two numbers'),
    (POLYESTER + "[stages]\nknife_trim = [40, 18]\n", "it shuts before it opens"),
    (POLYESTER + "[stages]\nrecoat = [40, 40]\n", "it shuts before it opens"),
    (POLYESTER + "[stages]\nrecoat_max_hours = 0\n", "above 0"),
    (POLYESTER + "[stages]\ngel = 250\nsand = 240\n", "stages.sand: 240: it can't need less"),
    (POLYESTER + "[stages]\nfull = 200\nsand = 240\n", "less than stages.sand, which is 240"),
    (POLYESTER + "[stages]\nload = 10\nprops_off = 20\n", "less than stages.props_off"),
    (POLYESTER + "[stages]\ngel = 50\nknife_trim = [18, 40]\n", "it shuts before stages.gel"),
    (POLYESTER + '[stages]\nsand = 2\n[count]\nmethod = "linear"\n', "count.base_c: missing"),
    (POLYESTER + '[count]\nmethod = "guess"\n', 'write "linear" or "arrhenius"'),
    (
        POLYESTER + "[count]\nfloor_c = 40\ncap_c = 40\n",
        "count.floor_c: 40: write it below the cap",
    ),
    (POLYESTER + "[count]\nbase_c = 20\ncap_c = 18\n", "count.base_c: 20: write it below the cap"),
    (POLYESTER + "[working]\ntemperature_c = [30, 15]\n", "write the lower figure first"),
    (POLYESTER + "[working]\ntemperature_c = [59, 86]\n", "looks like °F"),
    ('unit = "f"\n' + POLYESTER + "[working]\ntemperature_c = [15, 30]\n", "looks like °C"),
    (POLYESTER + "[count]\nbase_c = 41\n", "count.base_c: 41: that looks like °F"),
    (POLYESTER + "[working]\nhumidity_max_pct = 180\n", "up to 100"),
    (POLYESTER + "[working]\ntemperature = [15, 30]\n", "did you mean working.temperature_c?"),
    (POLYESTER + "[working]\ntemperature_f = [59, 86]\n", 'keeps that name with unit = "f" too'),
    (POLYESTER + "[mix]\ncatalyst_pct = [1.0, 12]\n", "write two figures from 0 to 10"),
    (POLYESTER + "[mix]\ncatalyst_pct = [1.5, 1.5]\n", "for a single dose give aim_pct alone"),
    (POLYESTER + "[mix]\nratio_by_weight = [100, 40]\n", "polyester has a catalyst"),
    (EPOXY + "[mix]\ncatalyst_pct = [1, 2]\n", "epoxy has a hardener"),
    (EPOXY + "[[gel]]\ntemperature_c = 20\nminutes = 9\ncatalyst_pct = 1\n", "gel[1].catalyst_pct"),
    (EPOXY + "[mix]\nratio_by_weight = [100, 0]\n", "above 0"),
    (EPOXY + "[[gel]]\ntemperature_c = 20\nminutes = 0\n", "gel[1].minutes: 0: write a figure abo"),
    (EPOXY + "[[gel]]\nminutes = 9\n", "gel[1].temperature_c: missing"),
    (EPOXY + "[gel]\nminutes = 9\n", "with two brackets"),
    (EPOXY + "gel = [1]\n", "gel[1]: 1: start each cup with [[gel]]"),
    (EPOXY + "mix = 3\n", "mix: 3: write [mix] on a line of its own"),
    (EPOXY + "base_c = 5\n", "did you mean count.base_c?"),
    (EPOXY + "colour = 5\n", "colour: 5: take this line out: a sheet has no such key"),
    (EPOXY + '[from]\n"stages.sand" = "page 2"\n', "the sheet gives no stages.sand"),
    (EPOXY + '[from]\n"stages.sandd" = "page 2"\n', "did you mean stages.sand?"),
    (EPOXY + '[from]\n"kind" = 2\n', "say where it came from in quotes"),
    (EPOXY + '[from]\n"mix" = "page 2"\n', "the sheet gives no mix"),
    ('name = "x"\nkind = "polyster"\n', "did you mean polyester?"),
    ('name = "  "\nkind = "epoxy"\n', "give the resin a name"),
    ('kind = "epoxy"\n', "name: missing"),
    ('name = "x"\n', "kind: missing"),
    (EPOXY + 'demo = "yes"\n', "write true or false"),
    (EPOXY + "source = 3\n", "write words in quotes"),
]


@pytest.mark.parametrize(("text", "words"), ONE_PROBLEM, ids=[w for _, w in ONE_PROBLEM])
def test_each_problem_in_plain_words(text: str, words: str) -> None:
    """One thing wrong gives one problem: key, value, remedy, in our own words."""
    (problem,) = problems(text)
    assert words in problem
    assert problem.count(": ") >= 2
    assert not any(word in problem.lower() for word in PYDANTIC_WORDS)


def test_arrhenius_needs_its_two_figures() -> None:
    """Counting by activation energy can't do without the energy and the reference."""
    found = problems(POLYESTER + '[count]\nmethod = "arrhenius"\n')
    assert [line.split(":")[0] for line in found] == [
        "count.activation_kj_per_mol",
        "count.reference_c",
    ]


def test_a_wrong_value_is_not_also_called_missing() -> None:
    """A base of the wrong type is one problem, not two."""
    text = POLYESTER + '[count]\nmethod = "linear"\nbase_c = "5"\n[stages]\nsand = 240\n'
    (problem,) = problems(text)
    assert problem.startswith('count.base_c: "5"')


def test_a_floor_below_the_base_is_fine() -> None:
    """It never bites, and harms nothing."""
    sheet = parse_sheet(POLYESTER + "[count]\nbase_c = 5\nfloor_c = 2\ncap_c = 40\n", "tin.toml")
    assert sheet.floor_c == 2.0


def test_an_unquoted_origin_means_the_same() -> None:
    """TOML reads stages.sand without quotes as a table; people mean the key."""
    text = POLYESTER + '[stages]\nsand = 240\n[from]\nstages.sand = "page 2"\n'
    assert parse_sheet(text, "tin.toml").value_sources == {"stages.sand": "page 2"}


def test_a_bare_version_is_taken_as_words() -> None:
    """A version typed as a number or a date is no reason to refuse a sheet."""
    assert parse_sheet(EPOXY + "version = 2026-03-01\n", "x.toml").version == "2026-03-01"
    assert parse_sheet(EPOXY + "version = 3\n", "x.toml").version == "3"


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ('name = "x"\nkind = \n', "line 2"),
        ('name = "x"\nsand = [1,\n', "the end of the file"),
        ("a = " + "[" * 5000, "far too deep"),
        (".".join("a" * 3000) + " = 1", "far too deep"),
        ("[" + ".".join("b" * 3000) + "]", "far too deep"),
        ("a = " + "9" * 5000, "thousands of digits"),
    ],
)
def test_what_is_not_toml_says_where(text: str, place: str) -> None:
    """A broken file is two lines with the place in it."""
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "rudder.toml")
    assert place in caught.value.what
    assert "TOML" in caught.value.remedy
    assert len(caught.value.problems) == 1


def test_control_signs_never_reach_the_terminal() -> None:
    """A key or a value with escape signs in it is shown without them."""
    (problem,) = problems(EPOXY + '"\\u001b[31mred" = "\\u001b[2J"\n')
    assert "\x1b" not in problem


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    """A missing file, a folder and a file of other bytes are each two lines, never a traceback."""
    wrong = tmp_path / "latin.toml"
    wrong.write_bytes(b'name = "r\xe9sine"\n')
    for path, words in (
        (tmp_path / "none.toml", "no sheet at"),
        (tmp_path, "can't be read"),
        (wrong, "not UTF-8"),
        (Path("a\0b"), "can't be read"),
    ):
        with pytest.raises(BadInput, match=words):
            load_sheet(path)
    wrong.write_text(EPOXY, encoding="utf-8")
    assert load_sheet(wrong).name == "cans"


def test_the_looks_of_the_other_unit_are_about_temperatures() -> None:
    """The table of what looks like the other unit names temperatures that exist."""
    assert all(BY_NAME[key].quantity == "temperature" for key in OTHER_UNIT)


def test_every_check_is_listed() -> None:
    """Each public check of the module stands in CHECKS once."""
    import monitor.sheets.checks as module

    public = {
        name
        for name, thing in vars(module).items()
        if callable(thing) and getattr(thing, "__module__", "") == module.__name__
        if not name.startswith("_")
    }
    assert public == {check.__name__ for check in CHECKS}
    assert len(set(CHECKS)) == len(CHECKS)
