"""What a person installs: the wheel holds everything the program opens, and the command runs."""

import os
import subprocess
import sys
import sysconfig
import venv
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Installed:
    """An environment that holds our wheel, and a folder far from the checkout to run it in."""

    scripts: Path
    site: Path
    elsewhere: Path

    def run(self, *words: str) -> str:
        done = subprocess.run(
            words, cwd=self.elsewhere, env=clean(), capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
        return done.stdout.strip()

    def say(self, code: str) -> str:
        return self.run(str(self.scripts / "python"), "-c", code)


def clean() -> dict[str, str]:
    """The environment without what would lead Python back to the checkout."""
    return {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "VIRTUAL_ENV"))}


def checked(*words: str | Path) -> None:
    done = subprocess.run(words, cwd=ROOT, env=clean(), capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("wheel")
    build = (sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir")
    checked(*build, out, ROOT)
    (built,) = out.glob("layupwatch-*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Installed:
    """Our wheel in a fresh environment; what it depends on is lent by the one that runs the tests.

    The lent folder comes by a .pth line, so an editable install in it stays without effect.
    """
    home = tmp_path_factory.mktemp("home")
    venv.create(home, system_site_packages=False, with_pip=False)
    places = {"base": str(home), "platbase": str(home)}
    site = Path(sysconfig.get_path("purelib", "venv", places))
    scripts = Path(sysconfig.get_path("scripts", "venv", places))
    pip = (sys.executable, "-m", "pip", "--python", scripts / "python", "install", "--quiet")
    checked(*pip, "--no-deps", "--no-index", "--disable-pip-version-check", wheel)
    (site / "lent.pth").write_text(sysconfig.get_path("purelib") + "\n", "utf-8")
    return Installed(scripts, site, tmp_path_factory.mktemp("elsewhere"))


@pytest.mark.parametrize("package", ["monitor", "dashboards"])
def test_the_wheel_is_what_runs(installed: Installed, package: str) -> None:
    """The packages come from the wheel, not from the checkout."""
    found = installed.say(f"import {package}; print({package}.__file__)")
    assert Path(found) == installed.site / package / "__init__.py"


def test_the_checkout_is_out_of_reach(installed: Installed) -> None:
    """No folder that Python looks into is the checkout or lies in its packages."""
    path = installed.say("import sys; print(*sys.path, sep='\\n')").splitlines()
    looked_into = {Path(folder).resolve() for folder in path if folder}
    assert not looked_into & {ROOT, ROOT / "monitor", ROOT / "dashboards", ROOT / "tests"}


COUNTED = (
    "from importlib.resources import files; "
    "found = [f for f in {folder}.iterdir() if f.name.endswith({ending!r})]; "
    "print(sum(1 for f in found if f.is_file() and f.read_bytes()))"
)


@pytest.mark.parametrize(
    ("folder", "ending"),
    [
        ("(files('dashboards') / 'templates')", ".html"),
        ("(files('dashboards') / 'static')", ""),
        ("(files('monitor.sheets') / 'demo')", ".toml"),
        ("(files('monitor.store.migrations') / 'versions')", ".py"),
    ],
)
def test_what_the_program_opens_is_there(installed: Installed, folder: str, ending: str) -> None:
    """Templates, static files, demo sheets and migrations open through importlib.resources."""
    assert int(installed.say(COUNTED.format(folder=folder, ending=ending))) >= 1


def test_each_demo_sheet_can_be_read(installed: Installed) -> None:
    """A sheet from the wheel is whole: it parses, and says that it is a demo."""
    said = installed.say(
        "import tomllib; from importlib.resources import files; "
        "sheets = [f for f in (files('monitor.sheets') / 'demo').iterdir() "
        "if f.name.endswith('.toml')]; "
        "print([tomllib.loads(f.read_text('utf-8'))['demo'] for f in sheets])"
    )
    assert "True" in said
    assert "False" not in said


def test_a_database_can_be_made(installed: Installed) -> None:
    """The migrations that came with the wheel make a shop's tables."""
    said = installed.say(
        "from pathlib import Path; from monitor.store import Store\n"
        "with Store.open(Path('shop.db')) as store: print(store.book.add_sensor('a', 'none').name)"
    )
    assert said == "a"


def test_the_command_runs(installed: Installed) -> None:
    """`layupwatch --help` says how it is used, from any folder."""
    said = installed.run(str(installed.scripts / "layupwatch"), "--help")
    assert said.startswith("Usage: layupwatch")
