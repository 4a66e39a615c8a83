"""The unit file: what it starts, as whom, and what it is kept from."""

from configparser import ConfigParser
from pathlib import Path

import pytest

from monitor.cli.service import _quoted
from tests.scenarios.terminal import Layupwatch


def unit(text: str) -> ConfigParser:
    parsed = ConfigParser(interpolation=None, strict=False, delimiters=("=",))
    parsed.optionxform = str  # type: ignore[assignment,method-assign] # keys keep their capitals
    parsed.read_string(text)
    return parsed


def test_it_starts_the_watch_and_is_watched(layupwatch: Layupwatch) -> None:
    """By its whole path, in its own folder, with a watchdog, and again when it stops."""
    service = unit(layupwatch("service", "--user", "yard").out)["Service"]
    assert service["ExecStart"].startswith("/")
    assert service["ExecStart"].endswith("/shop run")
    assert service["ReadWritePaths"] in service["ExecStart"]
    assert (service["Type"], service["Restart"], service["User"]) == ("notify", "always", "yard")
    assert int(service["WatchdogSec"]) >= 60


@pytest.mark.parametrize(
    "held",
    [
        "NoNewPrivileges",
        "PrivateTmp",
        "RestrictSUIDSGID",
        "LockPersonality",
        "ProtectKernelModules",
    ],
)
def test_it_is_kept_from_what_it_does_not_need(layupwatch: Layupwatch, held: str) -> None:
    """A hole in the pages opens the shop's folder and no more."""
    assert unit(layupwatch("service").out)["Service"][held] == "yes"


def test_phones_may_be_let_in(layupwatch: Layupwatch) -> None:
    """Only when asked for."""
    assert unit(layupwatch("service", "--lan").out)["Service"]["ExecStart"].endswith(" run --lan")


def test_a_path_with_a_space_or_a_percent() -> None:
    """As systemd.syntax(7) has it."""

    assert _quoted(Path("/srv/my shop")) == '"/srv/my shop"'
    assert _quoted(Path("/srv/100%")) == "/srv/100%%"
