"""The mixing page and the cup's own page: grams to read from the bench, and running minutes."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from starlette.responses import Response
from starlette.routing import Route

from dashboards import entering
from dashboards.fields import Field, choices_of, figure
from dashboards.habits import Habits, habits, next_role
from dashboards.office import Asked, Office, Typed, back_to
from dashboards.phrases import on_page
from monitor.answers import mix as bench
from monitor.answers.bench_words import (
    amount_lines,
    cautions,
    enough_line,
    grams_said,
    minutes_line,
    room_lines,
    scale_lines,
)
from monitor.answers.entry import entry_cautions
from monitor.answers.off_mix import off_mix_line
from monitor.answers.own_minutes import OwnMinutes, own_lines, own_minutes
from monitor.answers.ready import freshness
from monitor.answers.wording import ROLE_WORDS, batch_said
from monitor.cure.mixing import Weighed, judge_mix
from monitor.errors import BadInput
from monitor.overview import BatchView, view
from monitor.records import Role
from monitor.times import iso_utc
from monitor.units import c_from_f, f_from_c

FRESH_S = 15 * 60.0
_SHOWN = 6
"""Fields asked for each cup; the others are folded away."""


@dataclass(frozen=True, slots=True)
class Target:
    """What goes in, as it is read from across the bench; `signs`: digits' widths to fit in."""

    grams: str
    signs: float
    of: str


@dataclass(frozen=True, slots=True)
class MixPage:
    """An answer laid out: what was weighed, the rest in lines, and the care to take."""

    target: Target | None
    judged: tuple[str, ...]
    lines: tuple[str, ...]
    minutes: tuple[str, ...]
    care: tuple[str, ...]
    second_g: str
    kept: tuple[tuple[str, str], ...]
    """Fields handed on where the cup is logged."""


def routes(office: Office) -> list[Route]:
    pages = _Bench(office)
    return [
        office.route("/mix", pages.mix),
        office.route("/log/cup", pages.logged, "POST"),
        office.route("/layups/{number:int}/cups/{batch}", pages.cup),
    ]


def mixed_by(office: Office, held: Typed, unit: str | None = None) -> bench.Mix:
    """The answer for one cup. `temperature` is in the shop's degrees, or in those of `unit`."""
    sheet = office.shelf.load(held.wanted("sheet", "The sheet"))
    degrees = held.number("temperature", "the temperature")
    if degrees is not None and (unit or office.unit) == "f":
        degrees = c_from_f(degrees)
    resin_g = held.number("resin_g", "the resin")
    if resin_g is None:
        raise BadInput("The resin is missing.", "Say how much goes into this cup, in grams.")
    return bench.mix_for(
        sheet,
        bench.Asked(
            resin_g,
            degrees,
            held.number("scale_step_g", "the scale's step"),
            held.number("weighed_g", "what went in"),
            held.number("mix_pct", "the dose"),
            held.number("drops_per_ml", "the drops"),
            None,
            held.number("minutes_needed", "the minutes"),
            held.text("cup"),
        ),
    )


def own_of(office: Office, stem: str, mix: bench.Mix, now: datetime) -> tuple[OwnMinutes, ...]:
    """What this shop's own cups of it did; they stand beside the sheet's minutes."""
    pct = None if mix.dose is None or mix.sheet.kind == "epoxy" else mix.dose.pct
    return own_minutes(office.past.of(stem, now), mix.asked.temperature_c, pct)


