"""What this machine's clock says, and whether it is to be believed."""

import click

from monitor.cli.session import Session, json_option, now_utc, print_json, say
from monitor.times import iso_utc


@click.command("clock")
@click.argument("answer", required=False, type=click.Choice(["right"]))
@json_option
@click.pass_obj
def clock_command(session: Session, answer: str | None, as_json: bool) -> None:
    """What this machine's clock says; clock right: you looked at yours, and it is right.

    While the watch doubts it, no part is called ready. Setting it: sudo timedatectl set-time.
    """
    from monitor.host import Timekeeper

    shop = session.shop()
    timekeeper = Timekeeper(shop.folder)
    if answer is not None:
        timekeeper.confirm()
    doubt = timekeeper.written_down()
    now = now_utc()
    if as_json:
        told = doubt and {"what": doubt.what, "remedy": doubt.remedy}
        print_json({"now": iso_utc(now), "in_doubt": told})
        return
    local = now.astimezone(shop.zone)
    say(f"It says {local:%H:%M} on {local:%A} {local.day} {local:%B %Y}, {shop.zone}.")
    if doubt is None:
        say("Taken to be right." if answer is None else "Kept: it is right.")
    else:
        for line in doubt.lines():
            say(line)
