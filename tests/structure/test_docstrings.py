"""The physics says what it takes, where it holds and where it comes from."""

import ast
import re
from collections.abc import Iterator

import pytest

from tests.structure.tree import modules

UNITS = re.compile(
    r"°C|°F|%|\bhPa\b|\bkJ\b|\bg\b|\bmm\b|\bweights?\b|\b(?:equivalent |degree-)?hours?\b"
    r"|\bminutes?\b|\b(?:Unix )?seconds?\b|\bcount\b",
    re.IGNORECASE,
)

Function = ast.FunctionDef | ast.AsyncFunctionDef


def functions() -> Iterator[tuple[str, Function]]:
    """Public functions, and public methods of public classes; a property reads like a field."""
    for module in modules():
        if module.name != "monitor.air" and not module.name.startswith("monitor.cure"):
            continue
        for node in module.tree.body:
            members = node.body if isinstance(node, ast.ClassDef) else [node]
            prefix = f"{node.name}." if isinstance(node, ast.ClassDef) else ""
            for member in members:
                if isinstance(member, Function) and not _private(prefix, member):
                    yield f"{module.name}.{prefix}{member.name}", member


def _private(prefix: str, member: Function) -> bool:
    reads_like_a_field = any(
        isinstance(mark, ast.Name) and mark.id == "property" for mark in member.decorator_list
    )
    # A property that states its own formula is held to the rule like any other.
    plain = reads_like_a_field and ast.get_docstring(member) is None
    return prefix.startswith("_") or member.name.startswith("_") or plain


FOUND = dict(functions())


@pytest.mark.parametrize("name", FOUND)
def test_docstring_says_what_it_takes(name: str) -> None:
    """A public docstring names its units, or at least what it is given."""
    text = ast.get_docstring(FOUND[name]) or ""
    arguments = FOUND[name].args
    taken = [arg.arg for arg in (*arguments.args, *arguments.kwonlyargs) if arg.arg != "self"]
    says = any(re.search(rf"\b{arg.removesuffix('s')}", text) for arg in taken)
    assert UNITS.search(text) or says


@pytest.mark.parametrize("name", FOUND)
def test_docstring_says_where_it_holds(name: str) -> None:
    """A public docstring states the range it is valid for."""
    assert "Valid" in (ast.get_docstring(FOUND[name]) or "")


@pytest.mark.parametrize("name", FOUND)
def test_docstring_names_its_source(name: str) -> None:
    """A public docstring says where its formula or rule comes from."""
    assert re.search(r"Source:\s+\S", ast.get_docstring(FOUND[name]) or "")


def test_there_is_something_to_read() -> None:
    """The walk above found the laws, the mixing and the air."""
    assert {"monitor.air.dew_point_c", "monitor.cure.law.Law.earned"} <= set(FOUND)
