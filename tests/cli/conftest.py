"""The names that tests of the command line share."""

from tests.scenarios.terminal import NOW, Layupwatch, Said

__all__ = ["NOW", "Layupwatch", "Said"]
