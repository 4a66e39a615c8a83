"""Each rule: fires once for an event, stays quiet where nothing can be done, clears, and says it
in words that name part, fact, time left and one action.

Histories are replayed every few minutes through the real store, as the daemon would ask.
"""

from collections.abc import Sequence
from datetime import timedelta

import numpy as np
import pytest

from monitor.alerts.dispatch import look_at
from monitor.alerts.rules import RULES, due_now
from monitor.logbook import parse_address
from monitor.overview import overview
from monitor.records import Aloud, Channel, MarkKind, Nearness, Readings
from tests.alerts.replay import TELLING, Replay, begin
from tests.scenarios import at, columns, series, story
from tests.scenarios.shop import ShopAtHand

MINUTE = timedelta(minutes=1)
Knot = tuple[str, float]


def day(text: str) -> str:
    """`12:30` on the day of the stories, `+06:00` on the one after it."""
    return f"2026-05-0{3 if text.startswith('+') else 2}T{text.removeprefix('+')}:00Z"


def drawn(knots: Sequence[Knot], humidity_pct: Sequence[Knot] = ()) -> Readings:
    """A reading each minute on straight lines between the knots."""
    time_s = np.array([at(day(clock)).timestamp() for clock, _ in knots])
    grid = np.arange(time_s[0], time_s[-1] + 1.0, 60.0)
    warm = np.interp(grid, time_s, [value for _, value in knots])
    if not humidity_pct:
        return columns(grid, warm)
    damp_s = [at(day(clock)).timestamp() for clock, _ in humidity_pct]
    return columns(grid, warm, np.interp(grid, damp_s, [value for _, value in humidity_pct]))


def part(
    shop: ShopAtHand,
    readings: Readings,
    mixed: str,
    sheet: str = "P1",
    role: str = "skin-a",
    number: int = 1,
    **where: object,
) -> None:
    if len(readings):
        shop.hear("shed", readings)
    shop.lay_up(number, sheet, at(day(mixed)), role=role)
    shop.put(str(number), "shed", at(day(mixed)), **where)  # type: ignore[arg-type] # as given


def mark(shop: ShopAtHand, kind: MarkKind, when: str, address: str = "1/skin-a") -> None:
    shop.book.add_mark(parse_address(address), kind, at=at(day(when)), note=None, now=at(day(when)))


def replayed(shop: ShopAtHand, start: str, end: str, step: timedelta = 2 * MINUTE) -> Replay:
    return Replay(shop).run(day(start), day(end), step)


def raised(replay: Replay, rule: str) -> list[str]:
    return [f"{alert.raised_at:%H:%M}" for alert in replay.of(rule)]


# Hot


@pytest.fixture
def fillet(shop: ShopAtHand) -> ShopAtHand:
    """A thick fillet with a probe in it, running hot."""
    shop.hear("bead", series("A10"))
    mixed = at(story("A10")["mixed_at"])
    shop.lay_up(5, "B1", mixed, role="fillet")
    shop.put("5/fillet", "bead", mixed, nearness=Nearness.PROBE, channel=Channel.AIR)
    return shop


def test_a_fillet_running_hot(fillet: ShopAtHand) -> None:
    """Over 80 °C for a minute: clear what burns, the cup only while it can be held."""
    replay = replayed(fillet, "14:00", "15:30", MINUTE)
    assert raised(replay, "hot-part") == ["14:37"]
    (hot,) = replay.of("hot-part")
    assert hot.fact == (
        "89.1 °C at bead and rising fast, over the sheet's 80.0 °C. No time to lose."
    )
    assert "only while it can still be held; otherwise keep clear" in hot.action
    assert (hot.parts, hot.aloud) == ((5,), Aloud.ANY_HOUR)
    assert [a.rule for a in replay.withdrawn if a.rule == "hot-part"] == ["hot-part"]
    assert raised(replay, "out-of-range") == raised(replay, "mixing-weather") == []


# Dew


