"""The unit file that runs the watch as a service of the machine."""

import getpass
import sys
from pathlib import Path

import click

from monitor.cli.session import Session, say
from monitor.errors.text import must_be_words

UNIT = """\
# Save as /etc/systemd/system/layupwatch.service, then:
#   sudo systemctl daemon-reload && sudo systemctl enable --now layupwatch
# What it says: journalctl -u layupwatch. The journal keeps its own size.
[Unit]
Description=Layupwatch, a cure watch for hand-laid fibreglass
After=local-fs.target

[Service]
Type=notify
NotifyAccess=main
ExecStart={command} --shop {folder} run{lan}
User={user}
SupplementaryGroups=dialout
Restart=always
RestartSec=5
# A thread that hangs stops saying that it is alive; then the whole is started again.
WatchdogSec=90
TimeoutStopSec=20
UMask=0077
MemoryMax=400M
NoNewPrivileges=yes
PrivateTmp=yes
ProtectSystem=strict
ProtectHome=read-only
ReadWritePaths={folder}
ProtectKernelTunables=yes
ProtectKernelModules=yes
ProtectControlGroups=yes
RestrictSUIDSGID=yes
RestrictRealtime=yes
RestrictNamespaces=yes
LockPersonality=yes
RestrictAddressFamilies=AF_UNIX AF_INET AF_INET6 AF_NETLINK
CapabilityBoundingSet=
# It asks the kernel whether a network keeps its clock; without leave it can't set it.
SystemCallFilter=@system-service adjtimex clock_adjtime
SystemCallErrorNumber=EPERM
# Only serial ports, of those things that are plugged in.
DevicePolicy=closed
DeviceAllow=char-ttyUSB rw
DeviceAllow=char-ttyACM rw
DeviceAllow=char-ttyS rw
DeviceAllow=char-ttyAMA rw

[Install]
WantedBy=multi-user.target
"""


@click.command("service")
@click.option("--lan", is_flag=True, help="Let phones on the network in, as run --lan does.")
@click.option("--user", metavar="NAME", help="Who it runs as; you, if left out.")
@click.pass_obj
def service_command(session: Session, lan: bool, user: str | None) -> None:
    """Print the unit file that starts the watch with the machine, and again when it stops.

    layupwatch service | sudo tee /etc/systemd/system/layupwatch.service
    """
    folder = session.shop(create=False).folder.resolve()
    command = Path(sys.argv[0]).resolve()
    unit = UNIT.format(
        command=_quoted(command),
        folder=_quoted(folder),
        lan=" --lan" if lan else "",
        user=must_be_words(user or getpass.getuser(), "That user's name"),
    )
    for line in unit.splitlines():
        say(line)


def _quoted(path: Path) -> str:
    """As a unit file takes it: in quotes where it has a space, a % twice."""
    told = must_be_words(str(path), "The path of this program or of its shop folder")
    text = told.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%")
    return f'"{text}"' if " " in text else text
