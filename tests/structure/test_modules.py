"""Short modules with nouns for names; errors that say what to do; registries that are whole."""

import ast
import importlib
import inspect
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.structure.tree import ROOT, Module, modules

LONGEST = 400
NOT_A_NAME = {"util", "utils", "helper", "helpers", "common", "misc"}

# Each registry, and the folder whose parts it lists.
REGISTRIES = {
    "FORMATS": "monitor.sensing.formats",
    "DETECTORS": "monitor.sensing.honesty",
    "FIGURES": "dashboards.figures",
    "RULES": "monitor.alerts",
    "FINDINGS": "monitor.review",
}

# Modules that stand among a registry's parts without being one, each with its reason.
COMPANY: dict[str, str] = {}


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name)
def test_a_module_is_short(module: Module) -> None:
    """A module past the limit is two modules."""
    assert len(module.text.splitlines()) <= LONGEST


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name)
def test_a_module_is_called_what_it_is(module: Module) -> None:
    """A name says what lives there, not that something does."""
    assert not NOT_A_NAME & set(module.name.split("."))


def _base_names(node: ast.ClassDef) -> set[str]:
    return {
        base.attr if isinstance(base, ast.Attribute) else ast.unparse(base) for base in node.bases
    }


def error_classes() -> dict[str, int]:
    """Our errors by name, and how many arguments come before `what`."""
    classes = [
        node
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.ClassDef)
    ]
    found = {"MonitorError": 0}
    while new := [c for c in classes if c.name not in found and _base_names(c) & set(found)]:
        for node in new:
            parent = next(name for name in found if name in _base_names(node))
            found[node.name] = _before_what(node, found[parent])
    return found


def _before_what(node: ast.ClassDef, inherited: int) -> int:
    for member in node.body:
        if isinstance(member, ast.FunctionDef) and member.name == "__init__":
            return [arg.arg for arg in member.args.args].index("what") - 1
    return inherited


ERRORS = error_classes()


def _called(node: ast.expr) -> str:
    return node.attr if isinstance(node, ast.Attribute) else getattr(node, "id", "")


def _says_something(node: ast.expr) -> bool:
    """Whether an argument can be a sentence: not an empty literal, not None."""
    if isinstance(node, ast.Constant):
        return isinstance(node.value, str) and bool(node.value.strip())
    if isinstance(node, ast.JoinedStr):
        words = "".join(str(v.value) for v in node.values if isinstance(v, ast.Constant))
        return bool(words.strip())
    return True


def mute_errors(tree: ast.Module) -> Iterator[int]:
    """Lines that make one of our errors without both of its sentences."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Name) and node.exc.id in ERRORS:
            yield node.lineno
        if not isinstance(node, ast.Call) or _called(node.func) not in ERRORS:
            continue
        skip = ERRORS[_called(node.func)]
        if any(isinstance(arg, ast.Starred) for arg in node.args):
            yield node.lineno
            continue
        named = {word.arg: word.value for word in node.keywords}
        given = dict(zip(("what", "remedy"), node.args[skip : skip + 2], strict=False)) | named
        if not all(name in given and _says_something(given[name]) for name in ("what", "remedy")):
            yield node.lineno


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name)
def test_an_error_says_what_to_do(module: Module) -> None:
    """Every error of ours that is raised carries what is wrong and what to do."""
    assert list(mute_errors(module.tree)) == []


@pytest.mark.parametrize(
    "source",
    [
        "raise BadInput('Wrong.')",
        "raise BadInput('Wrong.', '')",
        "raise BadInput('Wrong.', remedy='  ')",
        "raise errors.StoreError('', 'Do this.')",
        "raise PortError",
        "raise DamagedLine('word', 'Wrong.')",
        "raise BadInput(f'{x}', 'Do this.')",
    ],
)
def test_a_mute_error_is_seen(source: str) -> None:
    """The check above finds an error that leaves the person alone."""
    assert list(mute_errors(ast.parse(source))) == [1]


def _assigns(module: Module, name: str) -> bool:
    return any(
        isinstance(target, ast.Name) and target.id == name
        for node in module.tree.body
        if isinstance(node, ast.Assign | ast.AnnAssign)
        for target in (node.targets if isinstance(node, ast.Assign) else [node.target])
    )


def _within(folder: str) -> list[Module]:
    return [m for m in modules() if m.name == folder or m.name.startswith(folder + ".")]


def _holders(registry: str) -> list[Module]:
    return [module for module in _within(REGISTRIES[registry]) if _assigns(module, registry)]


def _filled(folder: str) -> bool:
    """Whether anything but the package's own first line lives there yet."""
    return len(_within(folder)) > 1


