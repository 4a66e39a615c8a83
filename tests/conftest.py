"""What tests of every group may ask for."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.scenarios.shop import ShopAtHand, open_demo_shop


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[ShopAtHand]:
    """An empty demo shop with a real database, closed afterwards."""
    at_hand = open_demo_shop(tmp_path / "shop")
    yield at_hand
    at_hand.store.close()
