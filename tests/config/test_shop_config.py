"""The shop folder: made from nothing, read back, and refused with every problem at once."""

import stat
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.config import (
    FILE,
    WEB_PORT,
    Shop,
    default_folder,
    host_time_zone,
    make_shop,
    open_shop,
    read_shop,
)
from monitor.errors import BadInput, HostError


def test_made_from_an_empty_folder(tmp_path: Path) -> None:
    """A command that writes makes the shop: folder, sheets/ and settings with the host's zone."""
    folder = tmp_path / "yard" / "shop"
    shop = open_shop(folder, create=True, host_zone="Europe/Lisbon")
    assert shop == Shop(
        folder, ZoneInfo("Europe/Lisbon"), "c", False, folder / "layupwatch.db", WEB_PORT
    )
    assert (folder / "sheets").is_dir()
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((folder / FILE).stat().st_mode) == 0o600
    assert sorted(path.name for path in folder.iterdir()) == ["sheets", FILE]


def test_opening_again_changes_nothing(tmp_path: Path) -> None:
    """Settings that a person has changed are never written over."""
    open_shop(tmp_path, create=True, host_zone="UTC")
    text = 'time_zone = "Asia/Tokyo"\nunit = "f"\n'
    (tmp_path / FILE).write_text(text, encoding="utf-8")
    shop = open_shop(tmp_path, create=True, host_zone="UTC")
    assert (shop.zone.key, shop.unit) == ("Asia/Tokyo", "f")
    assert (tmp_path / FILE).read_text(encoding="utf-8") == text
    assert open_shop(tmp_path, create=False) == shop


def test_a_demo_shop_is_marked(tmp_path: Path) -> None:
    """The demo makes a shop of its own that says what it is."""
    make_shop(tmp_path, zone="UTC", demo=True)
    assert open_shop(tmp_path, create=False).demo


@pytest.mark.parametrize("name", ["none", "file", "empty"])
def test_a_missing_shop_is_two_lines(tmp_path: Path, name: str) -> None:
    """A command that only reads makes nothing, and says how a shop is started."""
    (tmp_path / "file").write_text("")
    (tmp_path / "empty").mkdir()
    with pytest.raises(BadInput, match="There is no shop at") as caught:
        open_shop(tmp_path / name, create=False)
    assert "--shop" in caught.value.remedy
    assert not (tmp_path / "none").exists()


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    """Where the machine stands in the way, that is what is said."""
    (tmp_path / "file").write_text("")
    with pytest.raises(HostError, match="can't be written") as caught:
        open_shop(tmp_path / "file" / "shop", create=True)
    assert caught.value.exit_code == 3


def test_a_folder_without_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A shop on a disk that may only be read is refused before anything is logged."""
    open_shop(tmp_path, create=True, host_zone="UTC")
    monkeypatch.setattr("monitor.config.os.access", lambda path, mode: False)
    with pytest.raises(HostError, match="no permission"):
        open_shop(tmp_path, create=True, host_zone="UTC")


def test_all_that_is_wrong_at_once(tmp_path: Path) -> None:
    """An unknown zone, a wrong unit, a port out of range and a stray key come together."""
    text = 'time_zone = "Mars/Base"\nunit = "k"\ncolour = 1\n[web]\nport = 99999\n'
    with pytest.raises(BadInput) as caught:
        read_shop(text, tmp_path)
    assert "4 to put right" in caught.value.what
    for words in ("'Mars/Base'", 'unit = "f"', "colour: no such key", "from 1 to 65535"):
        assert words in caught.value.remedy
    assert "Input should" not in caught.value.remedy


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "time_zone: missing"),
        ('time_zone = "UTC"\nunits = "c"\n', "did you mean unit?"),
        ('time_zone = "UTC"\nport = 80\n', "did you mean web.port?"),
        ('time_zone = "UTC"\nweb = 80\n', "write [web] on a line of its own"),
        ('time_zone = "UTC"\ndemo = "no"\n', "write demo = true or demo = false"),
        ("time_zone = 1\n", "Europe/Lisbon"),
        ('time_zone = ""\n', "Europe/Lisbon"),
        ("time_zone = \n", "Mend that line"),
    ],
)
def test_each_wrong_setting_has_its_remedy(tmp_path: Path, text: str, words: str) -> None:
    """Two lines, with what to write instead."""
    with pytest.raises(BadInput) as caught:
        read_shop(text, tmp_path)
    assert words in caught.value.remedy


def test_the_database_may_be_elsewhere(tmp_path: Path) -> None:
    """A path counts from the shop folder; an address of a database server is kept as it is."""
    zone = 'time_zone = "UTC"\n'
    inside = read_shop(zone + 'database = "old.db"\n', tmp_path)
    outside = read_shop(zone + 'database = "/srv/layups.db"\n', tmp_path)
    server = read_shop(zone + 'database = "postgresql://yard@localhost/layups"\n', tmp_path)
    assert inside.database == tmp_path / "old.db"
    assert outside.database == Path("/srv/layups.db")
    assert server.database == "postgresql://yard@localhost/layups"
    assert read_shop(zone + "[web]\nport = 9000\n", tmp_path).web_port == 9000


def test_the_hosts_zone(tmp_path: Path) -> None:
    """TZ goes first, then the link, then the file; UTC where none of them names a zone."""
    assert host_time_zone(None, tmp_path) == "UTC"
    (tmp_path / "timezone").write_text("Europe/Oslo\n")
    assert host_time_zone(None, tmp_path) == "Europe/Oslo"
    (tmp_path / "localtime").symlink_to("/usr/share/zoneinfo/America/New_York")
    assert host_time_zone(None, tmp_path) == "America/New_York"
    assert host_time_zone("Asia/Tokyo", tmp_path) == "Asia/Tokyo"
    assert host_time_zone(":Asia/Tokyo", tmp_path) == "Asia/Tokyo"
    assert host_time_zone("No/Where", tmp_path) == "America/New_York"
    assert host_time_zone("", tmp_path) == "America/New_York"


def test_the_folder_by_default() -> None:
    """The one that is named, else the platform's place for a user's data."""
    assert default_folder("/srv/yard") == Path("/srv/yard")
    assert default_folder(None).name == "layupwatch"
    assert default_folder("") == default_folder(None)


@given(text=st.text(max_size=60))
def test_any_text_is_a_shop_or_two_lines(text: str) -> None:
    """Whatever stands in shop.toml, nothing but BadInput comes back."""
    with pytest.raises(BadInput) as caught:
        read_shop(text, Path("shop"))
    assert all(caught.value.lines())