STARTED = [name for name, folder in REGISTRIES.items() if _filled(folder)]


@pytest.mark.parametrize("registry", STARTED)
def test_a_folder_of_parts_has_its_registry(registry: str) -> None:
    """One tuple, in one place, lists the parts of each such folder."""
    holders = _holders(registry)
    assert len(holders) == 1, f"{registry} stands in {[module.name for module in holders]}"


@pytest.mark.parametrize("registry", STARTED)
def test_a_registry_lists_its_folder(registry: str) -> None:
    """Nothing that lives there is left out, nothing stands twice, and nothing is from elsewhere."""
    (holder,) = _holders(registry)
    entries = getattr(importlib.import_module(holder.name), registry)
    assert isinstance(entries, tuple)
    assert entries
    assert len({id(entry) for entry in entries}) == len(entries)
    if holder.is_package:
        parts = {part.name: _owned(part, entries) for part in _parts(holder)}
        assert [name for name, owned in parts.items() if not owned] == []
        assert {i for owned in parts.values() for i in owned} == set(range(len(entries)))
    else:
        assert {_function(entry) for entry in entries} == _alike(holder, entries[0])


def _parts(holder: Module) -> list[Module]:
    """The modules beside a registry; a package there holds what they share."""
    return [
        module
        for module in modules()
        if module.name.rpartition(".")[0] == holder.name
        and not module.is_package
        and not module.name.rpartition(".")[2].startswith("_")
        and module.name not in COMPANY
    ]


def _owned(part: Module, entries: tuple[object, ...]) -> set[int]:
    """Which entries a module is: by name, by a value it defines, or by a function inside one."""
    module = importlib.import_module(part.name)
    values = [value for name, value in vars(module).items() if _assigns_or_defines(part, name)]
    owned = {id(value) for value in values}
    return {
        index
        for index, entry in enumerate(entries)
        if id(entry) in owned
        or id(_function(entry)) in owned
        or entry == part.name.rpartition(".")[2]
    }


def _assigns_or_defines(module: Module, name: str) -> bool:
    defined = ast.FunctionDef | ast.ClassDef
    return _assigns(module, name) or any(
        isinstance(node, defined) and node.name == name for node in module.tree.body
    )


def _function(entry: object) -> object:
    """The function of an entry that isn't one itself: the first one among its fields."""
    if callable(entry):
        return entry
    fields = getattr(entry, "__dataclass_fields__", {})
    values = [getattr(entry, name) for name in fields]
    return next((value for value in values if callable(value)), entry)


def _alike(holder: Module, entry: object) -> set[object]:
    """The holder's public functions that take and give what an entry does."""
    module = importlib.import_module(holder.name)
    shape = inspect.signature(_function(entry))
    functions = [
        getattr(module, node.name)
        for node in holder.tree.body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    ]
    return {function for function in functions if inspect.signature(function) == shape}


def test_company_is_kept_true() -> None:
    """A module that is excused still exists and still has a reason."""
    assert set(COMPANY) <= {module.name for module in modules()}
    assert all(COMPANY.values())


def test_registries_name_folders() -> None:
    """The folders above are where they are said to be."""
    assert [f for f in REGISTRIES.values() if not Path(ROOT, *f.split(".")).is_dir()] == []
