"""Which poles fit what, when each source is live, and what its voltage reaches: told by hand, set by set."""

from __future__ import annotations

import pytest

from tests.circuit.networks import plan_text, terminal
from wirecheck.behaviour.model import Model
from wirecheck.behaviour.network import BOTH, MINUS, NEVER, PLUS
from wirecheck.behaviour.supplies import Fits, kind_fits, polarity_of, voltage_fits
from wirecheck.circuit import Feed, Source, sources_of
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Quantity

MAINS, THREE = "G0: {kind: mains, phases: 1, voltage: 230 V}", "G0: {kind: mains, phases: 3, voltage: 400 V}"
DIRECT = "G1: {kind: dc-supply, voltage: 24 V DC}"
FEED = ["G0:L G1:L", "G0:N G1:N"]
A, B = terminal("T1:1"), terminal("T1:2")


def volts(value: float, high: float | None = None, current: str | None = None) -> Quantity:
    return Quantity(value, "V", f"{value} V", high, current)


def model_of(devices: list[str], runs: list[str]) -> Model:
    return Model(read_plan_text(plan_text(devices, runs), "supplies"))


def sources(*devices: str) -> tuple[Source, ...]:
    return sources_of(read_plan_text(plan_text(devices, []), "sources"))


@pytest.mark.parametrize(
    ("rated", "at", "acts"),
    [
        (volts(24), 20.4, True),
        (volts(24), 20.39, False),
        (volts(24), 31.2, True),
        (volts(24), 31.21, False),
        (volts(200, 240), 170.0, True),
        (volts(200, 240), 169.9, False),
        (volts(200, 240), 312.0, True),
        (volts(200, 240), 312.1, False),
        (None, 1.0, True),
    ],
)
def test_what_is_rated_acts_from_85_to_130_percent_of_it(rated: Quantity | None, at: float, acts: bool) -> None:
    assert voltage_fits(at, rated) is acts


def test_a_rating_that_says_which_current_it_takes_takes_no_other() -> None:
    mains, direct = sources(MAINS, DIRECT)
    for rated, there in (
        (None, (True, True)),
        (volts(24), (True, True)),
        (volts(24, current="AC"), (True, False)),
        (volts(24, current="DC"), (False, True)),
    ):
        assert (kind_fits(mains, rated), kind_fits(direct, rated)) == there


def test_current_passes_a_diode_from_plus_to_minus_and_both_ways_from_the_mains() -> None:
    mains, direct = sources(MAINS, DIRECT)
    assert {polarity_of(mains, pole) for pole in mains.poles} == {BOTH}
    assert [polarity_of(direct, terminal(pole)) for pole in ("G1:+", "G1:-")] == [PLUS, MINUS]


def test_the_pairs_of_poles_that_fit_a_rating() -> None:
    """The poles are numbered: L 0, N 1, PE 2, plus 3, minus 4. What has been asked for before is not mixed up."""
    fits = Fits(sources(MAINS, DIRECT))
    mains = [("G0", 0, 1), ("G0", 0, 2), ("G0", 1, 0), ("G0", 2, 0)]
    direct = [("G1", 3, 4), ("G1", 4, 3)]
    for _ in range(2):
        assert fits.pairs(None) == mains + direct
        assert fits.pairs(volts(24)) == direct
        assert fits.pairs(volts(24, current="AC")) == []
        assert fits.pairs(volts(24, current="DC")) == direct
        assert fits.pairs(volts(24, 230)) == mains + direct
        assert fits.pairs(volts(230)) == mains


def test_the_poles_that_can_make_a_drives_input_act() -> None:
    """Its own supply can, whatever its voltage; another one where its voltage fits, the mains never. The higher pole is first."""
    fits = Fits(sources(MAINS, DIRECT, "G2: {kind: dc-supply, voltage: 12 V DC}"))
    for _ in range(2):
        assert fits.acting(volts(24), "G2") == [("G1", 3, 4), ("G2", 5, 6)]
        assert fits.acting(volts(24), "another") == [("G1", 3, 4)]
        assert fits.acting(volts(12), "another") == [("G2", 5, 6)]
        assert fits.acting(volts(12, 24), "another") == [("G1", 3, 4), ("G2", 5, 6)]
        assert fits.acting(None, "another") == [("G1", 3, 4), ("G2", 5, 6)]