@pytest.mark.parametrize(
    ("role", "sheet", "aloud"),
    [("wax-coat", "G1", Aloud.ANY_HOUR), ("skin-a", "P1", Aloud.PAGE)],
)
def test_dew_on_what_is_soft(shop: ShopAtHand, role: str, sheet: str, aloud: Aloud) -> None:
    """Spread under 3 °C from 22:57, said about 23:17; over a laminate to be sanded on the page."""
    shop.hear("shed", series("A4"))
    shop.lay_up(1, sheet, at(day("20:00")), role=role)
    shop.put("1", "shed", at(day("20:00")))
    replay = replayed(shop, "20:00", "+09:30")
    assert raised(replay, "dew-near") == ["23:18"]
    (dew,) = replay.of("dew-near")
    assert dew.aloud is aloud
    assert "2.8 °C above the dew point at shed; the sheet wants 3.0 °C." in dew.fact
    assert dew.action.startswith("Tent it and warm it gently.")
    assert [a.rule for a in replay.withdrawn if a.rule == "dew-near"] == ["dew-near"]


def test_dew_on_a_coat_says_how_long_until_it_is_sealed(shop: ShopAtHand) -> None:
    """By the middle count, as warm as it is."""
    shop.hear("shed", series("A4"))
    shop.lay_up(1, "G1", at(day("20:00")), role="wax-coat")
    shop.put("1", "shed", at(day("20:00")))
    (dew,) = replayed(shop, "23:00", "23:30").of("dew-near")
    assert dew.fact.startswith("Dew is near on soft gel coat: ")
    assert dew.fact.endswith("About 3 h to sealed, if it stays as warm as it is.")


def test_dew_on_a_probed_surface_is_the_surfaces(shop: ShopAtHand) -> None:
    """Where a probe is on it, the air above it is not asked."""
    grid = drawn([("08:00", 17.0), ("10:00", 17.0)], [("08:00", 70.0), ("10:00", 70.0)])
    hull = Readings(
        grid.time_s, grid.temperature_c, grid.humidity_pct, grid.time_s * 0 + 11.0, grid.flags
    )
    part(shop, hull, "08:00", "G1", "wax-coat", channel=Channel.SURFACE)
    shop.put("1", "shed", at(day("08:01")), channel=Channel.AIR, now=at(day("08:01")))
    replay = replayed(shop, "08:00", "09:00")
    (dew,) = replay.of("dew-near")
    assert dew.key == "shed:surface"
    assert "-0.5 °C above the dew point" in dew.fact


# Cold

NIGHT = [("16:00", 17.0), ("20:00", 11.0), ("+02:00", 6.0), ("+08:00", 5.0), ("+12:00", 16.0)]


def test_below_the_floor_short_of_flip(shop: ShopAtHand) -> None:
    """Under 10 °C from 21:12, said 20 minutes later, once, and over when it is 1 °C inside."""
    part(shop, drawn(NIGHT), "16:00")
    replay = replayed(shop, "16:00", "+12:00")
    assert raised(replay, "below-floor") == ["21:34"]
    (cold,) = replay.of("below-floor")
    assert cold.fact == (
        "9.7 °C at shed, under the floor of 10.0 °C since 21:13 Sat 2 May. Parked 43 short of "
        "flip at the careful edge, 4 h 47 min at 15.0 °C: it will be rubbery by morning."
    )
    assert cold.action.startswith("Bring it inside, or tent it and keep it at 15.0 °C or more.")
    assert "heater outside the tent" in cold.action
    assert cold.aloud is Aloud.ANY_HOUR
    assert "below-floor" in [alert.rule for alert in replay.withdrawn]


def test_below_the_floor_before_it_kicked(shop: ShopAtHand) -> None:
    """The time left is what a cup may be cold before it stays soft: three hours."""
    part(shop, drawn(NIGHT), "20:00")
    (cold,) = replayed(shop, "20:00", "22:00").of("below-floor")
    assert cold.fact.endswith(
        "It has not kicked by the count: after 00:13 Sun 3 May it may stay soft for good."
    )


def test_a_short_cold_is_not_said(shop: ShopAtHand) -> None:
    """18 minutes below the floor are a door that stood open."""
    dip = [("16:00", 12.0), ("17:00", 12.0), ("17:02", 9.0), ("17:18", 9.0), ("17:20", 12.0)]
    part(shop, drawn([*dip, ("18:00", 12.0)]), "16:00")
    replay = replayed(shop, "16:00", "18:00", MINUTE)
    assert raised(replay, "below-floor") == raised(replay, "floor-ahead") == []


