"""The command line: the only place where the parts are plugged together."""

from monitor.cli.main import cli, main

__all__ = ["cli", "main"]
