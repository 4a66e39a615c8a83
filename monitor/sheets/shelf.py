"""The sheets at hand: the shop's own files, and the made-up ones that ship with the tool."""

import os
import re
from difflib import get_close_matches
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from monitor.errors import BadInput, HostError
from monitor.errors.text import shown
from monitor.records import Sheet
from monitor.sheets.read import parse_sheet, sheet_text

_STEM = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*")

DEMO_STEMS = ("demo-epoxy", "demo-gel-coat", "demo-laminating", "demo-thickened")


def _for_its_owner(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


class Shelf:
    """The sheets of one shop, by the stem of their file names (`demo-epoxy`).

    `folder` is the shop's folder; its own sheets lie in `sheets/`. A sheet of the shop's own
    stands before a shipped one of the same name. Demo sheets judge only a shop that is itself
    marked as a demo; anybody may look at them.
    """

    def __init__(self, folder: Path, demo_shop: bool) -> None:
        self._folder = folder / "sheets"
        self._demo_shop = demo_shop

    def stems(self) -> tuple[str, ...]:
        """Every sheet that can be looked at, in alphabetical order."""
        return tuple(sorted({*self._own(), *DEMO_STEMS}))

    def for_judging(self) -> tuple[str, ...]:
        """Those to choose from for a new layup: in a real shop the shipped ones are left out."""
        return self.stems() if self._demo_shop else self._own()

    def path(self, stem: str) -> Traversable:
        """The sheet's file. Raises BadInput for a name that isn't on the shelf."""
        if stem in self._own():
            return self._folder / f"{stem}.toml"
        if stem in DEMO_STEMS:
            return files("monitor.sheets") / "demo" / f"{stem}.toml"
        stems = self.stems()
        near = get_close_matches(stem, stems, n=1)
        hint = f"Did you mean {near[0]}? There are: " if near else "There are: "
        raise BadInput(f"There is no sheet called {stem!r}.", hint + ", ".join(stems) + ".")

    def text(self, stem: str) -> str:
        """The sheet's file as it stands, to be kept with what it judges."""
        path = self.path(stem)
        return sheet_text(path) if isinstance(path, Path) else path.read_text(encoding="utf-8")

    def look(self, stem: str) -> Sheet:
        """The sheet, to be shown. Raises BadInput or SheetError."""
        return parse_sheet(self.text(stem), f"{stem}.toml")

    def load(self, stem: str) -> Sheet:
        """The sheet, to judge a layup by. Raises BadInput for a demo sheet in a real shop."""
        sheet = self.look(stem)
        if sheet.demo and not self._demo_shop:
            raise BadInput(
                f"{stem} is a demo sheet: its figures are made up, and can't judge real work.",
                "Copy its layout with `layupwatch sheet new` and type in your maker's figures.",
            )
        return sheet

    def add(self, stem: str, text: str) -> Path:
        """Put a new sheet on the shelf. Never overwrites one.

        Raises BadInput for a name that is taken or can't be a file's, HostError where the folder
        can't be written.
        """
        if not _STEM.fullmatch(stem):
            raise BadInput(
                f"{stem!r} can't be a sheet's name.",
                "Use letters, digits and dashes, such as green-tin-2026.",
            )
        path = self._folder / f"{stem}.toml"
        try:
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            with open(path, "x", encoding="utf-8", opener=_for_its_owner) as file:
                file.write(text)
        except FileExistsError:
            raise BadInput(
                f"There is already a sheet called {stem}.", "Choose another name, or edit that one."
            ) from None
        except OSError as error:
            raise HostError(
                f"{path} can't be written ({error.strerror}).",
                "Make the shop folder writable, or choose another with --shop.",
            ) from None
        return path

    def is_own(self, stem: str) -> bool:
        """Whether it is a file of the shop's own, which may be put right."""
        return stem in self._own()

    def replace(self, stem: str, text: str) -> None:
        """Write one of the shop's own sheets anew, whole or not at all.

        Raises BadInput for a sheet that isn't the shop's own, HostError where it can't be written.
        """
        if not self.is_own(stem):
            raise BadInput(
                f"{stem} is no sheet of this shop's own.", "Type in your own as a new sheet."
            )
        path = self._folder / f"{stem}.toml"
        fresh = self._folder / f".{stem}.toml.new"
        try:
            with open(fresh, "w", encoding="utf-8", opener=_for_its_owner) as file:
                file.write(text)
            fresh.replace(path)
        except OSError as error:
            raise HostError(
                f"{path} can't be written ({error.strerror}).",
                "Make the shop folder writable, or choose another with --shop.",
            ) from None

    def _own(self) -> tuple[str, ...]:
        try:
            found = [path.stem for path in self._folder.glob("*.toml") if path.is_file()]
        except OSError as error:
            raise HostError(
                f"{self._folder} can't be read ({error.strerror}).",
                "Make the shop folder readable, or choose another with --shop.",
            ) from None
        # A name with signs in it that nobody can see or type is no name to call a sheet by.
        named = (stem for stem in found if not stem.startswith(".") and shown(stem) == stem)
        return tuple(sorted(named))