def test_cold_on_a_part_past_flip_stays_on_the_page(shop: ShopAtHand) -> None:
    """It only takes longer: under the working range, and nothing that buzzes."""
    part(shop, drawn([("06:00", 20.0), ("16:00", 20.0), ("18:00", 7.0), ("22:00", 7.0)]), "06:00")
    replay = replayed(shop, "16:30", "21:00")
    assert [(a.rule, a.aloud) for a in replay.sent if a.rule != "ready"] == [
        ("heat-lost", Aloud.ANY_HOUR),
        ("out-of-range", Aloud.PAGE),
    ]


def test_a_hard_part_is_left_in_peace(shop: ShopAtHand) -> None:
    """Once past sand by the careful edge the weather can't hurt it, nor once it sanded to dust."""
    warm = [("02:00", 20.0), ("20:00", 20.0), ("20:10", 8.0), ("23:00", 8.0)]
    part(shop, drawn(warm), "02:00")
    part(shop, Readings.empty(), "15:00", number=2)
    mark(shop, MarkKind.SANDED_DUST, "20:00", "2/skin-a")
    replay = replayed(shop, "20:00", "23:00")
    assert [a.rule for a in replay.sent if a.rule not in ("ready", "recoat-last")] == []


def test_the_floor_ahead(shop: ShopAtHand) -> None:
    """Said about 20:15, from the last half hour's fall, within 30 minutes of the true 21:12."""
    part(shop, drawn(NIGHT), "16:00")
    replay = replayed(shop, "16:00", "+06:00")
    assert raised(replay, "floor-ahead") == ["20:16"]
    (ahead,) = replay.of("floor-ahead")
    assert ahead.fact == (
        "10.7 °C at shed, falling 1.1 °C an hour: under the floor of 10.0 °C about 20:55 Sat 2 "
        "May. Then it parks 43 short of flip at the careful edge, 4 h 47 min at 15.0 °C."
    )


def test_a_fall_that_ends_is_withdrawn_in_words(shop: ShopAtHand) -> None:
    """It was carried in: the floor is not crossed after all."""
    turned = [("16:00", 17.0), ("20:00", 11.0), ("20:20", 10.6), ("20:40", 15.0), ("23:00", 15.0)]
    part(shop, drawn(turned), "16:00")
    replay = replayed(shop, "16:00", "23:00")
    assert raised(replay, "floor-ahead") == ["20:16"]
    (back,) = [alert for alert in replay.withdrawn if alert.rule == "floor-ahead"]
    assert back.withdrawn is not None
    assert back.withdrawn.endswith("at shed and no longer falling.")
    assert ("floor-ahead", "over") in [(rule, kind) for _, rule, kind in replay.heard()]


# Heat lost


@pytest.mark.parametrize(
    ("heater", "expected"),
    [((), ["18:46"]), ((MarkKind.HEATER_ON,), ["18:46"]), ((MarkKind.HEATER_OFF,), [])],
)
def test_heat_lost(shop: ShopAtHand, heater: tuple[MarkKind, ...], expected: list[str]) -> None:
    """3 °C in half an hour off a plateau; whoever turned the heater off knows."""
    held = [("14:00", 21.0), ("18:00", 21.0), ("19:00", 14.0), ("22:00", 11.0)]
    part(shop, drawn(held), "14:00")
    for kind in heater:
        mark(shop, kind, "17:59")
    replay = replayed(shop, "14:00", "22:00")
    assert raised(replay, "heat-lost") == expected
    for lost in replay.of("heat-lost"):
        assert lost.fact.startswith("15.6 °C at shed, which was held at 21.0 °C until 18:")
        assert "Under the floor of 10.0 °C about 19:" in lost.fact
        assert lost.action.startswith("See to the heater")
        assert lost.aloud is Aloud.ANY_HOUR


def test_an_evening_is_no_lost_heat(shop: ShopAtHand) -> None:
    """A sun that goes down takes its time."""
    part(shop, drawn([("12:00", 21.0), ("16:00", 21.5), ("20:00", 13.0)]), "15:00")
    assert raised(replayed(shop, "15:00", "20:00"), "heat-lost") == []


