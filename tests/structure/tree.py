"""The project's own modules and their syntax, as the structure tests look at them."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGES = ("monitor", "dashboards")


@dataclass(frozen=True)
class Module:
    name: str
    path: Path
    text: str
    tree: ast.Module

    @property
    def is_package(self) -> bool:
        return self.path.name == "__init__.py"


@cache
def modules() -> tuple[Module, ...]:
    """Every module of the two packages, by name."""
    return tuple(sorted(_found(), key=lambda module: module.name))


def _found() -> Iterator[Module]:
    for package in PACKAGES:
        for path in (ROOT / package).rglob("*.py"):
            parts = path.relative_to(ROOT).with_suffix("").parts
            name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
            text = path.read_text("utf-8")
            yield Module(name, path, text, ast.parse(text, str(path)))


@cache
def names() -> frozenset[str]:
    return frozenset(module.name for module in modules())


def imports(module: Module) -> Iterator[tuple[int, str]]:
    """(line, module imported) for every import, wherever in the module it stands."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            source = _absolute(module, node)
            for alias in node.names:
                inner = f"{source}.{alias.name}"
                yield node.lineno, inner if inner in names() else source


def _absolute(module: Module, node: ast.ImportFrom) -> str:
    if node.level == 0:
        return node.module or ""
    package = module.name.split(".")
    kept = len(package) - node.level + (1 if module.is_package else 0)
    return ".".join([*package[:kept], *([node.module] if node.module else [])])
