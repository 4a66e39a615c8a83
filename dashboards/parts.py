"""Logging a part, a cup and a place: each one form that already holds what was done last time."""

from starlette.responses import Response
from starlette.routing import Route

from dashboards import entering
from dashboards.fields import Choices, Field, FormPage, choices_of, figure
from dashboards.habits import Habits, habits, next_role
from dashboards.office import Asked, Office, back_to
from monitor.answers.wording import NEARNESS_WORDS, ROLE_WORDS
from monitor.errors import BadInput
from monitor.records import Layup, Nearness, Role

_OFTEN = 6
"""Fields of a cup that are filled in each time; the others are folded away."""

_NO_SENSOR = ("", "no sensor yet")
_TIME_HINT = "14:05, -25m, or with its day 2026-05-02 14:05"


def routes(office: Office) -> list[Route]:
    pages = _Logging(office)
    return [
        office.route("/log", pages.hub),
        office.route("/log/part", pages.part),
        office.route("/log/part", pages.part_added, "POST"),
        office.route("/layups/{number:int}/cup", pages.cup),
        office.route("/layups/{number:int}/cup", pages.cup_added, "POST"),
        office.route("/layups/{number:int}/move", pages.move),
        office.route("/layups/{number:int}/move", pages.moved, "POST"),
        office.route("/layups/{number:int}/end", pages.end),
        office.route("/layups/{number:int}/end", pages.ended, "POST"),
    ]