# Silence


def test_silence_before_it_kicked(shop: ShopAtHand) -> None:
    """After 15 minutes, at any hour; over when it speaks again."""
    part(shop, drawn([("20:00", 15.0), ("20:20", 15.0)]), "20:00")
    replay = replayed(shop, "20:00", "21:00")
    assert raised(replay, "silent-sensor") == ["20:36"]
    (silent,) = replay.of("silent-sensor")
    assert silent.aloud is Aloud.ANY_HOUR
    assert silent.fact == (
        "No reading from shed since 20:20 Sat 2 May. Skin A had not kicked by the count: what it "
        "goes through now decides."
    )
    assert silent.action == "Look at its plug and its power."
    shop.hear("shed", drawn([("21:00", 15.0), ("21:10", 15.0)]))
    after = replayed(shop, "21:05", "21:06")
    assert [alert.rule for alert in after.withdrawn] == ["silent-sensor"]


def test_silence_later_in_the_cure(shop: ShopAtHand) -> None:
    """After an hour, by day; a coat's first two hours count as early."""
    part(shop, drawn([("06:00", 20.0), ("10:00", 20.0)]), "06:00")
    (silent,) = replayed(shop, "10:00", "12:00").of("silent-sensor")
    assert f"{silent.raised_at:%H:%M}" == "11:02"
    assert silent.aloud is Aloud.BY_DAY
    shop.lay_up(2, "G1", at(day("08:30")), role="plain-coat")
    shop.put("2", "shed", at(day("08:30")))
    replay = replayed(shop, "10:00", "12:00")
    assert [(f"{a.raised_at:%H:%M}", a.aloud) for a in replay.of("silent-sensor")] == [
        ("10:16", Aloud.ANY_HOUR)
    ]


def test_a_sensor_that_never_spoke(shop: ShopAtHand) -> None:
    """A quarter of an hour beside a fresh part, and not a word."""
    part(shop, drawn([("07:00", 20.0), ("08:00", 20.0)]), "10:00")
    assert raised(replayed(shop, "10:00", "10:40"), "silent-sensor") == ["10:16"]


def test_a_loggers_own_step_is_no_silence(shop: ShopAtHand) -> None:
    """A sensor that speaks every 30 minutes is silent after 75, not after 15."""
    steps = series("A1", step_s=1800.0)
    part(shop, steps.between(0.0, at("2026-05-02T14:20:00Z").timestamp()), "10:20")
    assert raised(replayed(shop, "14:20", "16:00", 5 * MINUTE), "silent-sensor") == ["15:40"]


def test_a_hard_part_needs_no_reading(shop: ShopAtHand) -> None:
    """Past sand its sensor may rest."""
    part(shop, drawn([("00:00", 20.0), ("18:00", 20.0)]), "00:00")
    assert raised(replayed(shop, "18:00", "23:00"), "silent-sensor") == []


# While mixing, and outside the range


def test_mixing_in_the_cold_is_said_at_once(shop: ShopAtHand) -> None:
    """There is still a cup that needn't be mixed; half an hour later it is the page's alone."""
    part(shop, drawn([("08:00", 12.0), ("10:00", 12.0)]), "08:00")
    replay = replayed(shop, "08:00", "10:00")
    assert raised(replay, "mixing-weather") == ["08:00"]
    (cold,) = replay.of("mixing-weather")
    assert cold.fact == (
        "12.0 °C at shed, under the sheet's 15.0 °C. There is time: the next cup is not mixed yet."
    )
    assert cold.aloud is Aloud.BY_DAY
    assert [(alert.rule, alert.aloud) for alert in replay.of("out-of-range")] == [
        ("out-of-range", Aloud.PAGE)
    ]


def test_mixing_onto_a_wet_hull(shop: ShopAtHand) -> None:
    """Air at 17 °C and 70 %, the hull at 11 °C: below the dew point."""
    grid = drawn([("08:00", 17.0), ("10:00", 17.0)], [("08:00", 70.0), ("10:00", 70.0)])
    hull = Readings(
        grid.time_s, grid.temperature_c, grid.humidity_pct, grid.time_s * 0 + 11.0, grid.flags
    )
    part(shop, hull, "08:00", "B1", "fillet", channel=Channel.SURFACE)
    (wet,) = replayed(shop, "08:00", "08:10").of("mixing-weather")
    assert wet.fact.startswith("The surface is at the dew point at shed: wet.")
    assert wet.action == "Don't bond: dry it first."