class _Bench:
    def __init__(self, office: Office) -> None:
        self._office = office

    def mix(self, asked: Asked) -> Response:
        last = habits(self._office.store)
        fields = self._fields(last, asked)
        held = Typed({field.name: field.value for field in fields})
        page, trouble = None, None
        try:
            if held.text("sheet") and held.text("resin_g"):
                page = self._answer(held, asked.now)
        except BadInput as refusal:
            trouble = BadInput(on_page(refusal.what), on_page(refusal.remedy))
        parts = sorted(
            self._office.store.book.layups(open_only=True), key=lambda part: part.id, reverse=True
        )
        role = next_role(self._office.store.book.batches(parts[0].id)) if parts else Role.SKIN_A
        return self._office.page(
            "mix.html",
            asked.now,
            status=200 if trouble is None else 400,
            page=page,
            fields=fields[:_SHOWN],
            more=fields[_SHOWN:],
            trouble=trouble,
            parts=parts,
            roles=[(r.value, ROLE_WORDS[r], r is role) for r in Role],
        )

    def logged(self, asked: Asked) -> Response:
        """The cup of the mixing page, mixed now, for the part that was chosen there."""
        number = asked.typed.whole("number", "the part's number")
        if number is None:
            raise BadInput("No part was chosen.", "Log the part first, then its cup.")
        mixed = entering.add_cup(self._office, replace(asked, path={"number": number}))
        return back_to(f"/layups/{number}/cups/{mixed.batch.name}")

    def _fields(self, last: Habits, asked: Asked) -> tuple[Field, ...]:
        office, given, batch = self._office, asked.query, last.batch
        stems = office.shelf.for_judging()
        used = None if last.layup is None else office.store.book.kept_sheet(last.layup.sheet_id)
        usual = used.stem if used is not None and used.stem in stems else (stems or ("",))[0]
        air = self._air(asked.now)
        degrees = f"°{office.unit.upper()}"
        hint = "as the air is; feel the resin if it stood elsewhere" if air else ""

        def typed(name: str, otherwise: str) -> str:
            return given.get(name, otherwise)

        return (
            Field("resin_g", "Resin in this cup, g", "number",
                  typed("resin_g", figure(None if batch is None else batch.resin_g))),
            Field("temperature", f"The resin's own temperature, {degrees}", "number",
                  typed("temperature", air), (), hint),
            Field("weighed_g", "What really went in, g", "number",
                  typed("weighed_g", ""), (), "after weighing it"),
            Field("sheet", "Sheet", "choice", typed("sheet", usual), choices_of(stems)),
            Field("cup", "Number on the cup", "text", typed("cup", last.next_cup)),
            Field("scale_step_g", "Smallest step of the scale, g", "number",
                  typed("scale_step_g", figure(None if batch is None else batch.scale_step_g))),
            Field("mix_pct", "Another dose inside the range, %", "number", typed("mix_pct", "")),
            Field("minutes_needed", "Minutes your hands need", "number",
                  typed("minutes_needed", "")),
            Field("drops_per_ml", "Drops your dropper gives a millilitre", "number",
                  typed("drops_per_ml", "")),
        )  # fmt: skip

    def _air(self, now: datetime) -> str:
        """What the newest fresh reading of any sensor says, in the shop's degrees."""
        store = self._office.store
        newest = [r for s in store.book.sensors() if (r := store.readings.latest(s.id)) is not None]
        fresh = [
            r
            for r in newest
            if r.temperature_c is not None
            and not r.flags.temperature
            and (now - r.at).total_seconds() < FRESH_S
        ]
        if not fresh:
            return ""
        celsius = max(fresh, key=lambda r: r.at).temperature_c or 0.0
        return f"{f_from_c(celsius) if self._office.unit == 'f' else celsius:.1f}"

    def _answer(self, held: Typed, now: datetime) -> MixPage:
        mix = mixed_by(self._office, held)
        own = own_of(self._office, held.fields["sheet"], mix, now)
        return self._laid_out(mix, own, held)

    def _laid_out(self, mix: bench.Mix, own: tuple[OwnMinutes, ...], held: Typed) -> MixPage:
        asked, sheet, unit = mix.asked, mix.sheet, self._office.unit
        target = None
        if mix.dose is not None:
            grams = grams_said(mix.dose.grams)
            of = f"g of {sheet.second_part} for {asked.resin_g:g} g of resin"
            target = Target(grams, len(grams) - 0.5 * grams.count("."), of)
        judged = () if mix.judged is None else (mix.judged.sentence, mix.remedy or "")
        minutes = [minutes_line(sheet, mix.pot, asked.temperature_c, mix.dose is not None, unit)]
        minutes += own_lines(own, mix.pot, unit)
        if asked.minutes_needed is not None:
            least_g = None if mix.scale is None else mix.scale.least_resin_g
            needed = asked.minutes_needed
            minutes.append(enough_line(sheet, mix.pot, needed, asked.resin_g, least_g))
        second_g = asked.weighed_g
        if second_g is None and mix.dose is not None:
            second_g = float(grams_said(mix.dose.grams))
        return MixPage(
            target,
            tuple(filter(None, judged)),
            tuple(on_page(line) for line in _bench_lines(mix)),
            tuple(on_page(line) for line in minutes),
            tuple(cautions(sheet, asked.temperature_c, unit)),
            figure(second_g),
            tuple((n, held.fields[n]) for n in ("sheet", "resin_g", "scale_step_g", "cup")),
        )

    def cup(self, asked: Asked) -> Response:
        layup = entering.layup_of(self._office, asked)
        seen = view(self._office.store, layup, asked.now)
        found = next((b for b in seen.batches if b.batch.name == asked.path["batch"]), None)
        if found is None:
            raise BadInput(
                f"Part {layup.number} has no batch {asked.path['batch']}.",
                "Look at what is logged of it.",
            )
        fresh = freshness(seen, asked.now)
        temperature_c = None if fresh.silent else fresh.temperature_c
        batch = found.batch
        return self._office.page(
            "cup.html",
            asked.now,
            layup=layup,
            batch=batch,
            what=batch_said(batch, self._office.zone, asked.now),
            since=iso_utc(batch.mixed_at),
            stands=iso_utc(asked.now),
            minutes=max(0, int((asked.now - batch.mixed_at).total_seconds() // 60)),
            lines=tuple(on_page(line) for line in self._cup_lines(found, temperature_c, asked.now)),
            warnings=tuple(entry_cautions(seen, batch)),
            care=tuple(cautions(found.sheet, temperature_c, self._office.unit)),
        )

    def _cup_lines(
        self, found: BatchView, temperature_c: float | None, now: datetime
    ) -> Iterator[str]:
        """How it was mixed, what to do about that while it can be done, and the minutes in hand."""
        batch, sheet = found.batch, found.sheet
        weighed = Weighed(batch.resin_g, batch.catalyst_g, batch.hardener_g)
        yield judge_mix(sheet, weighed).sentence
        ago_min = (now - batch.mixed_at).total_seconds() / 60.0
        remedy = off_mix_line(sheet, weighed, ago_min)
        if remedy is not None:
            yield remedy
            yield "Outside the sheet it won't cure right, however long it waits."
        second_g = batch.catalyst_g if batch.hardener_g is None else batch.hardener_g
        if batch.resin_g and second_g is not None:
            asked = bench.Asked(batch.resin_g, temperature_c, weighed_g=second_g)
            mix = bench.mix_for(sheet, asked)
            yield minutes_line(sheet, mix.pot, temperature_c, True, self._office.unit)


def _bench_lines(mix: bench.Mix) -> Iterator[str]:
    sheet, asked = mix.sheet, mix.asked
    yield from amount_lines(sheet, asked.resin_g, mix.doses, mix.dose, asked.drops_per_ml)
    if mix.scale is None:
        return
    scale = mix.scale
    yield from scale_lines(sheet, scale.step_g, scale.resolves)
    yield from room_lines(
        sheet, scale.holds, scale.room_pct, scale.least_resin_g, scale.finer_step_g
    )
