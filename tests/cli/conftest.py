"""What tests of the command line share."""

from pathlib import Path

import pytest

from monitor.csvfile import write_readings
from tests.scenarios import series
from tests.scenarios.terminal import NOW, Layupwatch, Said

__all__ = ["MIXED", "NOW", "Layupwatch", "Said"]

MIXED = "2026-05-02T10:20:00Z"


@pytest.fixture
def rudder(layupwatch: Layupwatch, tmp_path: Path) -> Layupwatch:
    """The rudder's day imported for sensor `shed`, and the part logged as people would."""
    path = tmp_path / "shed.csv"
    with path.open("w", encoding="utf-8") as out:
        write_readings(series("A1"), out)
    assert layupwatch("import", path, "--sensor", "shed", now="2026-05-04T14:00:00Z").code == 0
    assert (
        layupwatch("layup", "add", 3, "rudder", "--sheet", "demo-laminating", now=MIXED).code == 0
    )
    batch = layupwatch(
        "batch", "add", "3/skin-a", "--resin-g", 200, "--catalyst-g", 3, "--mixed-at", "10:20",
        now=MIXED,
    )  # fmt: skip
    assert batch.code == 0
    assert "Catalyst 1.50 % is inside the sheet's 1 to 2 %." in batch.out
    assert layupwatch("stay", "3", "shed", "--from", "10:20", now=MIXED).code == 0
    return layupwatch
