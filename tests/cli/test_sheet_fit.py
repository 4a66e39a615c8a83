"""Trial cups fitted from the terminal: doses kept apart, refusals, words and JSON."""

import tomllib
from pathlib import Path

import pytest

from tests.cli.conftest import Layupwatch

# K = 0.0025 a minute for each °C over 5 °C, to the second decimal of a minute: made up.
LAW = {12: 57.14, 17: 33.33, 23: 22.22, 30: 16.0}


def cups(pct: str = "1.5") -> list[str]:
    return [word for t, m in LAW.items() for word in ("--cup", f"{t},{pct},{m}")]


def sheet_file(tmp_path: Path, name: str, text: str) -> Path:
    folder = tmp_path / "shop" / "sheets"
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_own_cups_give_the_base(layupwatch: Layupwatch) -> None:
    """The made-up law comes back, with its origin and how sure it is."""
    said = layupwatch("sheet", "fit", "demo-laminating", *cups(), "--json")
    assert said.code == 0, said.err
    found = said.json
    assert found["base_c"] == pytest.approx(5.0, abs=0.01)
    assert found["base_standard_error_c"] < 0.01
    assert (found["cups_from"], found["mix_pct"], found["temperatures"]) == ("own cups", 1.5, 4)
    assert all(abs(cup["base_off_pct"]) < 0.05 for cup in found["cups"])
    assert found["toml"]["base"] == [
        "[count]",
        "base_c = 5.0",
        "[from]",
        '"count.base_c" = "own cups"',
    ]
    assert "maker's sheet stands above" in found["stands_above"]


def test_without_cups_the_sheets_own_rows_are_used(layupwatch: Layupwatch) -> None:
    """At the sheet's aim of 1.5 %, one size of cup; the others are left out and named."""
    said = layupwatch("sheet", "fit", "demo-laminating")
    assert said.code == 0, said.err
    assert "the sheet's own gel rows: 3 at 3 temperatures, 1.5 % catalyst, 100 g." in said.out
    assert said.out.count("another dose") == 6
    assert said.out.count("another size of cup") == 3
    assert "Three cups: no measure of how sure." in said.out
    assert "This is a demo sheet: its figures are made up." in said.out
    assert "Your sheet already gives a base of 5.0 °C: leave it as it is." in said.out
    found = layupwatch("sheet", "fit", "demo-laminating", "--json").json
    assert found["base_standard_error_c"] is None
    assert sorted(cup["why"] for cup in found["left_out"]) == [
        *["another-dose"] * 6,
        *["another-size"] * 3,
    ]
    assert found["toml"]["base"][-1] == '"count.base_c" = "fitted to this sheet\'s gel rows"'


def test_the_other_dose_when_asked(layupwatch: Layupwatch) -> None:
    """--mix-pct chooses, and what isn't there is said."""
    found = layupwatch("sheet", "fit", "demo-laminating", "--mix-pct", 2, "--json").json
    assert [cup["minutes"] for cup in found["cups"]] == [28, 19, 10]
    what, remedy = layupwatch("sheet", "fit", "demo-laminating", "--mix-pct", 1).two_lines
    assert what == "There is no cup at 1 %."
    assert remedy == (
        "There are: of 100 g at 1.5 %, of 100 g at 2 %, of 200 g at 1.5 %, of 200 g at 2 %."
    )


def test_epoxy_goes_by_the_size_of_the_cup(layupwatch: Layupwatch) -> None:
    """One size on a line; a dose of catalyst makes no sense for it."""
    found = layupwatch("sheet", "fit", "demo-epoxy", "--json").json
    assert (found["cup_g"], found["mix_pct"]) == (100, None)
    assert {cup["why"] for cup in found["left_out"]} == {"another-size"}
    assert found["plausibility"] is None
    big = layupwatch("sheet", "fit", "demo-epoxy", "--cup-g", 200, "--json").json
    assert [cup["minutes"] for cup in big["cups"]] == [60, 32, 15]
    for wrong in (("--mix-pct", 2), ("--cup", "20,1.5,40")):
        said = layupwatch("sheet", "fit", "demo-epoxy", *wrong)
        assert said.code == 2
        assert "epoxy" in said.two_lines[0]


