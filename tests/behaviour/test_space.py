"""Sets of states, each operation against the states one by one, and what a plan that is too large is told."""

from __future__ import annotations

import pytest

from tests.circuit.networks import plan_text, terminal
from wirecheck.behaviour import model as model_module
from wirecheck.behaviour.model import Model, bits_of, too_large, width_of
from wirecheck.behaviour.space import Move, Space, digest, has, lowest, minus, numbers, sum_of
from wirecheck.errors import TooLarge
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Plan

CODES = {"S1": ("off", "one", "two"), "X1": ("there",), "K1": ("out", "in")}
"""S1 has the two lowest bits, X1 the next one, K1 the highest."""


@pytest.fixture
def space() -> Space:
    return Space(CODES)


def set_of(*states: int) -> int:
    return sum(1 << number for number in states)


def test_a_state_number_packs_the_code_of_every_variable(space: Space) -> None:
    assert {name: (v.low, v.width) for name, v in space.variables.items()} == {"S1": (0, 2), "X1": (2, 1), "K1": (3, 1)}
    assert (space.bits, space.full) == (4, (1 << 16) - 1)
    assert space.decode(0b1010) == {"S1": "two", "X1": "there", "K1": "in"}
    assert space.encode({"S1": "two", "K1": "in"}) == 0b1010
    assert space.encode({}) == 0
    assert space.at("S1", "one") == set_of(1, 5, 9, 13)
    assert space.at("S1", "off") == set_of(0, 4, 8, 12)
    assert space.at("X1", "there") == set_of(0, 1, 2, 3, 8, 9, 10, 11)
    assert space.at("K1", "in") == space.bit("K1") == space.ones(3) == set_of(*range(8, 16))
    assert [space.ones(bit) for bit in range(2)] == [set_of(1, 3, 5, 7, 9, 11, 13, 15), set_of(2, 3, 6, 7, 10, 11, 14, 15)]
    with pytest.raises(KeyError):
        space.at("S2", "off")
    with pytest.raises(ValueError, match="not in tuple"):
        space.at("S1", "three")


def test_turning_bits_over_and_the_same_as_shifts(space: Space) -> None:
    some = set_of(0, 3, 6, 9)
    assert space.flip(some, (0, 3)) == set_of(9, 10, 15, 0)
    assert space.flip(some, ()) == some
    found = space.shifts(Move(some, (0, 3)))
    assert {by: mask for mask, by in found} == {9: set_of(0, 6), 7: set_of(3), -9: set_of(9)}
    assert len(found) == 3


def test_changes_move_each_state_to_where_its_bits_are_as_they_should_be(space: Space) -> None:
    some, wanted = set_of(0, 1, 8, 9), set_of(0, 9, 10)
    moves = space.change(some, {0: space.full, 3: wanted})
    assert {(number, move.bits) for move in moves for number in numbers(move.mask)} == {
        (0, (0, 3)),  # to have bit 0, and to be in
        (8, (0, 3)),  # to have it too, and to be out; 1 and 9 are as they should be
    }
    assert space.assign(space.full, "K1", "in") == [Move(minus(space.full, space.at("K1", "in")), (3,))]
    two = {(number, move.bits) for move in space.assign(set_of(0, 1, 2), "S1", "two") for number in numbers(move.mask)}
    assert two == {(0, (1,)), (1, (0, 1))}
    assert space.targets("S1", 2) == {0: 0, 1: space.full}


def test_sets_are_told_by_their_numbers(space: Space) -> None:
    some = set_of(1, 7, 8, 15)
    assert numbers(some) == [1, 7, 8, 15]
    assert numbers(0) == []
    assert lowest(set_of(6, 9)) == 6
    assert minus(some, set_of(7, 9)) == set_of(1, 8, 15)
    assert sum_of([1, 4, 2]) == 7
    assert digest(some) == digest(set_of(1, 7, 8, 15)) != digest(set_of(1, 7, 8))
    assert len(digest(some)) == 16
    assert [has(some, number) for number in (1, 2, 15, 16)] == [True, False, True, False]
    assert space.only(5) == set_of(5)


