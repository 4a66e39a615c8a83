"""The last minutes of a cup."""

from collections.abc import Iterator
from datetime import timedelta

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, Near, gelled, marked
from monitor.cautions import HOT_CUP
from monitor.cure.pot import PotTime, pot_time
from monitor.records import Aloud, MarkKind
from monitor.times import from_unix, said_lasting

NAME = "pot-life"
LAST_MIN = 5.0


def _find(look: Look) -> Iterator[Due]:
    """Five minutes before the careful end of the sheet's minutes, until then."""
    told = set()
    for near in look.counted:
        batch = near.batch.batch
        if batch.id in told or gelled(near.batch, look.now):
            continue
        if marked(near.batch, MarkKind.CUP_KICKED) or look.now - batch.mixed_at > _LONGEST:
            continue
        pot = _pot(near)
        if pot is None:
            continue
        ends_at = batch.mixed_at + timedelta(minutes=pot.low_min)
        begins_at = max(ends_at - timedelta(minutes=LAST_MIN), batch.mixed_at)
        if begins_at <= look.now < ends_at:
            told.add(batch.id)
            yield Due(
                NAME,
                f"batch:{batch.id}",
                begins_at,
                (near.part,),
                f"{near.name}'s cup may kick from {said_lasting(ends_at, look.telling.zone)} on.",
                f"Brush out what is left. {HOT_CUP}",
                "Five minutes or less in hand, by the sheet.",
                Aloud.BY_DAY,
            )


_LONGEST = timedelta(hours=3)


def _pot(near: Near) -> PotTime | None:
    """Minutes in this cup at the warmth beside it: resin that stood there."""
    batch, sheet = near.batch.batch, near.batch.sheet
    second_g = batch.hardener_g if sheet.kind == "epoxy" else batch.catalyst_g
    time_s, value_c = near.warmth
    if not batch.resin_g or second_g is None or time_s.size == 0:
        return None
    first = from_unix(float(time_s[0]))
    if first - batch.mixed_at > timedelta(minutes=15):
        return None
    found = pot_time(
        sheet.gel_rows,
        temperature_c=float(value_c[0]),
        cup_g=batch.resin_g + second_g,
        mix_pct=None if sheet.kind == "epoxy" else 100.0 * second_g / batch.resin_g,
    )
    return found if isinstance(found, PotTime) else None


RULE = Rule(_find, NAME, passes=True)