class _Logging:
    def __init__(self, office: Office) -> None:
        self._office = office

    def hub(self, asked: Asked) -> Response:
        layups = self._office.store.book.layups(open_only=True)
        ordered = sorted(layups, key=lambda part: part.number)
        return self._office.page("log.html", asked.now, layups=ordered)

    def part(self, asked: Asked) -> Response:
        return self._form(self._part_form(habits(self._office.store)), asked)

    def part_added(self, asked: Asked) -> Response:
        try:
            layup = entering.add_part(self._office, asked)
        except BadInput as refusal:
            return self._form(self._part_form(habits(self._office.store)), asked, refusal)
        return back_to(f"/layups/{layup.number}/cup")

    def _part_form(self, last: Habits) -> FormPage:
        office = self._office
        stems = office.shelf.for_judging()
        used = None if last.layup is None else office.store.book.kept_sheet(last.layup.sheet_id)
        sensors = {sensor.id: sensor.name for sensor in office.store.book.sensors()}
        stay, own = last.stay, office.shop.particulars
        return FormPage(
            "A new part",
            "/log/part",
            (
                Field("number", "Number on its masking tape", "number", str(last.next_number)),
                Field("what", "What it is", hint="hatch lid, outside", wanted=True),
                Field(
                    "sheet",
                    "Its resin's sheet",
                    "choice",
                    used.stem if used is not None else "",
                    choices_of(stems),
                    "" if stems else "No sheet of your own yet: type one in under Sheets first.",
                ),
                Field(
                    "sensor",
                    "The sensor it lies beside",
                    "choice",
                    "" if stay is None else sensors[stay.sensor_id],
                    (_NO_SENSOR, *choices_of(sensors.values())),
                ),
                Field("hull", "It is on a hull", "tick"),
                Field("safety", "Lives or the boat hang on it: no load is blessed", "tick"),
            ),
            "Log the part",
            ("/log", "Log"),
            rest=(
                Field("boat", "Boat", "text", "", (), own.boat or "for its printed record"),
                Field("place", "Where it is laid up", "text", "", (), own.place or ""),
                Field("person", "Who lays it up", "text", "", (), own.person or ""),
                Field("laminate", "Cloth, mat, core and plies"),
            ),
        )

    def cup(self, asked: Asked) -> Response:
        layup = entering.layup_of(self._office, asked)
        page = self._cup_form(layup, asked)
        return self._form(page, asked)

    def cup_added(self, asked: Asked) -> Response:
        layup = entering.layup_of(self._office, asked)
        try:
            mixed = entering.add_cup(self._office, asked)
        except BadInput as refusal:
            return self._form(self._cup_form(layup, asked), asked, refusal)
        return back_to(f"/layups/{layup.number}/cups/{mixed.batch.name}")

    def _cup_form(self, layup: Layup, asked: Asked) -> FormPage:
        office = self._office
        last = habits(office.store, layup.sheet_id).batch or habits(office.store).batch
        same = last is not None and last.sheet_id == layup.sheet_id
        kept = office.store.book.kept_sheet(layup.sheet_id)
        stems = tuple(dict.fromkeys((kept.stem, *office.shelf.for_judging())))
        second_g = None
        if last is not None and same:
            second_g = last.catalyst_g if last.hardener_g is None else last.hardener_g
        role = next_role(office.store.book.batches(layup.id))
        opened = asked.now.astimezone(office.zone)
        given = asked.query
        fields = (
            Field("role", "What it is for", "choice", given.get("role", role.value), _roles()),
            Field("mixed_at", "Mixed at", "text", f"{opened:%Y-%m-%d %H:%M}", (), _TIME_HINT),
            Field(
                "resin_g",
                "Resin weighed, g",
                "number",
                given.get("resin_g") or figure(last.resin_g if last is not None and same else None),
            ),
            Field(
                "second_g",
                "Catalyst or hardener weighed, g",
                "number",
                given.get("second_g") or figure(second_g),
            ),
            Field(
                "scale_step_g",
                "Smallest step of the scale, g",
                "number",
                given.get("scale_step_g") or figure(None if last is None else last.scale_step_g),
            ),
            Field(
                "cup",
                "Number on the cup",
                "text",
                given.get("cup") or habits(office.store).next_cup,
            ),
            Field("sheet", "Its sheet", "choice", given.get("sheet", kept.stem), choices_of(stems)),
            Field("resin_tin", "Tin of resin", "text", (last.resin_tin or "") if last else ""),
            Field(
                "catalyst_tin",
                "Tin of catalyst or hardener",
                "text",
                (last.catalyst_tin or "") if last else "",
            ),
            Field("thickness_mm", "Thickness or depth of bead, mm", "number"),
            Field(
                "give_or_take", "How sure you are of the time", "text", "", (), "10m; blank: seen"
            ),
            Field("waxed", "There is wax in it", "tick"),
        )
        said: tuple[str, ...] = ()
        if same:
            said = ("Filled in as last time with this sheet: change what differs.",)
        return FormPage(
            f"Part {layup.number}, {layup.what}: a cup",
            f"/layups/{layup.number}/cup",
            fields[:_OFTEN],
            "Log this cup",
            (f"/layups/{layup.number}/mark", f"Marks of part {layup.number}"),
            said,
            rest=fields[_OFTEN:],
        )

    def move(self, asked: Asked) -> Response:
        return self._move_page(entering.layup_of(self._office, asked), asked, None)

    def moved(self, asked: Asked) -> Response:
        layup = entering.layup_of(self._office, asked)
        try:
            entering.add_stay(self._office, asked)
        except BadInput as refusal:
            return self._move_page(layup, asked, refusal)
        return back_to(f"/layups/{layup.number}/book")

    def _move_page(self, layup: Layup, asked: Asked, trouble: BadInput | None) -> Response:
        stay = habits(self._office.store).stay
        nearness = Nearness.BESIDE if stay is None else stay.nearness
        fields: tuple[Field, ...] = (
            Field("nearness", "How near", "choice", nearness.value, _nearnesses()),
            Field("channel", "What it counts on", "choice", "air", _CHANNELS),
            Field("since", "Since when", "text", "", (), f"blank: now; {_TIME_HINT}"),
        )
        batches = self._office.store.book.batches(layup.id)
        if len(batches) > 1:
            whose = ((entering.WHOLE, "the whole part"), *((b.name, b.name) for b in batches))
            fields = (Field("of", "Of what", "choice", entering.WHOLE, whose), *fields)
        return self._office.page(
            "move.html",
            asked.now,
            status=200 if trouble is None else 400,
            layup=layup,
            sensors=[sensor.name for sensor in self._office.store.book.sensors()],
            fields=fields,
            trouble=trouble,
        )

    def end(self, asked: Asked) -> Response:
        layup = entering.layup_of(self._office, asked)
        page = FormPage(
            f"End part {layup.number}, {layup.what}",
            f"/layups/{layup.number}/end",
            (),
            "It is done with",
            (f"/layups/{layup.number}", f"All of part {layup.number}"),
            ("Its record stays. The number on the tape is free for another part.",),
        )
        return self._form(page, asked)

    def ended(self, asked: Asked) -> Response:
        entering.end_part(self._office, asked)
        return back_to("/")

    def _form(self, page: FormPage, asked: Asked, refusal: BadInput | None = None) -> Response:
        if refusal is not None:
            page = page.again(asked.form, refusal)
        status = 200 if refusal is None else 400
        return self._office.page("form.html", asked.now, status=status, page=page)


_CHANNELS: Choices = (("air", "the air beside it"), ("surface", "a probe on its surface"))


def _roles() -> Choices:
    return choices_of([r.value for r in Role], {r.value: ROLE_WORDS[r] for r in Role})


def _nearnesses() -> Choices:
    return choices_of([n.value for n in Nearness], {n.value: NEARNESS_WORDS[n] for n in Nearness})
