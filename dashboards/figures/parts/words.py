"""Words that people gave, for the plotting library: it takes some HTML in a text for its own."""

from html import escape

from monitor.errors.text import shown


def as_words(text: str) -> str:
    """The text as it is to be read: nothing in it is bold, leads anywhere, or acts otherwise.

    What stands between two $ it would take for a formula.
    """
    return escape(shown(text)).replace("$", "&#36;")