def test_the_poles_that_can_feed_a_single_phase_input() -> None:
    fits = Fits(sources(DIRECT, MAINS))
    ways = [("G0", (2, 3)), ("G0", (2, 4)), ("G0", (3, 2)), ("G0", (4, 2))]
    for _ in range(2):
        assert fits.ways(Feed((A, B), 200.0, 240.0)) == ways
        assert fits.ways(Feed((A, B))) == ways
        assert fits.ways(Feed((A, B), 230.0, 230.0)) == ways
        assert fits.ways(Feed((A, B), 230.1)) == []
        assert fits.ways(Feed((A, B), None, 229.9)) == []


def test_two_phases_do_not_feed_a_three_phase_input() -> None:
    """Of the poles L1 0, L2 1, L3 2, N 3, PE 4 there are 400 V between the first three alone."""
    fits = Fits(sources(THREE))
    feed = Feed((A, B, terminal("T1:3")), 380.0, 420.0)
    assert {way for _, way in fits.ways(feed)} == {(0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0)}
    assert Fits(sources(MAINS)).ways(feed) == []


def test_what_may_not_be_joined_are_poles_with_a_voltage_between_them_each_pair_once() -> None:
    fits = Fits(sources(MAINS, DIRECT))
    assert fits.shorting == {
        "G0": [(terminal("G0:L"), terminal("G0:N")), (terminal("G0:L"), terminal("G0:PE"))],
        "G1": [(terminal("G1:+"), terminal("G1:-"))],
    }


def test_a_source_lives_as_long_as_what_feeds_it_whatever_their_order_in_the_plan() -> None:
    """The direct supply hangs on the second transformer, that one on the first one behind S1, and G3 on itself alone."""
    model = model_of(
        [
            "G1: {kind: dc-supply, voltage: 24 V DC}",
            "T2: {kind: transformer, primary_voltage: 48 V, secondary_voltage: 24 V}",
            "T1: {kind: transformer, primary_voltage: 230 V, secondary_voltage: 48 V}",
            "T3: {kind: transformer, primary_voltage: 230 V, secondary_voltage: 230 V}",
            "T4: {kind: transformer, primary_voltage: 24 V, secondary_voltage: 24 V}",
            MAINS,
            "S1: {kind: push-button, contacts: {13-14: NO}}",
        ],
        ["G0:L S1:13", "S1:14 T1:1", "G0:N T1:2", "T1:3 T2:1", "T1:4 T2:2", "T2:3 G1:L", "T2:4 G1:N", "T3:3 T3:1", "T3:4 T3:2",
         "G0:L T4:1", "G0:N T4:2"],
    )  # fmt: skip
    on, pressed = model.space.at("G0", "on"), model.space.at("S1", "pressed")
    assert model.supplies.live == {
        "G1": on & pressed,
        "T2": on & pressed,
        "T1": on & pressed,
        "T3": 0,
        "T4": 0,  # fed with ten times what it is made for
        "G0": on,
    }


def test_what_is_at_two_poles_is_energised_but_where_its_ends_are_joined() -> None:
    model = model_of(
        [
            MAINS,
            DIRECT,
            "S1: {kind: push-button, contacts: {13-14: NO}}",
            "S2: {kind: push-button, contacts: {13-14: NO}}",
            "V1: {kind: diode}",
            "P1: {kind: lamp, voltage: 24 V}",
        ],
        [*FEED, "G1:+ S1:13", "S1:14 P1:X1 S2:13", "S2:14 P1:X2 V1:A", "V1:K G1:-"],
    )
    on, one, two = model.space.at("G0", "on"), model.space.at("S1", "pressed"), model.space.at("S2", "pressed")
    a, b, supplies = terminal("P1:X1"), terminal("P1:X2"), model.supplies
    for ends in ((a, b), (b, a)):
        assert supplies.energised(*ends, volts(24)) == on & one & ~two
        assert supplies.energised(*ends, None, ("G1",)) == on & one & ~two
        assert supplies.energised(*ends, None, ("G0",)) == 0
        assert supplies.energised(*ends, volts(230)) == 0
    assert supplies.shorts(supplies.sources[1]) == on & one & two
    assert supplies.shorts(supplies.sources[0]) == 0


