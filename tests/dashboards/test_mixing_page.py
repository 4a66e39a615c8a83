"""The mixing page: the grams the command line says, as large as they can be, and the care."""

import re

import pytest

from dashboards.app import build_app
from monitor.answers.mix import Asked, mix_for, mix_lines
from monitor.cautions import NO_PROMOTER, PEROXIDE
from monitor.sheets import Shelf
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import NOW
from tests.dashboards.test_pages import text_of
from tests.scenarios.shop import ShopAtHand

ASKED = "/mix?sheet=demo-laminating&resin_g=100&temperature=20&scale_step_g=0.1"


def test_the_words_are_those_of_the_command_line(client: Asking, filled: ShopAtHand) -> None:
    """Each line that isn't about typing a command stands on the page as it is."""
    sheet = Shelf(filled.shop.folder, True).load("demo-laminating")
    page = text_of(client.get(ASKED).text)
    lines = mix_lines(mix_for(sheet, Asked(100.0, 20.0, 0.1)), "c")
    for line in lines:
        if "batch add" not in line and "demo sheet" not in line:
            assert re.sub(r"\s+", " ", line) in page
    assert '<p class="grams" style="--signs: 3.5">1.50</p>' in client.get(ASKED).text
    assert PEROXIDE in page
    assert NO_PROMOTER in page


def test_own_cups_stand_beside_the_sheet_s_minutes(client: Asking) -> None:
    """What kicked before, at about this warmth and dose, as the command line says it."""
    asked = {"sheet": "demo-laminating", "resin_g": 100, "temperature": 20}
    assert client.get("/api/mix", params=asked).json()["minutes"]["own"] == [47.0]
    assert "47 min" in text_of(client.get("/mix", params=asked).text)


def test_it_opens_with_the_last_cup_s_answer(client: Asking) -> None:
    """Nothing need be typed to see the grams for the same cup once more."""
    page = client.get("/mix").text
    assert '<p class="grams"' in page
    assert 'name="resin_g" value="200"' in page
    assert 'name="temperature" value="13.0"' in page


def test_a_cup_is_logged_from_the_answer(client: Asking, filled: ShopAtHand) -> None:
    """For the part and role chosen there, with what the page said goes in."""
    page = client.get(ASKED).text
    kept = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', page))
    assert kept.pop("seal")
    form = kept | {"number": "3", "role": "skin-a", "second_g": "1.5"}
    assert client.post("/log/cup", data=form).headers["location"] == "/layups/3/cups/skin-a"
    batch = filled.store.book.batches(filled.store.book.layup(3).id)[-1]
    assert (batch.resin_g, batch.catalyst_g, batch.scale_step_g) == (100.0, 1.5, 0.1)
    assert batch.mixed_at == NOW


def test_what_was_weighed_is_judged_first(client: Asking) -> None:
    """A wrong cup is said before anything else."""
    page = text_of(client.get(ASKED + "&weighed_g=0.5").text)
    assert page.index("Don't use it like this: add") < page.index(
        "g of catalyst for 100 g of resin"
    )


@pytest.mark.parametrize(
    "asked",
    [
        "resin_g=-5",
        "resin_g=0",
        "resin_g=lots",
        "resin_g=nan",
        "resin_g=100&mix_pct=9",
        "resin_g=100&weighed_g=-1",
        "resin_g=100&sheet=demo-epoxy&drops_per_ml=30",
        "resin_g=100&sheet=nothing",
    ],
)
def test_what_can_t_be_mixed_is_told_in_the_page_s_words(client: Asking, asked: str) -> None:
    """No option of a command is named; the form stands below to be mended."""
    answer = client.get(f"/mix?{asked}")
    assert answer.status_code == 400
    page = text_of(answer.text)
    assert "--" not in page
    assert "Which cup?" in page


def test_degrees_are_the_shop_s(shop_in) -> None:
    """68 °F at the bench is 20 °C to the sheet."""
    shop = shop_in(unit="f")
    client = Asking(build_app(shop.store, shop.shop, clock=lambda: NOW))
    page = text_of(client.get("/mix?sheet=demo-laminating&resin_g=100&temperature=68").text)
    assert "The resin's own temperature, °F" in page
    assert "68.0 °F" in page
    assert "No minutes at" not in page


def test_a_shop_without_a_part_says_how_to_begin(shop: ShopAtHand) -> None:
    """The grams can be had all the same."""
    client = Asking(build_app(shop.store, shop.shop, clock=lambda: NOW))
    page = text_of(client.get("/mix?resin_g=100&sheet=demo-laminating").text)
    assert "Log a part first" in page
    assert client.post("/log/cup", data={"role": "skin-a"}).status_code == 400