def test_plain_words_on_screen_and_the_standards_in_help(layupwatch: Layupwatch) -> None:
    """Base and warmth to read; C1074's own words for who looks them up."""
    said = layupwatch("sheet", "fit", "demo-laminating", *cups())
    assert "Base 5.0 °C. Give or take 0.0 °C (one standard error, 4 cups)." in said.out
    assert "Nothing was written." in said.out
    words = ("datum temperature", "equivalent age", "apparent activation energy")
    assert not any(word in said.out for word in words)
    helped = " ".join(layupwatch("sheet", "fit", "--help").out.split())
    assert all(word in helped for word in words)


def test_cautions_are_said(layupwatch: Layupwatch) -> None:
    """A cup that can't be held is kept clear of; goggles with peroxide; gloves with hardener."""
    polyester = layupwatch("sheet", "fit", "demo-laminating").out
    assert "only while it can still be held; otherwise keep clear" in polyester
    assert "Goggles: catalyst is a peroxide" in polyester
    assert "hardener burns the eyes" in layupwatch("sheet", "fit", "demo-epoxy").out


def test_an_energy_outside_what_is_published_is_said(layupwatch: Layupwatch) -> None:
    """40 to 60 kJ/mol for a redox-cured polyester: words, never a refusal.

    J. Appl. Polym. Sci. 102 (2006) 1870-1876, abstract.
    """
    steep = [w for c in ("15,1.5,60", "20,1.5,30", "25,1.5,16") for w in ("--cup", c)]
    said = layupwatch("sheet", "fit", "demo-laminating", *steep)
    assert said.code == 0, said.err
    assert "40 to 60. Yours lies outside" in said.out
    assert "Yours lies inside" in layupwatch("sheet", "fit", "demo-laminating").out


