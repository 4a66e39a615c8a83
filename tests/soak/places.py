"""Where a soak test stores: a file, or a database on a server."""

from pathlib import Path

from monitor.store import Store


def store_at(place: str) -> Store:
    if place.startswith("postgresql:"):
        return Store.on_server(place)
    return Store.open(Path(place))
