"""README's pictures are there, light enough to be fetched on a phone, and of the sizes it shows."""

import re

import pytest
from PIL import Image

from tests.dashboards.pictures import MOST_BYTES, PICTURES, ROOT

SHOWN = re.findall(
    r'<img src="dashboards/pictures/([\w-]+)\.png" width="\d+" alt="([^"]+)">',
    (ROOT / "README.md").read_text("utf-8"),
)


def test_each_picture_stands_in_readme_with_words() -> None:
    """Those that are kept, no other, each told in a sentence for whoever doesn't see it."""
    assert sorted(name for name, _ in SHOWN) == sorted(path.stem for path in PICTURES.iterdir())
    assert [name for name, _ in SHOWN] == ["now-phone", "part-desk", "mix-phone"]
    assert all(len(words) > 20 for _, words in SHOWN)


@pytest.mark.parametrize("name", [name for name, _ in SHOWN])
def test_a_picture_is_light(name: str) -> None:
    """A PNG that opens, of 150 kB at most."""
    path = PICTURES / f"{name}.png"
    assert path.stat().st_size <= MOST_BYTES
    with Image.open(path) as picture:
        assert picture.format == "PNG"
        assert picture.width == (1000 if name.endswith("desk") else 390)
