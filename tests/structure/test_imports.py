"""Who may import whom, who may import what from outside, and who may read the clock."""

import ast
import re
import sys
from collections.abc import Iterator
from dataclasses import replace

import pytest

from tests.structure.tree import ROOT, Module, imports, modules, names

BASE = (
    "monitor.units",
    "monitor.errors",
    "monitor.cautions",
    "monitor.times",
    "monitor.records",
    "monitor.air",
)
NOTHING = "–"

# The same table stands in DEVELOPERS.md: a row a line, `base` for the six above.
MAY_IMPORT: dict[str, tuple[str, ...] | str] = {
    "monitor.units": NOTHING,
    "monitor.errors": NOTHING,
    "monitor.cautions": NOTHING,
    "monitor.times": ("monitor.errors",),
    "monitor.records": ("monitor.units", "monitor.errors"),
    "monitor.air": ("monitor.records",),
    "monitor.columns": ("monitor.records",),
    "monitor.cure": ("base",),
    "monitor.review": ("base", "monitor.cure"),
    "monitor.assess": ("base", "monitor.cure", "monitor.review"),
    "monitor.sheets": ("base",),
    "monitor.wires": ("base",),
    "monitor.sensing": ("base", "monitor.wires"),
    "monitor.store": ("base", "monitor.columns"),
    "monitor.trust": ("base", "monitor.wires", "monitor.sensing", "monitor.store"),
    "monitor.alerting": ("base",),
    "monitor.config": ("base", "monitor.wires", "monitor.alerting"),
    "monitor.upkeep": ("base", "monitor.config", "monitor.store"),
    "monitor.writer": ("base", "monitor.sensing", "monitor.store", "monitor.upkeep"),
    "monitor.csvfile": ("base",),
    "monitor.host": ("monitor.errors",),
    "monitor.notify": NOTHING,
    "monitor.loggers": ("base", "monitor.sensing"),
    "monitor.overview": (
        "base",
        "monitor.cure",
        "monitor.assess",
        "monitor.sheets",
        "monitor.store",
    ),
    "monitor.logbook": ("base", "monitor.cure", "monitor.sheets", "monitor.store"),
    "monitor.alerts": (
        "base",
        "monitor.alerting",
        "monitor.cure",
        "monitor.store",
        "monitor.overview",
    ),
    "monitor.answers": (
        "base",
        "monitor.columns",
        "monitor.cure",
        "monitor.review",
        "monitor.assess",
        "monitor.sheets",
        "monitor.store",
        "monitor.overview",
    ),
    "dashboards": (
        "base",
        "monitor.answers",
        "monitor.assess",
        "monitor.overview",
        "monitor.store",
        "monitor.sheets",
        "monitor.alerts",
        "monitor.config",
        "monitor.cure",
        "monitor.host",
        "monitor.logbook",
        "monitor.trust",
    ),
    "monitor.daemon": "all but `monitor.cli`, `dashboards`",
    "monitor.demo": "all but `monitor.cli`, `dashboards`",
    "monitor.cli": "everything",
}

PURE = (*BASE, "monitor.cure", "monitor.review", "monitor.assess", "dashboards.figures")
PURE_MAY_IMPORT = {
    "bisect",
    "collections",
    "dataclasses",
    "datetime",
    "enum",
    "functools",
    "itertools",
    "math",
    "re",
    "statistics",
    "typing",
    "zoneinfo",
    "numpy",
}
FIGURES_MAY_ALSO_IMPORT = {"html", "importlib"}
"""A chart's escaping, and loading the charts by name."""

WRITES_A_SAMPLE = "dashboards.figures.parts.sample"
"""Writes a page to disk when a chart's module is run by itself; nothing else may import it."""

CLOCK_READERS = ("monitor.cli", "monitor.demo")
CLOCKS = {
    "datetime": {"now", "utcnow", "today"},
    "date": {"today"},
    "Timestamp": {"now", "utcnow", "today"},
    "time": {
        *("time", "time_ns", "monotonic", "monotonic_ns", "perf_counter", "perf_counter_ns"),
        *("process_time", "localtime", "gmtime", "ctime", "strftime", "clock_gettime"),
    },
}


def inside(name: str, *rows: str) -> bool:
    return any(name == row or name.startswith(row + ".") for row in rows)


def row_of(name: str) -> str | None:
    found = [row for row in MAY_IMPORT if inside(name, row)]
    return max(found, key=len) if found else None


def allowed(row: str) -> frozenset[str]:
    given = MAY_IMPORT[row]
    if given == NOTHING:
        return frozenset({row})
    if given == "everything":
        return frozenset(MAY_IMPORT)
    if isinstance(given, str):
        return frozenset(MAY_IMPORT) - set(re.findall("`(.+?)`", given)) | {row}
    return frozenset(given) - {"base"} | set(BASE if "base" in given else ()) | {row}


def trespasses(module: Module) -> Iterator[str]:
    row = row_of(module.name)
    assert row is not None
    for line, target in imports(module):
        ours = target.split(".")[0] in ("monitor", "dashboards")
        if ours and row_of(target) not in allowed(row):
            yield f"{module.name}, line {line}: {row} may not import {target}"