def test_the_sheet_is_never_written(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """What is printed, added by hand, makes a sheet that can be used; the file stays as it was."""
    text = 'name = "Green tin"\nkind = "polyester"\nunit = "f"\n'
    path = sheet_file(tmp_path, "green-tin", text)
    warm = [w for t, m in LAW.items() for w in ("--cup", f"{t * 1.8 + 32:g},1.5,{m}")]
    found = layupwatch("sheet", "fit", "green-tin", *warm, "--json").json
    assert found["base_c"] == pytest.approx(5.0, abs=0.01)
    assert path.read_text(encoding="utf-8") == text
    lines = "\n".join(found["toml"]["base"])
    assert tomllib.loads(lines)["count"]["base_c"] == 41.0
    path.write_text(f"{text}{lines}\n", encoding="utf-8")
    assert layupwatch("sheet", "check", "green-tin").code == 0
    shown = layupwatch("sheet", "show", "green-tin", "--unit", "c").out
    assert "base: 5 °C  [own cups]" in shown
    path.write_text(text + "\n".join(found["toml"]["warmth"]) + "\n", encoding="utf-8")
    assert layupwatch("sheet", "check", "green-tin").code == 0


def test_cups_from_a_file(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """A file in °F, with a column of notes and an empty line, and one cup typed beside it."""
    rows = [f"{t * 1.8 + 32:g},1.5,{m},shed" for t, m in LAW.items()]
    file = tmp_path / "cups.csv"
    text = "\n".join(["temperature_f,catalyst_pct,minutes,note", *rows[:2], "", *rows[2:]])
    file.write_text("\ufeff" + text + "\n", encoding="utf-8")
    found = layupwatch(
        "sheet", "fit", "demo-laminating", "--cups", file, "--cup", "15,1.5,40", "--json"
    ).json
    assert len(found["cups"]) == 5
    again = layupwatch("sheet", "fit", "demo-laminating", "--cups", file, "--json").json
    assert again["base_c"] == pytest.approx(5.0, abs=0.01)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("temperature_c,minutes\n", "holds no cups"),
        ('temperature_c,minutes\n20,"' + "9" * 200_000, "is no file of cups"),
        ("", "has no column temperature_c"),
        ("temperature_c,catalyst_pct\n20,1.5\n", "has no column minutes"),
        ("temperature_c,minutes\n20,25\n30\n", "line 3: 1 values under 2 headings"),
        ("temperature_c,minutes\n20,soon\n", "line 2 'soon' is not a number"),
        ("temperature_c,minutes\n20,\n", "degrees or the minutes are missing"),
        ("temperature_c,minutes\n20,-\n", "degrees or the minutes are missing"),
        ("temperature_f,minutes\n20,25\n", "looks like °C"),
    ],
)
def test_a_file_that_cant_be_read(
    layupwatch: Layupwatch, tmp_path: Path, text: str, says: str
) -> None:
    """The line and what is wrong with it, in two lines, with exit code 2."""
    file = tmp_path / "cups.csv"
    file.write_text(text, encoding="utf-8")
    said = layupwatch("sheet", "fit", "demo-laminating", "--cups", file)
    assert said.code == 2
    assert says in said.two_lines[0]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("20,1.5", "is not a cup"),
        ("20,1.5,25,100,7", "is not a cup"),
        ("68,1.5,25", "68 °C looks like °F"),
        ("20,1.5,0", "can't be the minutes to gel"),
        ("20,15,25", "can't be the catalyst in the cup"),
        ("nan,1.5,25", "'nan' is not a number"),
        ("20,1.5,-", "degrees or the minutes are missing"),
    ],
)
def test_a_cup_that_cant_be_used(layupwatch: Layupwatch, typed: str, says: str) -> None:
    """Told in two lines before anything is fitted."""
    said = layupwatch("sheet", "fit", "demo-laminating", *cups(), "--cup", typed)
    assert said.code == 2
    assert says in said.two_lines[0]


def test_a_file_that_isnt_there(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """A wrong name is bad input."""
    said = layupwatch("sheet", "fit", "demo-laminating", "--cups", tmp_path / "none.csv")
    assert said.code == 2
    assert "There is no file" in said.two_lines[0]


def test_too_few_temperatures(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """Two temperatures at one dose are refused, and the cup at another dose doesn't help."""
    two = ("--cup", "15,1.5,36", "--cup", "20,1.5,25")
    said = layupwatch("sheet", "fit", "demo-laminating", *two)
    assert said.code == 2
    assert "2 cups at 2 temperatures: too few" in said.two_lines[0]
    said = layupwatch("sheet", "fit", "demo-laminating", *two, "--cup", "30,2,10")
    assert said.code == 2
    assert "1.5 % catalyst" in said.two_lines[0]
    assert "not mixed in" in said.two_lines[0]
    sheet_file(tmp_path, "bare", 'name = "Bare"\nkind = "polyester"\n')
    said = layupwatch("sheet", "fit", "bare")
    assert said.code == 2
    assert "gives no cups" in said.two_lines[0]


def test_colder_was_not_slower(layupwatch: Layupwatch) -> None:
    """Cups that contradict warmth are to be timed again."""
    odd = [w for c in ("15,1.5,20", "20,1.5,25", "25,1.5,30") for w in ("--cup", c)]
    said = layupwatch("sheet", "fit", "demo-laminating", *odd)
    assert said.code == 2
    what, remedy = said.two_lines
    assert "Colder was not slower" in what
    assert "Time the cups again" in remedy


def test_an_unknown_sheet(layupwatch: Layupwatch) -> None:
    """The sheets that there are, are named."""
    said = layupwatch("sheet", "fit", "no-such-tin", *cups())
    assert said.code == 2
    assert "no sheet called" in said.two_lines[0]
