"""What devices with positions bring along: their codes, when each contact conducts, and what each event moves, stage by stage."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

import pytest

from tests.behaviour.test_moves import At, in_order, steps, told
from tests.circuit.networks import plan_text
from wirecheck.behaviour.model import Model
from wirecheck.behaviour.parts import EventRule, Part, closing_delay, opening_delay, rounds_of, setting
from wirecheck.behaviour.space import Move
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Event

CLOSED = "{closed_in: [%s]}"
SELECTOR = f"S1: {{kind: selector, positions: [a, b, c], contacts: {{13-14: {CLOSED % 'a'}, 23-24: {CLOSED % 'b, c'}}} WORDS}}"
ISOLATOR = "Q1: {kind: isolator, poles: [1-2], contacts: {13-14: NO, 21-22: NC, 33-34: {form: NO, early_break: true}}}"
PLUG = "X5: {kind: plug-connector, poles: [1-2, 3-4], first_make: [3-4]}"
BUTTON = "S1: {kind: push-button, contacts: {11-12-14: CO, 23-24: NO}}"


def device(text: str) -> tuple[Model, str]:
    """The model of a plan with this device alone, and its name."""
    return Model(read_plan_text(plan_text([text], []), "one device")), text.partition(":")[0]


def codes(text: str) -> tuple[str, ...]:
    model, name = device(text)
    return model.space.variables[name].codes


def closed(text: str) -> Mapping[str, set[str]]:
    """The codes of the device in which each of its contacts conducts."""
    model, name = device(text)
    there = {code: model.space.at(name, code) for code in model.space.variables[name].codes}
    found = {}
    for contact, element in model.element_by_contact.items():
        states = model.conducts(element)
        assert states == sum(s for s in there.values() if s & states == s)
        found[contact.partition(":")[2]] = {code for code, s in there.items() if s & states}
    return found


def moved(text: str, event: str) -> list[list[tuple[str, str]]]:
    """For each stage of an event from which code to which the device goes."""
    model, name = device(text)
    (rule,) = (rule for rule in model.events if str(rule.event) == f"{name}={event}")
    return [sorted((old[name], new[name]) for old, new in steps(model.space, stage)) for stage in rule.stages]


SLOW, OVERLAPPING = SELECTOR.replace("WORDS", ""), SELECTOR.replace("WORDS", ", make_before_break: true")


@pytest.mark.parametrize(
    ("text", "there"),
    [
        (SLOW, ("a", "b", "c", "between")),
        (OVERLAPPING, ("a", "b", "c", "a to b", "a to c", "b to c")),
        (SELECTOR.replace("WORDS", ", make_before_break: false"), ("a", "b", "c", "between")),
        (SLOW.replace(": selector", ": key-switch"), ("a", "b", "c", "between")),
        (f"S1: {{kind: selector, positions: [a, b, c], contacts: {{13-14: {CLOSED % 'b'}}}}}", ("a", "b", "c")),
        (f"S1: {{kind: selector, positions: [a, b, c], contacts: {{13-14: {CLOSED % 'b, c'}}}}}", ("a", "b", "c", "between")),
        (ISOLATOR, ("off", "on", "early")),
        (ISOLATOR.replace(", early_break: true", ""), ("off", "on")),
        (PLUG, ("mated", "parted", "first")),
        (PLUG.replace(", first_make: [3-4]", ""), ("mated", "parted")),
        (BUTTON, ("released", "pressed", "between")),
        (BUTTON.replace("11-12-14: CO, ", ""), ("released", "pressed")),
    ],
)
def test_a_device_has_its_positions_and_the_moments_between_them(text: str, there: tuple[str, ...]) -> None:
    assert codes(text) == there


@pytest.mark.parametrize(
    ("text", "there"),
    [
        (SLOW, {"13-14": {"a"}, "23-24": {"b", "c"}}),
        (OVERLAPPING, {"13-14": {"a", "a to b", "a to c"}, "23-24": {"b", "c", "a to b", "a to c", "b to c"}}),
        (ISOLATOR, {"1-2": {"on", "early"}, "13-14": {"on", "early"}, "21-22": {"off"}, "33-34": {"on"}}),
        (PLUG, {"1-2": {"mated"}, "3-4": {"mated", "first"}}),
        (BUTTON, {"11-12": {"released"}, "11-14": {"pressed"}, "23-24": {"pressed"}}),
    ],
)
def test_on_the_way_a_contact_is_open_or_early_or_first_or_overlaps_as_its_device_is_made(
    text: str, there: Mapping[str, set[str]]
) -> None:
    assert closed(text) == there


@pytest.mark.parametrize(
    ("text", "event", "stages"),
    [
        (SLOW, "b", [[("a", "between"), ("c", "between")], [("between", "b")]]),
        (OVERLAPPING, "b", [[("a", "a to b"), ("c", "b to c")], [("a to b", "b"), ("b to c", "b")]]),
        (OVERLAPPING, "c", [[("a", "a to c"), ("b", "b to c")], [("a to c", "c"), ("b to c", "c")]]),
        (ISOLATOR, "on", [[("off", "early")], [("early", "on")]]),
        (PLUG, "parted", [[("mated", "first")], [("first", "parted")]]),
        (BUTTON, "pressed", [[("released", "between")], [("between", "pressed")]]),
        (BUTTON.replace("11-12-14: CO, ", ""), "pressed", [[("released", "pressed")]]),
    ],
)
def test_an_event_goes_by_the_moment_between(text: str, event: str, stages: list[list[tuple[str, str]]]) -> None:
    assert moved(text, event) == stages


def test_what_can_be_done_to_a_device_is_to_put_it_into_each_position() -> None:
    assert [str(rule.event) for rule in device(SLOW)[0].events] == ["S1=a", "S1=b", "S1=c"]
    assert device("P1: {kind: lamp, voltage: 24 V}")[0].events == ()


LATE = """\
B1: {kind: limit-switch, contacts: {13-14: {form: NO, on_delay: 1 s}, 21-22: {form: NC, on_delay: 2 s}, \
33-34: {form: NO, off_delay: 1 s}, 43-44: {form: NO, on_delay: 3 s, off_delay: 4 s}, 51-52: {form: NC, off_delay: 1 s}}}"""
"""Late: one closing, one opening, one opening, one at both, one closing."""


def late() -> Model:
    return device(LATE)[0]


def test_a_late_contact_is_a_variable_that_begins_as_the_contact_is_at_rest() -> None:
    assert {name: v.codes for name, v in late().space.variables.items()} == {
        "B1": ("released", "pressed"),
        "B1:13-14": ("open", "closed"),
        "B1:21-22": ("closed", "open"),
        "B1:33-34": ("open", "closed"),
        "B1:43-44": ("open", "closed"),
        "B1:51-52": ("closed", "open"),
    }


def test_the_delays_of_a_make_and_of_a_break_contact() -> None:
    model = late()
    found = {str(c): (closing_delay(c), opening_delay(c)) for c in model.plan.devices["B1"].contacts}
    assert found == {
        "B1:13-14": (1.0, None),
        "B1:21-22": (None, 2.0),
        "B1:33-34": (None, 1.0),
        "B1:43-44": (3.0, 4.0),
        "B1:51-52": (1.0, None),
    }


def test_a_late_contact_conducts_once_its_delay_has_ended() -> None:
    model = late()
    held = {name: model.space.at(name, "closed") for name in model.space.variables if ":" in name}
    free, actuated = model.space.at("B1", "released"), model.space.at("B1", "pressed")
    assert {name: model.conducts(model.element_by_contact[name]) for name in held} == {
        "B1:13-14": actuated & held["B1:13-14"],
        "B1:21-22": free | held["B1:21-22"],
        "B1:33-34": actuated | held["B1:33-34"],
        "B1:43-44": held["B1:43-44"],
        "B1:51-52": free & held["B1:51-52"],
    }


def at_once(at: At) -> Iterable[At]:
    """What is not late follows by itself: what closes late opens at once, and the other way round."""
    actuated = at["B1"] == "pressed"
    if not actuated:
        yield {"B1:13-14": "open"}
        yield {"B1:21-22": "closed"}
    else:
        yield {"B1:33-34": "closed"}
        yield {"B1:51-52": "open"}


def elapsed(at: At) -> Iterable[At]:
    """Of the delays that run the shortest ends, those of one length together."""
    actuated = at["B1"] == "pressed"
    running = [
        (1, "B1:13-14", "closed", actuated),
        (1, "B1:33-34", "open", not actuated),
        (1, "B1:51-52", "closed", not actuated),
        (2, "B1:21-22", "open", actuated),
        (3, "B1:43-44", "closed", actuated),
        (4, "B1:43-44", "open", not actuated),
    ]
    due = [(seconds, name, code) for seconds, name, code, runs in running if runs and at[name] != code]
    yield {name: code for seconds, name, code in due if seconds == min(s for s, _, _ in due)}


def put(position: str) -> dict[str, str]:
    """What is not late goes along with the device."""
    along = {
        "pressed": {"B1:33-34": "closed", "B1:51-52": "open"},
        "released": {"B1:13-14": "open", "B1:21-22": "closed"},
    }
    return {"B1": position, **along[position]}


def test_late_contacts_follow_go_along_and_end_their_delays() -> None:
    model = late()
    space, part = model.space, model.parts["B1"]
    assert in_order(steps(space, part.moves(model))) == in_order(told(space, at_once))
    assert [str(rule.event) for rule in part.events(model)] == ["B1=released", "B1=pressed", "B1=elapsed"]
    rules = {rule.event.position: rule.stages for rule in part.events(model)}
    for position in ("released", "pressed"):
        (moves,) = rules[position]
        wanted = told(space, lambda at, to=position: [put(to)] if at["B1"] != to else [])  # type: ignore[misc]
        assert in_order(steps(space, moves)) == in_order(wanted)
    (moves,) = rules["elapsed"]
    assert in_order(steps(space, moves)) == in_order(told(space, elapsed))


def rule(name: str, *stages: tuple[Move, ...]) -> EventRule:
    return EventRule(Event(*name.split("=")), stages)


def test_events_are_put_together_in_rounds_with_one_of_each_device_that_takes_a_moment() -> None:
    a, b, c, d, e, f, g, h, i = (Move(1 << n, (n,)) for n in range(9))
    events = [
        rule("S1=on", (a,)),
        rule("S2=one", (b,), (c,)),
        rule("S1=off", (d,)),
        rule("S2=two", (e,), (f,)),
        rule("S3=one", (g, h), (i,)),
    ]
    assert rounds_of(events) == (((a, d),), ((b, g, h), (c, i)), ((e,), (f,)))
    assert rounds_of([]) == (((),),)


def test_a_part_knows_its_states_by_name() -> None:
    model, _ = device(SLOW)
    part = model.parts["S1"]
    assert part.state(model.space, "b") == model.space.at("S1", "b")
    assert part.state(model.space, "between") == part.state(model.space, "another") == 0
    one = Part(model.plan.devices["S1"].__class__("X1", "link", model.plan.devices["S1"].spot, ("there",)))
    assert one.state(model.space, "there") == model.space.full
    assert one.variables() == {}
    assert one.events(model) == []


def test_a_button_taken_as_slow_passes_a_moment_in_which_all_its_contacts_are_open() -> None:
    given = device(BUTTON.replace("11-12-14: CO, ", ""))[0].plan.devices["S1"]
    assert Part(given).variables() == {"S1": ("released", "pressed")}
    assert Part(replace(given, values={"break_before_make": True})).variables() == {"S1": ("released", "pressed", "between")}
    assert Part(replace(given, values={"break_before_make": False})).variables() == {"S1": ("released", "pressed")}


def test_a_late_break_contact_of_a_relay_is_closed_at_rest() -> None:
    model, _ = device(
        "K1: {kind: relay, coil: 24 V DC, contacts: {11-12: {form: NC, on_delay: 1 s}, 23-24: {form: NO, on_delay: 1 s}}}"
    )
    assert {name: v.codes for name, v in model.space.variables.items()} == {
        "K1": ("out", "in"),
        "K1:11-12": ("closed", "open"),
        "K1:23-24": ("open", "closed"),
    }


def test_a_setting_is_looked_for_among_the_settings_or_where_it_is_said() -> None:
    drive = "T1: {kind: drive, control: {mode: three-wire}, settings: {both_directions: stop}}"
    found = device(drive)[0].plan.devices["T1"]
    assert setting(found, "both_directions") == "stop"
    assert setting(found, "mode") is None
    assert setting(found, "mode", "control") == "three-wire"
