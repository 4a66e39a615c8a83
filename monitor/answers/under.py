"""What the next batch would go over: is it open for one, still soft, shut, or waxed?"""

from dataclasses import dataclass
from datetime import tzinfo
from typing import Literal

from monitor.answers.ready import when_said
from monitor.answers.wording import ROLE_WORDS, guess_said, since_said
from monitor.overview import COATS, BatchView, LayupView
from monitor.records import Role, Sheet, Stage, Verdict
from monitor.times import length_said, said
from monitor.units import Unit

WASH_AND_SAND = "wash it, sand dull all over, then coat. No waiting opens it"

State = Literal["open", "test-it", "not-yet", "sand-first", "no-go", "cant-tell"]


@dataclass(frozen=True, slots=True)
class Under:
    """How what lies under stands towards the next batch, and why in a sentence without its dot."""

    state: State
    said: str


def lies_under(view: LayupView, role: Role) -> BatchView | None:
    """The batch that the next one of a role goes over: the last coat for a coat, else the last."""
    mixed = sorted(view.batches, key=lambda batch: batch.batch.mixed_at)
    coats = [batch for batch in mixed if batch.batch.role in COATS]
    if role in COATS and coats:
        return coats[-1]
    return mixed[-1] if mixed else None


def under(view: LayupView, role: Role, sheet: Sheet, zone: tzinfo, unit: Unit) -> Under | None:
    """What the next batch of a role, by a sheet, would go over. None: nothing is there."""
    batch = lies_under(view, role)
    if batch is None:
        return None
    name = f"the {ROLE_WORDS[batch.batch.role]} under it"
    a = batch.worked.assessment
    if a.stage(Stage.GEL).verdict is Verdict.WONT_CURE:
        return Under("no-go", f"{name} won't cure right: {_after_dot(a.stage(Stage.GEL).reason)}")
    epoxy = _over_epoxy(batch, sheet, name)
    if epoxy is not None:
        return epoxy
    sanded = _sanded(batch, name)
    if sanded is not None:
        return sanded
    if batch.batch.waxed:
        return Under("no-go", f"the coat under it is waxed: {WASH_AND_SAND}")
    return _by_window(batch, name, role, zone, unit)


def _by_window(batch: BatchView, name: str, role: Role, zone: tzinfo, unit: Unit) -> Under:
    a = batch.worked.assessment
    recoat = a.stage(Stage.RECOAT)
    if recoat.verdict is Verdict.NOT_YET:
        spoils = "it would wrinkle" if role in COATS else "it would move under your roller"
        when = when_said(recoat, batch, zone, unit)
        until = until_said(batch, zone) if when else ""
        lead = f"{when}{until}: " if when else ""
        return Under("not-yet", f"{lead}{name} is still soft, {spoils}")
    if recoat.verdict is Verdict.TEST_IT:
        return Under(
            "test-it", f"{name} may be open: a gloved finger should stick and come away clean"
        )
    if recoat.verdict is Verdict.READY:
        words = f"{name} is open for another {since_said(recoat, zone, a.now)}"
        return Under("open", words + until_said(batch, zone))
    if recoat.verdict is Verdict.SHUT:
        return Under("sand-first", f"{name} is past its window, so sand it dull all over and wipe")
    return Under("cant-tell", f"{name}: {_after_dot(recoat.reason)}")


def until_said(batch: BatchView, zone: tzinfo) -> str:
    """`, until dew, about 22:55 today, a guess`: what ends an open window first, as far as known.

    The dew ends it too: a dewed surface is no longer clean.
    """
    a, sheet = batch.worked.assessment, batch.sheet
    told = a.forecast.stage(Stage.RECOAT)
    shuts = None if told is None or told.shuts is None else told.shuts.early
    dew = a.forecast.dew_at
    if dew is not None and (shuts is None or dew < shuts):
        return f", until dew, {guess_said(dew, zone, a.now, later=False)}, a guess"
    if shuts is not None:
        return f", until {guess_said(shuts, zone, a.now, later=False)}, a guess"
    if sheet.recoat_max_hours is not None and a.bond_line.until is not None:
        return f", until {said(a.bond_line.until, zone, a.now)} at the very latest"
    return ""


def _over_epoxy(batch: BatchView, sheet: Sheet, name: str) -> Under | None:
    """Fresh epoxy stops polyester: only where the sheet allows it, and after epoxy's full cure."""
    if batch.sheet.kind != "epoxy" or sheet.kind == "epoxy":
        return None
    if sheet.over_epoxy is True:
        if batch.worked.assessment.stage(Stage.FULL).verdict is Verdict.READY:
            return None
        return Under("not-yet", f"{name} is epoxy, and not at its full cure: wait, wash, sand")
    if sheet.over_epoxy is False:
        return Under("no-go", f"{name} is epoxy, and {sheet.name} doesn't go over epoxy")
    return Under("cant-tell", f"{name} is epoxy: your sheet doesn't say if it goes over that")


def _sanded(batch: BatchView, name: str) -> Under | None:
    """A sanded face is bonded to mechanically, as long as it stayed clean."""
    bond, now = batch.worked.assessment.bond_line, batch.worked.assessment.now
    if bond.sanded_at is None:
        return None
    ago = length_said((now - bond.sanded_at).total_seconds())
    words = f"{name} was sanded {ago} ago"
    if bond.since_sanded:
        since = ", ".join(bond.since_sanded)
        return Under("sand-first", f"{words}, {since} since: dry it, key it again, wipe")
    return Under("open", f"{words}: wipe it, and let that flash off first")


def _after_dot(sentence: str) -> str:
    return (sentence[:1].lower() + sentence[1:]).rstrip(".")