# The two packages themselves only hold a line of text.
MODULES = [module for module in modules() if module.name != "monitor"]


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.name)
def test_each_module_has_a_row(module: Module) -> None:
    """A new module is put into the table before it is put into the tree."""
    assert row_of(module.name) is not None


def test_the_root_package_imports_nothing() -> None:
    """Importing one module of monitor costs that module and no other."""
    root = next(module for module in modules() if module.name == "monitor")
    assert list(imports(root)) == []


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.name)
def test_each_row_imports_only_what_it_may(module: Module) -> None:
    """No part of ours reaches past the table."""
    assert list(trespasses(module)) == []


def test_imported_modules_of_ours_exist() -> None:
    """An import of ours names a module that is there, so that the row it falls in is meant."""
    missing = [
        f"{module.name}, line {line}: {target}"
        for module in modules()
        for line, target in imports(module)
        if target.split(".")[0] in ("monitor", "dashboards") and target not in names()
    ]
    assert missing == []


@pytest.mark.parametrize(
    "module",
    [m for m in MODULES if inside(m.name, *PURE) and m.name != WRITES_A_SAMPLE],
    ids=lambda module: module.name,
)
def test_pure_rows_import_a_named_dozen(module: Module) -> None:
    """The pure parts can reach no disk, port, network or clock: they don't import them."""
    may = set(PURE_MAY_IMPORT)
    if inside(module.name, "dashboards.figures"):
        may |= FIGURES_MAY_ALSO_IMPORT
    roots = {target.split(".")[0] for _, target in imports(module)} - {"monitor", "dashboards"}
    assert roots <= may


def runs_only_by_itself(node: ast.stmt) -> bool:
    return isinstance(node, ast.If) and ast.unparse(node.test) == "__name__ == '__main__'"


def test_the_sample_page_stays_outside() -> None:
    """The one part of the charts that writes to disk is reached only by running a chart."""
    for module in modules():
        body = [node for node in module.tree.body if not runs_only_by_itself(node)]
        rest = replace(module, tree=ast.Module(body, []))
        assert WRITES_A_SAMPLE not in {target for _, target in imports(rest)}


def test_the_named_dozen_is_a_dozen() -> None:
    """The list stays a dozen of the standard library and numpy."""
    assert len(PURE_MAY_IMPORT - {"numpy"}) == 12
    assert set(sys.stdlib_module_names) >= PURE_MAY_IMPORT - {"numpy"}


def clock_reads(module: Module) -> Iterator[str]:
    called: dict[str, str] = {}
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            called |= {alias.asname or alias.name: alias.name for alias in node.names}
        if isinstance(node, ast.ImportFrom) and node.module == "time":
            taken = {alias.name for alias in node.names} & CLOCKS["time"]
            yield from (f"{module.name}, line {node.lineno}: time.{name}" for name in taken)
    for node in ast.walk(module.tree):
        if not isinstance(node, ast.Attribute):
            continue
        owner = node.value.attr if isinstance(node.value, ast.Attribute) else None
        if isinstance(node.value, ast.Name):
            owner = called.get(node.value.id)
        if node.attr in CLOCKS.get(owner or "", ()):
            yield f"{module.name}, line {node.lineno}: {owner}.{node.attr}"


@pytest.mark.parametrize(
    "module",
    [module for module in MODULES if not inside(module.name, *CLOCK_READERS)],
    ids=lambda module: module.name,
)
def test_time_is_an_argument(module: Module) -> None:
    """Only the daemon, the demo, the terminal and the web app read the clock."""
    assert list(clock_reads(module)) == []


@pytest.mark.parametrize(
    "source",
    [
        "from datetime import datetime\nx = datetime.now(None)",
        "import datetime as d\nx = d.datetime.now()",
        "import datetime\nx = datetime.date.today()",
        "import time\ndef f(clock=time.monotonic): ...",
        "import time as t\nx = t.time()",
        "from time import perf_counter",
        "import pandas as pd\nx = pd.Timestamp.now()",
    ],
)
def test_a_look_at_the_clock_is_seen(source: str) -> None:
    """The check above finds a clock however it is imported or handed on."""
    module = Module("monitor.example", ROOT / "example.py", source, ast.parse(source))
    assert list(clock_reads(module)) != []


def told(row: str) -> str:
    """What DEVELOPERS.md says in the second column of a row."""
    given = MAY_IMPORT[row]
    if isinstance(given, str):
        return given
    return ", ".join(name if name == "base" else f"`{name}`" for name in given)


def test_developers_md_holds_the_same_table() -> None:
    """The table under `## Import table` says what this test holds the code to."""
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    section = text.partition("## Import table")[2].partition("\n## ")[0]
    rows = [line.strip().strip("|").split("|") for line in section.splitlines() if "|" in line]
    cells = [[cell.strip() for cell in row] for row in rows]
    assert cells[:1] == [["module", "may import (of ours)", "what lives there"]]
    written = {name: may for left, may, _ in cells[2:] for name in re.findall("`(.+?)`", left)}
    assert written == {row: told(row) for row in MAY_IMPORT}
    assert all(what for _, _, what in cells[2:])
