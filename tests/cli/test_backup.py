"""Backups and checks as they are typed."""

from pathlib import Path

from tests.scenarios.terminal import Layupwatch


def test_a_backup_and_its_proof(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """It says what it holds; the check opens it and changes nothing."""
    layupwatch("sensor", "add", "shed", "/dev/shed")
    copy = tmp_path / "stick.db"
    said = layupwatch("backup", copy)
    assert (said.code, said.err) == (0, "")
    assert f"{copy} is whole: 0 readings, 0 layups." in said.out
    before = copy.read_bytes()
    assert layupwatch("check", copy).code == 0
    assert layupwatch("check", copy, "--json").json["whole"] is True
    assert copy.read_bytes() == before
    again = layupwatch("backup", copy)
    assert again.code == 2
    assert "already" in again.err


def test_the_shops_own(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """Without a file the shop's database is read; damage is exit 3 and says what to do."""
    layupwatch("sensor", "add", "shed", "/dev/shed")
    said = layupwatch("check")
    assert said.code == 0
    assert "all of it was read" in said.out
    path = tmp_path / "shop" / "layupwatch.db"
    whole = path.read_bytes()
    path.write_bytes(whole[:8192] + b"\xa5" * (len(whole) - 8192))
    said = layupwatch("check")
    assert said.code == 3
    assert "damaged" in said.err
    assert "check --mend" in said.err
    said = layupwatch("check", "--mend")
    assert said.code == 0
    assert len(list(path.parent.glob("*damaged*"))) == 1
    assert layupwatch("check").code == 0


def test_not_one_of_ours(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """A file that isn't there, and one that is something else."""
    said = layupwatch("check", tmp_path / "nowhere.db")
    assert (said.code, "no file" in said.err) == (2, True)
    other = tmp_path / "photo.jpg"
    other.write_bytes(b"\xff\xd8" * 9000)
    said = layupwatch("check", other)
    assert said.code == 3
    assert "not a database" in said.err
