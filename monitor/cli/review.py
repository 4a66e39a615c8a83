"""Why it stayed tacky: asked with flags, or question by question in a terminal."""

import sys
from collections.abc import Mapping

import click

from monitor.cli.session import Session, json_option, print_json, say

SKIP = "-"


@click.command("review")
@click.argument("address", metavar="NUMBER[/ROLE]")
@click.option("--where", help="all-over, patches, edges, under-film, at-join.")
@click.option("--thumbnail", help="none, mark, dent, wet.")
@click.option("--grit", help="10 cm of 80 grit: dust, dust-after (the first strokes), gum.")
@click.option("--rag", help="An acetone rag for 30 s: hard, sticky.")
@click.option("--cup", help="The leftover cup: hard, rubbery, not-kept.")
@click.option("--last-coat", help="unwaxed, waxed, film.")
@click.option("--smell", help="none, styrene, amine, greasy.")
@click.option("--looks", help="plain, wrinkled, peeling, milky, white-inside, cracked, brittle.")
@json_option
@click.pass_obj
def review_command(session: Session, /, address: str, as_json: bool, **answers: str | None) -> None:
    """Why it stayed tacky: review 3, and answer what it asks.

    It holds your answers against the record and names at most three causes, each with what speaks
    for and against it, what to do, and a cheap test. What isn't answered stays open. Each review is
    kept; ask again when you know more.
    """
    from monitor.answers.review import keep, review_json, review_lines, review_of
    from monitor.answers.review_asked import offered_answers, parse_answers
    from monitor.logbook import parse_address
    from monitor.overview import view

    asked = parse_address(address)
    with session.open(create=True) as at:
        seen = view(at.store, at.store.book.layup(asked.number), at.now)
        given: Mapping[str, str | None] = answers
        if None in answers.values() and not as_json and sys.stdin.isatty():
            given = _asked(answers, offered_answers(at.store, seen, at.now))
        told = review_of(at.store, seen, parse_answers(given), asked.batch, at.now, at.shop.unit)
        keep(at.store, told, at.shop.zone)
        if as_json:
            print_json(review_json(told))
            return
        for line in review_lines(told, at.shop.zone):
            say(line)


def _asked(flags: Mapping[str, str | None], offered: Mapping[str, str]) -> dict[str, str | None]:
    """Each question that no flag answers; then the list once more, to change what is wrong."""
    from monitor.answers.review_asked import QUESTIONS

    say("Answer by number. Enter keeps what stands in brackets, or leaves it open; - empties.")
    given = {
        q.name: flags.get(q.name) or _one(number, offered.get(q.name))
        for number, q in enumerate(QUESTIONS)
    }
    while True:
        say()
        for number, question in enumerate(QUESTIONS, start=1):
            say(f"{number}  {question.words} {_said(question.name, given[question.name])}")
        wanted = click.prompt(
            "Enter to go on, or the number of an answer to change", default="", show_default=False
        ).strip()
        if not wanted:
            return given
        if wanted.isdecimal() and 1 <= int(wanted) <= len(QUESTIONS):
            name = QUESTIONS[int(wanted) - 1].name
            given[name] = _one(int(wanted) - 1, given[name])


def _one(number: int, standing: str | None) -> str | None:
    """Ask one question until the answer is one of its own."""
    from monitor.answers.review_asked import QUESTIONS

    question = QUESTIONS[number]
    say()
    say(f"{question.words}{f' ({question.hint})' if question.hint else ''}")
    for place, choice in enumerate(question.choices, start=1):
        say(f"  {place}  {choice.said}")
    words = [choice.word for choice in question.choices]
    while True:
        typed = click.prompt(
            f"[{_said(question.name, standing)}]", default="", show_default=False, prompt_suffix=" "
        ).strip()
        if not typed:
            return standing
        if typed == SKIP:
            return None
        if typed in words:
            return str(typed)
        if typed.isdecimal() and 1 <= int(typed) <= len(words):
            return words[int(typed) - 1]
        say(f"Type a number from 1 to {len(words)}.")


def _said(name: str, word: str | None) -> str:
    from monitor.answers.review_asked import QUESTIONS

    if word is None:
        return "open"
    question = next(q for q in QUESTIONS if q.name == name)
    return next((c.said for c in question.choices if c.word == word), word)