# Cups and windows


def test_a_cups_last_five_minutes(shop: ShopAtHand) -> None:
    """200 g at 20 °C and 1.5 %: 20 minutes by the demo sheet, 13 at the careful edge."""
    part(shop, drawn([("10:00", 20.0), ("11:00", 20.0)]), "10:00")
    replay = replayed(shop, "10:00", "11:00", MINUTE)
    (cup,) = replay.of("pot-life")
    (row,) = [
        r
        for r in shop.look(1, at(day("10:00"))).sheet.gel_rows
        if (r.temperature_c, r.catalyst_pct, r.cup_g) == (20.0, 1.5, 200.0)
    ]
    careful_min = row.minutes * (1.0 - 0.35)
    ends = (cup.raised_at - at(day("10:00"))) / MINUTE + 5.0
    assert careful_min - 1.0 <= ends <= careful_min + 1.0
    assert cup.fact.startswith("Skin A's cup may kick from 10:")
    assert "only while it can still be held" in cup.action


def test_a_kicked_cup_has_no_last_minutes(shop: ShopAtHand) -> None:
    """Nor one whose grams nobody logged."""
    part(shop, drawn([("10:00", 20.0), ("11:00", 20.0)]), "10:00")
    mark(shop, MarkKind.CUP_KICKED, "10:05")
    assert raised(replayed(shop, "10:05", "11:00", MINUTE), "pot-life") == []


def test_the_knife_window(shop: ShopAtHand) -> None:
    """At its late edge, and in its last ten minutes; at steady 27 °C 12:51 and 13:34."""
    begin(shop, "A13", "P1", "A13")
    replay = replayed(shop, "12:00", "15:10", MINUTE)
    assert raised(replay, "knife-opens") == ["12:52"]
    assert raised(replay, "knife-last") == ["13:35"]
    (opens,), (last,) = replay.of("knife-opens"), replay.of("knife-last")
    assert opens.fact == (
        "Skin A takes the knife since 12:51 Sat 2 May. By the count it shuts about 13:44 Sat 2 May."
    )
    assert last.fact == ("Skin A's knife window shuts about 13:44 Sat 2 May. Ten minutes or less.")
    assert last.action == "Trim it now; after that it is for the saw or the sander."


def test_what_is_trimmed_needs_no_knife(shop: ShopAtHand) -> None:
    """The mark ends both."""
    begin(shop, "A13", "P1", "A13")
    mark(shop, MarkKind.TRIMMED_CLEAN, "13:00")
    replay = replayed(shop, "13:00", "15:00", MINUTE)
    assert raised(replay, "knife-opens") == raised(replay, "knife-last") == []


def test_the_recoat_windows_last_hour(shop: ShopAtHand) -> None:
    """The rudder's shuts at 11:01; with a coat over it nobody asks."""
    begin(shop, "A1", "P1", "A1")
    replay = Replay(shop).run("2026-05-03T09:30:00Z", "2026-05-03T12:00:00Z", 2 * MINUTE)
    assert raised(replay, "recoat-last") == ["10:02"]
    (last,) = replay.of("recoat-last")
    assert "without sanding until about 11:01 Sun 3 May" in last.fact
    mark(shop, MarkKind.SANDED_DUST, "+09:35")
    again = Replay(shop).run("2026-05-03T09:40:00Z", "2026-05-03T11:00:00Z", 5 * MINUTE)
    assert raised(again, "recoat-last") == []


# Ready, and away


def test_ready_is_said_once_at_a_civil_hour(shop: ShopAtHand) -> None:
    """Sand is reached at 04:54 at the late edge; the message waits for 06:00."""
    begin(shop, "A1", "P1", "A1")
    replay = Replay(shop).run("2026-05-03T00:00:00Z", "2026-05-03T09:00:00Z", 2 * MINUTE)
    told = [entry for entry in replay.heard() if entry[1] == "ready"]
    assert told == [("Sun 06:00", "ready", "said")]
    _, sand = replay.of("ready")
    assert sand.fact.startswith("Ready to sand by the count since 04:53 Sun 3 May. It can wait; ")
    assert sand.action == (
        "First the touch test: thumbnail on the witness tab, then 10 cm of 80 grit: dust, not gum."
    )


