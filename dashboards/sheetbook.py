"""The pages of sheets: what each says and from where, a new one, and one value put right."""

from collections.abc import Mapping
from dataclasses import dataclass

from starlette.responses import Response
from starlette.routing import Route

from dashboards.fields import Field, FormPage, choices_of
from dashboards.office import Asked, Office, back_to
from monitor.errors import BadInput, SheetError
from monitor.sheets import describe
from monitor.sheets.keys import BY_NAME
from monitor.sheets.questions import GEL, PREAMBLE, QUESTIONS, Answer, Question, answered, compose
from monitor.sheets.show import origin


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One sheet of the shelf. `trouble`: why it can't be used; None: it can."""

    stem: str
    name: str
    only_to_look: bool
    trouble: str | None


def routes(office: Office) -> list[Route]:
    pages = _Sheets(office)
    return [
        office.route("/sheets", pages.listed),
        office.route("/sheets/new", pages.new),
        office.route("/sheets/new", pages.added, "POST"),
        office.route("/sheets/{stem}", pages.one),
        office.route("/sheets/{stem}/{key}", pages.value),
        office.route("/sheets/{stem}/{key}", pages.put_right, "POST"),
    ]


def shelf_lines(office: Office) -> tuple[SheetLine, ...]:
    """Every sheet, whether or not it can be used."""
    lines = []
    for stem in office.shelf.stems():
        try:
            sheet = office.shelf.look(stem)
        except SheetError as error:
            lines.append(SheetLine(stem, stem, True, f"{error.what} {error.remedy}"))
            continue
        lines.append(SheetLine(stem, sheet.name, sheet.demo and not office.shop.demo, None))
    return tuple(lines)


def add_sheet(office: Office, typed: Mapping[str, str]) -> str:
    """A new sheet from its answers by key, and `stem`. Returns the stem."""
    stem = typed.get("stem", "").strip()
    if stem in office.shelf.stems():
        raise BadInput(f"There is already a sheet called {stem}.", "Choose another name.")
    answers: tuple[Answer, ...] = ()
    for question in QUESTIONS:
        kind = next((answer.text for answer in answers if answer.key == "kind"), None)
        if kind in (None, *question.kinds):
            answers = answered(answers, question, typed.get(question.key, ""))
    office.shelf.add(stem, compose(answers))
    return stem


def put_value_right(office: Office, asked: Asked) -> None:
    """One value of one of the shop's own sheets; the sheet as it was is kept too."""
    stem, key = asked.path["stem"], asked.path["key"]
    old = office.shelf.text(stem)
    if not office.shelf.is_own(stem):
        raise BadInput(f"{stem} is no sheet of this shop's own.", "Type in your own.")
    day = f"{asked.now.astimezone(office.zone):%Y-%m-%d}"
    typed = asked.typed
    from monitor.sheets.mending import mended

    whole = mended(old, key, typed.text("value") or "", typed.text("origin"), day)
    office.store.book.keep_sheet(stem, old, asked.now)
    office.shelf.replace(stem, whole)


class _Sheets:
    def __init__(self, office: Office) -> None:
        self._office = office

    def listed(self, asked: Asked) -> Response:
        return self._office.page("sheets.html", asked.now, lines=shelf_lines(self._office))

    def one(self, asked: Asked) -> Response:
        stem = asked.path["stem"]
        sheet = self._office.shelf.look(stem)
        own = self._office.shelf.is_own(stem)
        asked_for = {question.key for question in QUESTIONS}
        return self._office.page(
            "sheet.html",
            asked.now,
            stem=stem,
            sheet=sheet,
            sections=[s for s in describe(sheet, None) if s.rows],
            own=own,
            changeable=asked_for if own else set(),
            was=_kept_comments(self._office.shelf.text(stem)) if own else (),
        )

    def new(self, asked: Asked) -> Response:
        return self._office.page("form.html", asked.now, page=_new_form())

    def added(self, asked: Asked) -> Response:
        try:
            stem = add_sheet(self._office, asked.form)
        except BadInput as refusal:
            page = _new_form().again(asked.form, refusal)
            return self._office.page("form.html", asked.now, status=400, page=page)
        return back_to(f"/sheets/{stem}")

    def value(self, asked: Asked) -> Response:
        return self._office.page("form.html", asked.now, page=self._value_form(asked))

    def put_right(self, asked: Asked) -> Response:
        try:
            put_value_right(self._office, asked)
        except BadInput as refusal:
            page = self._value_form(asked).again(asked.form, refusal)
            return self._office.page("form.html", asked.now, status=400, page=page)
        return back_to(f"/sheets/{asked.path['stem']}")

    def _value_form(self, asked: Asked) -> FormPage:
        stem, key = asked.path["stem"], asked.path["key"]
        from monitor.sheets.mending import question_of, typed_value

        question = question_of(key)
        sheet = self._office.shelf.look(stem)
        held = _field(question, sheet.unit, typed_value(self._office.shelf.text(stem), key))
        return FormPage(
            f"{sheet.name}: put right",
            f"/sheets/{stem}/{key}",
            (
                Field("value", held.label, held.kind, held.value, held.choices, held.hint),
                Field("origin", "Where that comes from", "text", origin(sheet, key), (),
                      "maker's reply, March"),
            ),
            "Put it right",
            (f"/sheets/{stem}", sheet.name),
            after=(
                "The old value is kept in the sheet's file. Parts begun before keep the sheet as "
                "it was: put their sheet right too, if they should go by the new one.",
            ),
        )  # fmt: skip


def _new_form() -> FormPage:
    stem = Field("stem", "Short name for its file", "text", "", (), "green-tin-2026", True)
    return FormPage(
        "A new sheet",
        "/sheets/new",
        (stem, *(_field(question, None, "") for question in QUESTIONS)),
        "Keep the sheet",
        ("/sheets", "Sheets"),
        (PREAMBLE,),
    )


def _field(question: Question, unit: str | None, value: str) -> Field:
    degrees = question.unit if unit is None else question.unit_said(unit)
    only = ""
    if len(question.kinds) < 3:
        only = "epoxy only" if question.kinds == ("epoxy",) else "not for epoxy"
    hint = "; ".join(filter(None, (degrees, question.hint, only)))
    rule = None if question.key == GEL else BY_NAME[question.key]
    wanted = not question.may_be_blank
    if rule is not None and (rule.choices or rule.quantity == "flag"):
        blank = (("", "choose"),) if wanted else (("", "not said"),)
        words = rule.choices or ("yes", "no")
        return Field(
            question.key, question.words, "choice", value, (*blank, *choices_of(words)), only
        )
    kind = "long" if question.key == GEL else "text"
    return Field(
        question.key,
        question.words,
        "long" if kind == "long" else "text",
        value,
        (),
        hint,
        wanted,
    )


def _kept_comments(text: str) -> tuple[str, ...]:
    """What was put right in the file before, newest first."""
    lines = [line[1:].strip() for line in text.splitlines() if line.startswith("#")]
    return tuple(line for line in reversed(lines) if " was " in line and " until " in line)
