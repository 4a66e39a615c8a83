"""What a person said of a sensor's columns, written into shop.toml beside what stands there."""

import os
import tempfile
from pathlib import Path

from monitor.errors import BadInput, HostError
from monitor.wires.kinds import Columns


def with_columns(text: str, columns: Columns) -> str:
    """The text of a shop.toml with these columns in it; everything else stays as it was typed."""
    import tomlkit
    from tomlkit.exceptions import ParseError
    from tomlkit.items import AoT

    try:
        document = tomlkit.parse(text)
    except ParseError as wrong:
        raise BadInput(f"shop.toml can't be read: {wrong}.", "Mend that line first.") from None
    told = document.get("columns")
    sections = told if isinstance(told, AoT) else tomlkit.aot()
    if told is None:
        document.append("columns", sections)
    section = next((one for one in sections if one.get("sensor") == columns.sensor), None)
    if section is None:
        section = tomlkit.table()
        section["sensor"] = columns.sensor
        sections.append(section)
    for key in ("temperature", "humidity", "surface"):
        name = getattr(columns, key)
        if name is not None:
            section[key] = name
    for key, factor in (("times", columns.times), ("humidity_times", columns.humidity_times)):
        if factor != 1.0 or key in section:
            section[key] = factor
    return tomlkit.dumps(document)


def keep_columns(path: Path, columns: Columns) -> None:
    """Write them into that shop.toml, whole or not at all. Raises BadInput, HostError."""
    try:
        text = with_columns(path.read_text(encoding="utf-8-sig"), columns)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".shop-")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        Path(name).replace(path)
    except OSError as error:
        raise HostError(
            f"{path} can't be written ({error.strerror}).", "Make it writable, then say it again."
        ) from None
