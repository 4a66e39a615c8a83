"""The root command. Each command's module is imported when it is called, so `air` stays quick."""

import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import NoReturn

import click

from monitor.cli.session import Session, say
from monitor.errors import MonitorError

COMMANDS = {
    "air": "monitor.cli.ask",
    "alert": "monitor.cli.alerts",
    "assess": "monitor.cli.ask",
    "backup": "monitor.cli.backup",
    "batch": "monitor.cli.book",
    "check": "monitor.cli.backup",
    "clock": "monitor.cli.clock",
    "correct": "monitor.cli.book",
    "demo": "monitor.cli.run",
    "export": "monitor.cli.files",
    "import": "monitor.cli.intake",
    "layup": "monitor.cli.book",
    "label": "monitor.cli.printed",
    "listen": "monitor.cli.ports",
    "mark": "monitor.cli.book",
    "mix": "monitor.cli.mix",
    "passcode": "monitor.cli.passcode",
    "plan": "monitor.cli.plan",
    "ports": "monitor.cli.ports",
    "ready": "monitor.cli.ask",
    "restore": "monitor.cli.backup",
    "review": "monitor.cli.review",
    "record": "monitor.cli.printed",
    "run": "monitor.cli.run",
    "salt-jar": "monitor.cli.salt",
    "sensor": "monitor.cli.sensors",
    "service": "monitor.cli.service",
    "sheet": "monitor.cli.sheets",
    "stay": "monitor.cli.book",
}
"""Name → the module that holds it, under the same name with `_command` behind it."""


class Commands(click.Group):
    """A group whose commands are imported one by one."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        module = COMMANDS.get(cmd_name)
        if module is None:
            return None
        found = getattr(import_module(module), f"{cmd_name.replace('-', '_')}_command")
        command: click.Command = found
        return command


@click.command(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--shop", metavar="DIR", help="The shop folder (or set LAYUPWATCH_SHOP).")
@click.version_option(package_name="layupwatch", prog_name="layupwatch")
@click.pass_context
def cli(ctx: click.Context, shop: str | None) -> None:
    """A cure watch for hand-laid fibreglass.

    Leave a sensor beside the part, log what you mix, and ask when it is ready. Times are 14:05,
    -25m, -2h or ISO 8601. A part is the number on its tape, a batch is 3/skin-a.
    """
    ctx.obj = Session(shop or os.environ.get("LAYUPWATCH_SHOP"), os.environ.get("TZ"))


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run a command; errors are two lines and an exit code."""
    try:
        result = cli.main(arguments, prog_name="layupwatch", standalone_mode=False)
        sys.exit(result if isinstance(result, int) else 0)
    except MonitorError as error:
        _two_lines(*error.lines())
        sys.exit(error.exit_code)
    except click.UsageError as error:
        command = error.ctx.command_path if error.ctx else "layupwatch"
        _two_lines(error.format_message().replace("\n", " "), f"See {command} --help.")
        sys.exit(2)
    except click.Abort:
        _two_lines("Stopped.", "Nothing was stored.")
        sys.exit(2)
    except BrokenPipeError:
        # The reader of a pipe went away, as `| head` does: nothing is wrong.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)


def _two_lines(what: str, remedy: str) -> None:
    say(what, err=True)
    say(remedy, err=True)