@pytest.mark.parametrize(("codes", "bits"), [(1, 1), (2, 1), (3, 2), (4, 2), (5, 3), (8, 3), (9, 4)])
def test_a_variable_has_as_many_bits_as_its_codes_need(codes: int, bits: int) -> None:
    assert width_of(["code"] * codes) == bits
    assert Space({"S1": [str(n) for n in range(codes)]}).bits == bits


def bench() -> Plan:
    devices = [
        "G0: {kind: mains, phases: 1, voltage: 230 V}",
        "F1: {kind: fuse}",
        "F2: {kind: circuit-breaker, poles: [1-2]}",
        "S1: {kind: selector, positions: [off, one, two, three, four], contacts: {13-14: {closed_in: [one]}}}",
        "S2: {kind: selector, positions: [off, one, two], contacts: {13-14: {closed_in: [one]}}}",
        "K1: {kind: timer-relay, mode: on-delay, delay: 1 s, coil: 230 V AC, contacts: {17-18: NO}}",
        "K2: {kind: relay, coil: 230 V AC, contacts: {13-14: {form: NO, on_delay: 1 s}}}",
        "P1: {kind: lamp, voltage: 230 V}",
    ]
    return read_plan_text(plan_text(devices, ["G0:L F1:1"]), "bench")


def test_the_bits_of_a_plan_and_of_some_of_its_devices() -> None:
    assert bits_of(bench()) == Model(bench()).space.bits == 1 + 1 + 1 + 3 + 2 + 2 + 2
    assert bits_of(bench(), frozenset({"S1", "K1", "P1"})) == 5
    assert bits_of(bench(), frozenset()) == 0


def test_what_is_too_large_is_told_with_what_makes_it_so_and_what_can_be_done(monkeypatch: pytest.MonkeyPatch) -> None:
    """The largest come first, those of equal size in the plan's order, four at most; what has two positions is not named."""
    monkeypatch.setattr(model_module, "MOST_BITS", 10)
    told = str(too_large("this bench", "check it in two", bench(), bench().devices))
    assert told == (
        "this bench is too much to be tried in one: its devices together can stand in 4,096 ways, and up to 1,024 are tried; "
        "most of them come from S1 (8), S2 (4), K1 (4), K2 (4). What you can do: check it in two, or write a plain wire in place "
        "of one of F1, F2, in the next check of another: half as many are left"
    )
    small = str(too_large("this bench", "check it in two", bench(), ["G0", "P1"], 11))
    assert small == (
        "this bench is too much to be tried in one: its devices together can stand in 2,048 ways, and up to 1,024 are tried. "
        "What you can do: check it in two"
    )
    with pytest.raises(
        TooLarge, match=r"^all of network is too much .*: check each motor's circuit as a plan of its own, or write"
    ):
        Model(bench())
    monkeypatch.setattr(model_module, "MOST_BITS", 12)
    assert Model(bench()).space.bits == 12
    with pytest.raises(TooLarge, match="can stand in 8,192 ways, and up to 4,096 are tried"):
        Model(bench(), frozenset({"G0"}))


ORDER = ["G0", "F1", "S1", "K1", "K1 delayed", "T1", "T1 power", "T1 keypad", "G0 dead"]