@pytest.mark.parametrize("kind", [MarkKind.SANDED_DUST, MarkKind.FLIPPED])
def test_what_is_done_is_not_announced(shop: ShopAtHand, kind: MarkKind) -> None:
    """Sanded to dust, or flipped while only the flip was awaited."""
    begin(shop, "A1", "P1", "A1")
    mark(shop, kind, "16:00")
    assert raised(replayed(shop, "16:00", "23:00"), "ready") == []


def test_ready_that_no_longer_holds_is_withdrawn(shop: ShopAtHand) -> None:
    """A move logged late: by the shed it was ready, by the boat it isn't."""
    shop.hear("shed", series("A9S"))
    shop.hear("boat", series("A9Q"))
    mixed = at(story("A9")["mixed_at"])
    shop.lay_up(4, "P1", mixed)
    shop.put("4", "shed", mixed)

    def moved() -> None:
        shop.put("4", "boat", at(day("17:20")), now=at(day("+07:00")))

    replay = Replay(shop).run(day("23:00"), day("+09:00"), 5 * MINUTE, [(day("+07:00"), moved)])
    assert ("Sun 06:00", "ready", "said") in replay.heard()
    assert ("Sun 07:00", "ready", "over") in replay.heard()
    (back,) = [alert for alert in replay.withdrawn if alert.withdrawn]
    assert back.withdrawn is not None
    assert back.withdrawn.startswith("It is not ready to sand by the count. ")


def test_the_sensor_can_go_home(shop: ShopAtHand) -> None:
    """Once everything beside it is past the sheet's last stage; nothing else is said then."""
    mixed = at("2026-05-02T08:00:00Z")
    week = columns(mixed.timestamp() + 600.0 * np.arange(6 * 24 * 9), np.full(6 * 24 * 9, 20.0))
    shop.hear("shed", week)
    shop.lay_up(1, "P1", mixed)
    shop.put("1", "shed", mixed)
    replay = Replay(shop).run("2026-05-09T00:00:00Z", "2026-05-10T20:00:00Z", timedelta(minutes=30))
    (away,) = replay.sent
    assert away.rule == "sensor-away"
    assert away.action == "You can take shed away: layup end 1."
    assert away.aloud is Aloud.BY_DAY


# All of them


def test_two_parts_on_one_sensor_are_one_message(shop: ShopAtHand) -> None:
    """One message an event, with both parts in it."""
    part(shop, drawn(NIGHT), "16:00")
    part(shop, Readings.empty(), "16:30", number=2)
    replay = replayed(shop, "21:00", "22:00")
    assert [alert.parts for alert in replay.of("below-floor")] == [(1, 2)]


def test_a_restart_sends_nothing_twice(shop: ShopAtHand) -> None:
    """What was said is in the store: another process asking the same finds it there."""
    part(shop, drawn(NIGHT), "16:00")
    first = replayed(shop, "21:20", "21:40")
    assert [rule for _, rule, _ in first.heard()] == ["below-floor"]
    assert replayed(shop, "21:42", "23:00").heard() == []


@pytest.mark.parametrize("moment", ["20:20", "21:40", "+06:00"])
def test_every_alert_names_part_fact_time_left_and_action(shop: ShopAtHand, moment: str) -> None:
    """Where there is nothing to do there is no alert."""
    part(shop, drawn(NIGHT), "16:00")
    seen = overview(shop.store, at(day(moment)))
    due = due_now(look_at(shop.store, seen, TELLING))
    assert due
    for one in due:
        assert one.parts == (1,)
        for sentence in (one.fact, one.left, one.action):
            assert sentence.endswith(".")


def test_each_rule_has_its_own_name() -> None:
    """An alert in the store finds the rule that raised it."""
    names = [rule.name for rule in RULES]
    assert len(set(names)) == len(names)
