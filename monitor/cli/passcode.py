"""Passcodes for phones on the shop's network, and which phones have given one."""

import sys

import click

from monitor.cli.session import Session, say
from monitor.errors import BadInput

LEAVE = click.argument("leave", type=click.Choice(("write", "look")))


@click.group("passcode")
def passcode_command() -> None:
    """Who may open the pages from a phone: `run --lan` lets nobody in without a passcode.

    Two of them: `write` for whoever logs work, `look` for whoever only looks.
    """


@passcode_command.command("set")
@LEAVE
@click.option("--make", is_flag=True, help="Make one up and print it, once.")
@click.pass_obj
def set_command(session: Session, leave: str, make: bool) -> None:
    """Set a passcode. Phones that came in with the old one sign in again.

    passcode set write --make
    """
    from monitor.records import Leave
    from monitor.store.doorbook import made_up

    passcode = made_up() if make else _typed(leave)
    with session.open(create=True) as at:
        at.store.door.set_passcode(Leave(leave), passcode, at.now)
    if make:
        say(f"The passcode to {leave} is {passcode}")
        say("It is shown this once: write it where the shop will find it.")
    else:
        say(f"The passcode to {leave} is set.")


@passcode_command.command("remove")
@LEAVE
@click.pass_obj
def remove_command(session: Session, leave: str) -> None:
    """Take a passcode away; whoever came in with it is signed out."""
    from monitor.records import Leave

    with session.open(create=False) as at:
        at.store.door.remove_passcode(Leave(leave))
    say(f"Nobody may {leave} from a phone any more.")


@passcode_command.command("phones")
@click.pass_obj
def phones_command(session: Session) -> None:
    """Which phones are signed in, the last seen first."""
    from monitor.times import said

    with session.open(create=False) as at:
        found = at.store.door.sign_ins()
        for one in found:
            seen = said(one.seen_at, at.shop.zone, at.now)
            say(f"{one.id}  may {one.leave}, last seen {seen}: {one.device}")
    if not found:
        say("None.")


@passcode_command.command("sign-out")
@click.argument("phone")
@click.pass_obj
def sign_out_command(session: Session, phone: str) -> None:
    """Sign a phone out: its number from `passcode phones`, or all."""
    if phone != "all" and not (phone.isascii() and phone.isdigit() and len(phone) < 10):
        raise BadInput(
            f"{phone!r} is no phone's number.", "See the numbers with passcode phones, or say all."
        )
    with session.open(create=False) as at:
        gone = at.store.door.sign_out(None if phone == "all" else int(phone))
    if not gone:
        raise BadInput("No such phone is signed in.", "See which are: passcode phones.")
    say("Signed out." if gone == 1 else f"{gone} signed out.")


def _typed(leave: str) -> str:
    """Typed twice without being shown; from a pipe, one line."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().strip()
    typed: str = click.prompt(
        f"Passcode to {leave}", hide_input=True, confirmation_prompt="The same again"
    )
    return typed