def test_in_a_large_plan_what_follows_from_others_comes_last(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is put by hand, then what has a coil, then drives, then what is dead; each sort in the plan's order."""
    devices = [
        "T1: {kind: drive, control: {mode: two-wire}}",
        "G0: {kind: mains, phases: 1, voltage: 230 V}",
        "K1: {kind: timer-relay, mode: on-delay, delay: 1 s, coil: 230 V AC, contacts: {17-18: NO}}",
        "F1: {kind: fuse}",
        "S1: {kind: push-button, contacts: {13-14: NO}}",
    ]
    plan = read_plan_text(plan_text(devices, ["G0:L F1:1"]), "order")
    small = list(Model(plan, frozenset({"G0"})).space.variables)
    assert small == ["T1", "T1 power", "T1 keypad", "G0", "K1", "K1 delayed", "F1", "S1", "G0 dead"]
    monkeypatch.setattr(model_module, "MOST_IN_ONE", 2)
    assert list(Model(plan, frozenset({"G0"})).space.variables) == ORDER


INTERLOCKED = [
    "G0: {kind: mains, phases: 1, voltage: 230 V}",
    "Q1: {kind: contactor, coil: 230 V AC, poles: [1-2], mechanical_interlock: Q2}",
    "Q2: {kind: contactor, coil: 230 V AC, poles: [1-2]}",
    "Q3: {kind: contactor, coil: 230 V AC, poles: [1-2], mechanical_interlock: Q2}",
    "Q4: {kind: contactor, coil: 230 V AC, poles: [1-2]}",
]


def test_an_interlock_is_known_from_either_side() -> None:
    model = Model(read_plan_text(plan_text(INTERLOCKED, ["G0:L Q1:1"]), "interlocked"))
    assert model.interlocks == {"Q1": {"Q2"}, "Q2": {"Q1", "Q3"}, "Q3": {"Q2"}}


def test_a_source_that_can_die_is_not_live_while_it_is_dead() -> None:
    model = Model(bench(), frozenset({"G0"}))
    assert model.space.variables["G0 dead"].codes == ("no", "yes")
    assert model.alive(model.sources[0]) == model.space.at("G0", "on") & model.space.at("G0 dead", "no")
    assert Model(bench()).alive(model.sources[0]) == Model(bench()).space.at("G0", "on")


def test_what_conducts_always_what_is_wired_and_what_is_asked_for_by_name() -> None:
    model = Model(bench())
    (wire,) = (e for e in model.elements if e.kind == "wire")
    assert model.conducts(wire) == model.space.full
    assert (model.is_wired(terminal("G0:L")), model.is_wired(terminal("G0:N"))) == (True, False)
    contact = model.plan.devices["S1"].contacts[0]
    assert model.element_of(contact).contact is contact
    assert model.conducts(model.element_of(contact)) == model.space.at("S1", "one")
    assert wire in list(model.conducting())
    assert not [e for e in model.conducting() if e.kind in ("coil", "load")]


def test_what_is_asked_for_again_and_again_is_worked_out_once() -> None:
    inputs = "inputs: {DI1: run-forward, DI2: fault-reset, DI3: {does: external-trip, acts_when: closed}, DI4: enable}"
    drive = f"T1: {{kind: drive, control: {{mode: three-wire, {inputs}, supply: {{plus: P24, common: COM}}}}}}"
    devices = ["G0: {kind: mains, phases: 1, voltage: 230 V}", drive, *(f"S{n}: {SWITCH}" for n in (1, 2, 3, 4))]
    runs = ["G0:L T1:L", "G0:N T1:N", "T1:P24 S1:13 S2:13 S3:13 S4:13", *(f"S{n}:14 T1:DI{n}" for n in (1, 2, 3, 4))]
    model = Model(read_plan_text(plan_text(devices, runs), "once"))
    (part,) = model.drives()
    assert model.space.at("S1", "pressed") is model.space.at("S1", "pressed")
    assert model.conducts(model.element_by_contact["S1:13-14"]) is model.conducts(model.element_by_contact["S1:13-14"])
    assert model.raw(part) is model.raw(part)
    output = next(source for source in model.sources if source.role == "output")
    assert model.alive(output) is model.alive(output)
    assert model.supplies.shorts(output) is model.supplies.shorts(output)
    first, again = part.perceptions(model), part.perceptions(model)
    assert len(first) == len(again) > 8
    assert all(one is other for one, other in zip(first, again, strict=True))


SWITCH = "{kind: push-button, contacts: {13-14: NO}}"