def test_a_pole_reaches_through_a_diode_in_its_direction_and_not_at_all_where_none_is_to_be_passed() -> None:
    model = model_of(
        [MAINS, DIRECT, "S1: {kind: push-button, contacts: {13-14: NO}}", "V1: {kind: diode}", "V2: {kind: diode}"],
        [*FEED, "G1:+ S1:13", "S1:14 V1:A V2:K"],
    )
    direct = model.supplies.sources[1]
    plus, pressed = terminal("G1:+"), model.space.at("S1", "pressed")
    found = {end: model.supplies.at(direct, plus, terminal(end)) for end in ("S1:14", "V1:K", "V2:A", "G1:-")}
    assert found == {"S1:14": pressed, "V1:K": pressed, "V2:A": 0, "G1:-": 0}
    assert [model.supplies.at(direct, plus, terminal(end), NEVER) for end in ("S1:14", "V1:K")] == [pressed, 0]
    assert [model.supplies.at(direct, plus, terminal(end), MINUS) for end in ("V2:A", "V1:K")] == [pressed, 0]


def test_a_drives_input_acts_at_the_higher_pole_and_its_own_supply_need_not_be_live() -> None:
    model = model_of(
        [
            MAINS,
            DIRECT,
            "S1: {kind: push-button, contacts: {13-14: NO}}",
            "S2: {kind: push-button, contacts: {13-14: NO}}",
            "T1: {kind: terminal-block}",
        ],
        [*FEED, "G1:+ S1:13", "S1:14 T1:1 S2:13", "S2:14 T1:2 G1:-"],
    )
    on, one, two = model.space.at("G0", "on"), model.space.at("S1", "pressed"), model.space.at("S2", "pressed")
    supplies = model.supplies
    assert supplies.acts(A, B, volts(24), "another") == on & one & ~two
    assert supplies.acts(A, B, volts(12), "G1") == one & ~two
    assert supplies.acts(B, A, volts(24), "G1") == 0
    assert supplies.acts(A, B, volts(12), "another") == 0
    supplies.lost = ("G1",)
    assert supplies.acts(A, B, volts(24), "G1") == 0


def test_either_of_two_supplies_makes_an_input_act() -> None:
    """The one stands at its terminals for good, the other one reaches them while S1 is pressed."""
    buttons = ["S1: {kind: push-button, contacts: {13-14: NO}}", "S2: {kind: push-button, contacts: {13-14: NO}}"]
    model = model_of(
        [MAINS, DIRECT, "G2: {kind: dc-supply, voltage: 24 V DC}", *buttons],
        ["G1:+ S1:13", "G2:+ S2:13", "S1:14 S2:14", "G1:- G2:-"],
    )
    one, two = model.space.at("S1", "pressed"), model.space.at("S2", "pressed")
    a, b = terminal("S1:14"), terminal("G1:-")
    model.supplies.live.update(G1=model.space.full, G2=model.space.full)
    assert model.supplies.acts(a, b, volts(24), "another") == one | two
    assert model.supplies.energised(a, b, volts(24)) == one | two
    assert model.supplies.acts(terminal("G1:+"), b, volts(24), "G1") == model.space.full


def test_each_pair_of_poles_that_is_joined_is_a_short() -> None:
    buttons = ["S1: {kind: push-button, contacts: {13-14: NO}}", "S2: {kind: push-button, contacts: {13-14: NO}}"]
    model = model_of([MAINS, *buttons], ["G0:L S1:13 S2:13", "G0:N S1:14", "G0:PE S2:14"])
    on, one, two = model.space.at("G0", "on"), model.space.at("S1", "pressed"), model.space.at("S2", "pressed")
    for _ in range(2):
        assert model.supplies.shorts(model.sources[0]) == on & (one | two)
