"""The answers for programs: described to the letter, the same as the command line's JSON."""

import re

import pytest
from starlette.routing import Route

from dashboards.api import spec
from monitor.answers.mix import Asked, mix_for, mix_json
from monitor.answers.own_minutes import own_minutes
from monitor.answers.past import past_jobs
from monitor.sheets import Shelf
from tests.dashboards.asking import ORIGIN, Asking
from tests.dashboards.conftest import NOW
from tests.dashboards.test_pages import text_of
from tests.scenarios.shop import ShopAtHand

PATHS = {
    path: ways["get"]
    for path, ways in spec()["paths"].items()
    if "get" in ways and path != "/api/openapi.json"
}
WANTED = {"sheet": "demo-laminating", "resin_g": "100", "stage": "flip"}


def test_the_description_names_every_address(app) -> None:
    """Each path and method that is served under /api/ is described, and no other."""
    served = set()
    for route in app.routes:
        if isinstance(route, Route) and route.path.startswith("/api/"):
            path = re.sub(r":\w+}", "}", route.path)
            served |= {(path, method) for method in (route.methods or ()) - {"HEAD"}}
    described = {
        (path, method.upper()) for path, ways in spec()["paths"].items() for method in ways
    }
    assert served == described


def test_the_description_is_whole(client: Asking) -> None:
    """Served as it is kept; each way has a summary, its path's names, and its answers."""
    told = client.get("/api/openapi.json").json()
    assert told == spec()
    assert told["openapi"].startswith("3.1")
    for path, ways in told["paths"].items():
        names = set(re.findall(r"{(\w+)}", path))
        for method, way in ways.items():
            assert way["summary"]
            given = {p["name"] for p in way["parameters"] if p.get("in") == "path"}
            assert given == names
            assert ("201" if method == "post" else "200") in way["responses"]


def test_the_page_tells_of_every_address(client: Asking) -> None:
    """One page of documents, in the app."""
    page = text_of(client.get("/api").text)
    for path, ways in spec()["paths"].items():
        for method, way in ways.items():
            assert f"{method.upper()} {path}" in page
            assert way["summary"] in page


@pytest.mark.parametrize("path", PATHS)
def test_every_question_is_answered_as_json(client: Asking, path: str) -> None:
    """With what the description says is wanted."""
    address = path.replace("{number}", "1").replace("{stem}", "demo-laminating")
    wanted = {p["name"]: WANTED[p["name"]] for p in PATHS[path]["parameters"] if p["required"]
              and p["in"] == "query"}  # fmt: skip
    answer = client.get(address, params=wanted)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/json"
    assert answer.json() or answer.json() == []


@pytest.mark.parametrize("path", [p for p, way in PATHS.items() if way["parameters"]])
def test_what_can_t_be_answered_is_two_lines(client: Asking, path: str) -> None:
    """What is wrong and what to do, as JSON."""
    answer = client.get(path.replace("{number}", "77").replace("{stem}", "nothing"))
    assert answer.status_code == 404
    assert set(answer.json()) == {"what", "remedy"}


def test_mix_is_the_command_line_s(client: Asking, filled: ShopAtHand) -> None:
    """Number for number."""
    sheet = Shelf(filled.shop.folder, True).load("demo-laminating")
    asked = {"sheet": "demo-laminating", "resin_g": 100, "temperature": 20, "scale_step_g": 0.1}
    told = client.get("/api/mix", params=asked).json()
    own = own_minutes(past_jobs(filled.store, "demo-laminating", NOW), 20.0, 1.5)
    assert told == mix_json(mix_for(sheet, Asked(100.0, 20.0, 0.1)), own)
    in_f = asked | {"temperature": 68, "unit": "f"}
    assert client.get("/api/mix", params=in_f).json()["temperature_c"] == 20.0


