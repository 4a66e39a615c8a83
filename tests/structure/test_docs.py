"""README and DEVELOPERS.md tell the truth, and no file tells where it was made."""

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from tests.structure.tree import ROOT

DOCUMENTS = ("README.md", "DEVELOPERS.md")
FENCE = re.compile(r"^```[^\n]*\n(.*?)^```", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\(\s*<?([^)\s>]+)")


def text_of(name: str) -> str:
    return (ROOT / name).read_text("utf-8")


def fenced_lines(text: str) -> list[str]:
    return [line.strip() for block in FENCE.findall(text) for line in block.splitlines()]


def code_lines(text: str) -> list[str]:
    """What stands in fences and between backticks."""
    return fenced_lines(text) + re.findall(r"`([^`\n]+)`", FENCE.sub("", text))


def test_readme_opens_with_the_job() -> None:
    """A title, then one paragraph that says what it does for whom."""
    blocks = text_of("README.md").split("\n\n")
    assert re.fullmatch(r"# \S.*", blocks[0].strip())
    opening = blocks[1].strip()
    assert opening[0].isalpha()
    for word in ("fibreglass", "sensor", "degree-hours", "sheet"):
        assert word in opening


def test_readme_holds_the_two_commands() -> None:
    """One command to see it run, one to test it, each ready to be copied."""
    lines = fenced_lines(text_of("README.md"))
    assert [line for line in lines if line.endswith("layupwatch demo")]
    assert [line for line in lines if line.endswith(".ci/test")]


def _commands(group: click.Group, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        if isinstance(command, click.Group):
            yield from _commands(command, (*path, name))
        else:
            yield (*path, name)


def _root_group() -> click.Group:
    from monitor import cli

    groups = [value for value in vars(cli).values() if isinstance(value, click.Group)]
    inner = {id(command) for group in groups for command in group.commands.values()}
    (root,) = {id(g): g for g in groups if id(g) not in inner}.values()
    return root


def test_every_command_stands_in_readme() -> None:
    """No command is hidden: each stands in README as it is typed."""
    lines = code_lines(text_of("README.md"))
    commands = [" ".join(path) for path in _commands(_root_group())]
    assert commands
    missing = [
        command
        for command in commands
        if not any(
            re.match(rf"(?:\S*layupwatch(?: --shop \S+)? )?{re.escape(command)}(?:\s|$)", line)
            for line in lines
        )
    ]
    assert missing == []


@pytest.mark.parametrize("name", DOCUMENTS)
def test_links_lead_somewhere(name: str) -> None:
    """A relative link points at a file that is there."""
    targets = [target.partition("#")[0] for target in LINK.findall(text_of(name))]
    relative = [t for t in targets if t and not re.match(r"[a-z]+:", t)]
    assert [target for target in relative if not (ROOT / target).exists()] == []


# Each cut by a bar, so that this file does not hold what it looks for.
PLACES = (
    r"(?<![\w.-])/wo|rk/",
    r"/tm|p/ve|nv",
    r"/tm|p/br|ief",
    r"(?<![\w.-])/ho|me/\w",
    r"(?<![\w.-])/ro|ot/",
    r"/Us|ers/\w",
    r"\.py|env/",
    r"py|pi\.org",
    r"pythonho|sted\.org",
    r"registry\.np|mjs\.org",
    r"deb\.deb|ian\.org",
    r"index|-url",
)
PLACE = re.compile("|".join(place.replace("|", "") for place in PLACES).encode())


def kept_files() -> list[Path]:
    """Every file that is in the repository, or would be with the next commit."""
    asked = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(asked, cwd=ROOT, capture_output=True, check=True, text=True)
    paths = [ROOT / name for name in listed.stdout.split("\0") if name]
    return [path for path in paths if path.is_file()]


def test_no_file_tells_where_it_was_made() -> None:
    """No machine's paths and no registry's address stand in any file."""
    files = kept_files()
    assert ROOT / "pyproject.toml" in files
    found = [
        f"{path.relative_to(ROOT)}: {match[0].decode()}"
        for path in files
        for match in PLACE.finditer(path.read_bytes())
    ]
    assert found == []


@pytest.mark.parametrize(
    "line",
    ["see /wo|rk/main", "source /tm|p/ve|nv/bin/activate", "https://py|pi.org/simple"],
)
def test_a_place_is_seen(line: str) -> None:
    """The search above finds what it is meant to find."""
    assert PLACE.search(line.replace("|", "").encode())
