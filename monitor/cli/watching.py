"""The shop for a watch: held, its database whole, and what keeps it so at hand."""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from monitor.cli.session import Open, Session, now_utc, say
from monitor.config import Shop
from monitor.store import Store
from monitor.store.engine import Database
from monitor.store.faults import AwayStore, DamagedStore
from monitor.upkeep import Upkeep
from monitor.upkeep.holder import held


@contextmanager
def watching(session: Session) -> Iterator[tuple[Open, Upkeep]]:
    """The shop, made where there is none. Raises HostError where another watch holds it.

    After a run that was cut off, the database is looked through; a damaged one is mended.
    """
    shop = session.shop(create=True)
    mended = None
    with held(shop.folder, now_utc()) as hold:
        try:
            with session.open(watch=True) as at:
                # On a server this is the first time it is asked.
                with suppress(AwayStore):
                    at.store.book.sensors()
                if hold.cut_off:
                    Upkeep(shop, at.store, now_utc).must_be_whole()
        except DamagedStore as fault:
            say(f"{fault.what} It is set aside, and what can be read is rescued.", err=True)
            mended = mend(shop)
        with session.open(watch=True) as at:
            upkeep = Upkeep(shop, at.store, now_utc)
            if mended is not None:
                upkeep.tell_of_rescue(mended)
            yield at, upkeep


def mend(shop: Shop) -> str | None:
    """Set a damaged file aside and put a whole one in its place; what became of it, also said.

    Raises MonitorError.
    """
    if not isinstance(shop.database, Path):
        return None
    with Store(Database.in_file(shop.database)) as store:
        told = Upkeep(shop, store, now_utc).mend()
    say(told, err=True)
    return told