def test_sensors_alerts_and_the_book(client: Asking) -> None:
    """Values, not words alone."""
    bow, shed = client.get("/api/sensors").json()
    assert (bow["sensor"], shed["sensor"]) == ("bow", "shed")
    assert bow["temperature_c"] == 13.0
    (alert,) = client.get("/api/alerts").json()
    assert (alert["id"], alert["parts"], alert["seen_at"]) == (1, [3], None)
    book = client.get("/api/layups/3/book").json()
    assert [mark["mark"] for mark in book["marks"]] == ["kicked", "trimmed-clean"]


def test_a_job_is_logged_by_a_program(client: Asking, filled: ShopAtHand) -> None:
    """Part, cup, stay, mark, one taken back, one put right, seen, ended: as JSON or as a form."""
    part = client.post("/api/layups", json={"what": "cleat pad", "sheet": "demo-laminating"})
    assert (part.status_code, part.json()["layup"]) == (201, 2)
    cup = client.post(
        "/api/layups/2/batches",
        json={"role": "patch", "resin_g": 100, "second_g": 1.5, "waxed": False},
    ).json()
    assert (cup["batch"], cup["mix"], cup["mix_pct"]) == ("2/patch", "right", 1.5)
    stay = client.post("/api/layups/2/stays", json={"sensor": "shed"}).json()
    assert (stay["channel"], stay["nearness"], stay["to"]) == ("air", "beside", None)
    mark = client.post("/api/layups/2/marks", data={"kind": "kicked"}).json()
    number = mark["id"].removeprefix("mark-")
    taken = client.post(f"/api/layups/2/marks/{number}/taken-back").json()
    assert (taken["mark"], taken["note"]) == ("note", "taken back: kicked")
    right = client.post(
        "/api/layups/2/corrections",
        json={"entry": cup["id"], "field": "resin_g", "value": 101},
    ).json()
    assert (right["old"], right["new"], right["withdrawn"]) == ("100.0", "101.0", [])
    assert client.post("/api/alerts/1/seen").json()["seen_at"] == "2026-05-03T08:00:00Z"
    ended = client.post("/api/layups/2/end").json()
    assert ended["ended_at"] == "2026-05-03T08:00:00Z"
    assert filled.store.book.layup(2).ended_at == NOW


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/api/layups", {}),
        ("/api/layups", {"what": ["a"], "sheet": "demo-laminating"}),
        ("/api/layups", {"what": "pad", "sheet": {"a": 1}}),
        ("/api/layups/1/batches", {"role": "patch", "resin_g": "much"}),
        ("/api/layups/1/marks", {"kind": "dried"}),
        ("/api/layups/1/stays", {"sensor": "attic"}),
        ("/api/layups/1/corrections", {"entry": "batch-3", "field": "resin_g", "value": 1}),
        ("/api/layups/1/corrections", {"entry": "batch-1", "field": "id", "value": 1}),
        ("/api/alerts/99/seen", {}),
        (f"/api/alerts/{10**30}/seen", {}),
    ],
)
def test_a_write_that_can_t_be_is_two_lines(client: Asking, path: str, body: object) -> None:
    """400, and what to do."""
    answer = client.post(path, json=body)
    assert answer.status_code == 400
    assert set(answer.json()) == {"what", "remedy"}


def test_a_body_that_is_no_object_is_refused(client: Asking) -> None:
    """A list, a word, half an object."""
    for body in (b"[1]", b'"x"', b"{"):
        headers = {"Content-Type": "application/json"}
        answer = client.post("/api/layups/1/marks", content=body, headers=headers)
        assert answer.status_code == 400


def test_a_program_needs_the_seal(client: Asking, filled: ShopAtHand) -> None:
    """Without it nothing is written."""
    headers = {"Origin": ORIGIN}
    answer = client.post(
        "/api/layups/1/marks", sealed=False, json={"kind": "flipped"}, headers=headers
    )
    assert answer.status_code == 403
    assert filled.store.book.marks(filled.store.book.layup(1).id) == ()
