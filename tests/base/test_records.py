"""Flags as bits and as words, readings as columns."""

from hypothesis import given
from hypothesis import strategies as st

from monitor.records import HUMIDITY_FLAGS, SURFACE_FLAGS, TEMPERATURE_FLAGS, Doubt, Flags
from tests.scenarios import columns

some_doubt = st.lists(st.sampled_from(list(Doubt)), max_size=4).map(
    lambda chosen: Doubt(sum({int(doubt) for doubt in chosen}))
)
some_flags = st.builds(Flags, some_doubt, some_doubt, some_doubt)


@given(some_flags)
def test_flags_survive_both_ways(flags: Flags) -> None:
    """Packed into an integer, and written as words."""
    assert Flags.unpacked(flags.packed()) == flags
    assert Flags.from_text(flags.text()) == flags


@given(some_flags, some_flags)
def test_flags_add_up(one: Flags, other: Flags) -> None:
    """Together they are the bits of both."""
    assert (one | other).packed() == one.packed() | other.packed()


@given(some_flags)
def test_each_quantity_has_its_own_bits(flags: Flags) -> None:
    """A stuck humidity says nothing against the temperature."""
    packed = flags.packed()
    assert bool(packed & TEMPERATURE_FLAGS) == bool(flags.temperature)
    assert bool(packed & HUMIDITY_FLAGS) == bool(flags.humidity)
    assert bool(packed & SURFACE_FLAGS) == bool(flags.surface)


def test_between_takes_both_ends() -> None:
    """Start ≤ time ≤ end."""
    readings = columns([0.0, 60.0, 120.0, 180.0], [1.0, 2.0, 3.0, 4.0])
    assert readings.between(60.0, 120.0).temperature_c.tolist() == [2.0, 3.0]
    assert len(readings.between(181.0, 200.0)) == 0
