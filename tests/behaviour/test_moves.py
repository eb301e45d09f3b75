"""What each device does of itself and what can be done to it, in every state one by one, against what its kind is said to do.

A few lines say for one state what may come next; that is held against the moves of the engine in all states.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from random import Random

import pytest

from tests.behaviour.test_coils import HEAD, RELEASE, SAFETY, THERMISTOR, TIED, TIMER, how
from wirecheck.behaviour.coils import is_delayed
from wirecheck.behaviour.model import Model
from wirecheck.behaviour.space import Move, Space
from wirecheck.plan import read_plan_text

At = Mapping[str, str]
MOST = 512
"""So many states are looked at."""

Next = Callable[[At], Iterable[At]]
"""What the device itself may change in a state: each time what it changes, by variable."""


class Stuck(Model):
    """A model in which whatever is in stays in."""

    def stays_in(self, device: str) -> bool:
        return device.startswith("K")


def is_lit(at: At) -> bool:
    return at["G0"] == "on"


def steps(space: Space, moves: Iterable[Move]) -> list[tuple[At, At]]:
    """Every state in which one of the moves is possible, with what is changed by it."""
    found: list[tuple[At, At]] = []
    real = {number: space.decode(number) for number in possible(space)}
    for move in moves:
        turned = sum(1 << bit for bit in move.bits)
        for number, old in real.items():
            if move.mask >> number & 1:
                new = space.decode(number ^ turned)
                found.append((old, {name: code for name, code in new.items() if code != old[name]}))
    return found


def possible(space: Space) -> list[int]:
    """Every state in which each variable has a code: three codes leave one of four numbers over; of many some drawn by lot."""

    def is_real(number: int) -> bool:
        return all((number >> v.low & (1 << v.width) - 1) < len(v.codes) for v in space.variables.values())

    every = range(1 << space.bits)
    return [number for number in (every if len(every) <= MOST else Random(1).sample(every, MOST)) if is_real(number)]


def told(space: Space, device: Next) -> list[tuple[At, At]]:
    """The same in every state by the words of the kind; what changes nothing is no move."""
    found: list[tuple[At, At]] = []
    for number in possible(space):
        at = space.decode(number)
        each = [{name: code for name, code in to.items() if code != at[name]} for to in device(at)]
        found += [(at, change) for change in each if change]
    return found


def in_order(found: list[tuple[At, At]]) -> list[str]:
    return sorted(f"{sorted(old.items())} {sorted(new.items())}" for old, new in found)


def relay(at: At) -> Iterable[At]:
    """Q1 has a mechanical interlock with Q2."""
    wants, free = is_lit(at) and at["S1"] == "pressed", at["Q2"] == "out"
    if at["Q1"] == "out" and wants and free:
        yield {"Q1": "in"}
    if at["Q1"] == "in" and not wants:
        yield {"Q1": "out"}


CHANGEOVER = (
    HEAD
    + """\
  S1: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 230 V AC, contacts: {11-12-14: CO, 23-24: NO, 31-32: NC}}
  K2: {kind: relay, coil: 230 V AC, contacts: {11-12: NC}}
wires:
  - {number: L, run: ["G0:L", "S1:13", "K2:11"]}
  - {number: 1, run: ["S1:14", "K1:A1"]}
  - {number: 2, run: ["K2:12", "K2:A1"]}
  - {number: N, run: ["G0:N", "K1:A2", "K2:A2"]}
"""
)


def changeover(at: At) -> Iterable[At]:
    """A relay takes a moment over, and may turn back on its way."""
    wants = is_lit(at) and at["S1"] == "pressed"
    onward = {"out": "going in", "going in": "in", "going out": "in"} if wants else {}
    back = {} if wants else {"going in": "out", "in": "going out", "going out": "out"}
    for way in (onward, back):
        if at["K1"] in way:
            yield {"K1": way[at["K1"]]}


def changeover_stuck(at: At) -> Iterable[At]:
    return (to for to in changeover(at) if to["K1"] in ("in", "going in")) if at["K1"] != "going out" else [{"K1": "in"}]


def never(at: At) -> Iterable[At]:
    """It has nothing that could pull it in."""
    return [{"K1": {"going in": "out", "in": "going out"}.get(at["K1"], "out")}]


LATE = (
    HEAD
    + """\
  S1: {kind: push-button, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 230 V AC, contacts: {13-14: {form: NO, on_delay: 2 s}}}
wires:
  - {number: L, run: ["G0:L", "S1:13"]}
  - {number: 1, run: ["S1:14", "K1:A1"]}
  - {number: N, run: ["G0:N", "K1:A2"]}
"""
)


def late(at: At) -> Iterable[At]:
    """Its contact closes late and opens with it, or by itself where it is found closed."""
    wants = is_lit(at) and at["S1"] == "pressed"
    if at["K1"] == "out" and wants:
        yield {"K1": "in"}
    if at["K1"] == "in" and not wants:
        yield {"K1": "out", "K1:13-14": "open"}
    if at["K1"] == "out":
        yield {"K1:13-14": "open"}


def timer_on(at: At) -> Iterable[At]:
    wants = is_lit(at) and at["S1"] == "run"
    if at["K1"] == "out" and wants:
        yield {"K1": "in"}
    if at["K1"] == "in" and not wants:
        yield {"K1": "out", "K1 delayed": "out"}


def timer_off(at: At) -> Iterable[At]:
    wants = is_lit(at) and at["S1"] == "run"
    if at["K1"] == "out" and wants:
        yield {"K1": "in", "K1 delayed": "in"}
    if at["K1"] == "in" and not wants:
        yield {"K1": "out"}


def thermistor(at: At) -> Iterable[At]:
    yield {"K1": "in" if is_lit(at) and at["B1"] == "cold" else "out"}


def thermistor_by_hand(at: At) -> Iterable[At]:
    if is_lit(at) and at["B1"] == "hot":
        yield {"K1": "out", "K1 tripped": "yes"}  # dropping out and remembering are one
    else:
        yield {"K1": "in" if is_lit(at) and at["K1 tripped"] == "no" else "out"}


def thermistor_stuck(at: At) -> Iterable[At]:
    if is_lit(at) and at["B1"] == "hot":
        yield {"K1 tripped": "yes"}
    elif is_lit(at) and at["K1 tripped"] == "no":
        yield {"K1": "in"}


def safety(monitored: bool) -> Next:
    """Out, ready for its reset once both channels have been open or the supply away, armed while a monitored reset is held."""

    def device(at: At) -> Iterable[At]:
        channels, loop = [at["S1"] == "released", at["S2"] == "released"], at["S5"] == "pressed"
        if not (is_lit(at) and all(channels)):
            ready = at["K1"] in ("ready", "armed") or not is_lit(at) or not any(channels)
            yield {"K1": "ready" if ready else "out"}
        elif not monitored:
            yield from [{"K1": "in"}] if at["K1"] == "ready" and loop else []
        elif at["K1"] in ("ready", "armed"):
            yield from [{"K1": "armed"}] if loop else []
            yield from [{"K1": "in"}] if not loop and at["K1"] == "armed" else []

    return device


def release(at: At) -> Iterable[At]:
    """Its coil hangs behind its own pole and S1; the pole is closed while start goes down, and afterwards by the coil."""
    closed = at["Q1"] == "pressing" or (at["Q1 latched"] == "in" and at["Q1"] != "stop")
    energised = closed and is_lit(at) and at["S1"] == "released"
    if at["Q1"] == "pressing" and energised:
        yield {"Q1 latched": "in"}
    if not energised or at["Q1"] == "stop":
        yield {"Q1 latched": "out"}


MOVES: Mapping[str, tuple[type[Model], str, str, Next]] = {
    "tied contactor": (Model, TIED, "Q1", relay),
    "change-over": (Model, CHANGEOVER, "K1", changeover),
    "change-over that stays in": (Stuck, CHANGEOVER, "K1", changeover_stuck),
    "relay with a contact that closes late": (Model, LATE, "K1", late),
    "relay of another voltage": (Model, CHANGEOVER.replace("coil: 230 V AC", "coil: 24 V AC"), "K1", never),
    "timer that is late going in": (Model, how(TIMER, "on-delay"), "K1", timer_on),
    "timer that is late going out": (Model, how(TIMER, "off-delay"), "K1", timer_off),
    "thermistor relay": (Model, how(THERMISTOR, "automatic"), "K1", thermistor),
    "thermistor relay whose sensor terminals are not stated": (
        Model,
        how(THERMISTOR, "automatic").replace("sensor: [T1, T2], ", ""),
        "K1",
        thermistor,
    ),
    "thermistor relay with other sensor terminals": (
        Model,
        how(THERMISTOR, "automatic")
        .replace("sensor: [T1, T2]", "sensor: [Y1, Y2]")
        .replace("K1:T1", "K1:Y1")
        .replace("K1:T2", "K1:Y2"),
        "K1",
        thermistor,
    ),
    "thermistor relay with a reset by hand": (Model, how(THERMISTOR, "manual"), "K1", thermistor_by_hand),
    "thermistor relay that stays in": (Stuck, how(THERMISTOR, "manual"), "K1", thermistor_stuck),
    "safety relay": (Model, how(SAFETY, "manual"), "K1", safety(monitored=False)),
    "safety relay with a monitored reset": (Model, how(SAFETY, "monitored"), "K1", safety(monitored=True)),
    "no-volt release": (Model, RELEASE, "Q1", release),
}


@pytest.mark.parametrize("name", MOVES)
def test_a_device_moves_of_itself_as_its_kind_says_in_every_state(name: str) -> None:
    kind, text, device, device_moves = MOVES[name]
    model = kind(read_plan_text(text, name))
    moves = model.parts[device].moves(model)
    assert in_order(steps(model.space, moves)) == in_order(told(model.space, device_moves))
    assert all(move.mask and move.bits for move in moves)


@pytest.mark.parametrize(("mode", "running", "ends"), [("on-delay", "in", "in"), ("off-delay", "out", "out")])
def test_a_timers_delay_runs_while_its_contacts_are_not_where_its_coil_is(mode: str, running: str, ends: str) -> None:
    model = Model(read_plan_text(how(TIMER, mode), mode))
    ((seconds, mask, moves),) = model.parts["K1"].pending(model)
    other = {"in": "out", "out": "in"}[running]
    assert seconds == 2.0
    assert mask == model.space.at("K1", running) & model.space.at("K1 delayed", other)
    assert in_order(steps(model.space, moves)) == in_order(
        told(model.space, lambda at: [{"K1 delayed": ends}] if (at["K1"], at["K1 delayed"]) == (running, other) else [])
    )


def test_a_timers_contact_is_delayed_where_both_its_marks_say_so() -> None:
    assert [is_delayed(name) for name in ("17-18", "25-28", "107-108", "13-14", "15-14", "13-17")] == [True] * 3 + [False] * 3


def staged(text: str, event: str) -> list[list[str]]:
    """The stages of an event, each with all that it moves."""
    model = Model(read_plan_text(text, "staged"))
    (rule,) = (rule for rule in model.events if str(rule.event) == event)
    return [in_order(steps(model.space, stage)) for stage in rule.stages]


def expected(text: str, *stages: Next) -> list[list[str]]:
    space = Model(read_plan_text(text, "staged")).space
    return [in_order(told(space, stage)) for stage in stages]


def test_a_trip_is_reset_by_hand_once_the_sensor_is_cold() -> None:
    text = how(THERMISTOR, "manual")
    assert staged(text, "K1=reset") == expected(text, lambda at: [{"K1 tripped": "no"}] if at["B1"] == "cold" else [])
    automatic = Model(read_plan_text(how(THERMISTOR, "automatic"), "automatic"))
    assert {str(rule.event) for rule in automatic.events} == {"G0=off", "G0=on", "B1=cold", "B1=hot"}


def test_the_start_of_a_no_volt_release_goes_down_before_it_is_held() -> None:
    assert staged(RELEASE, "Q1=start") == expected(
        RELEASE,
        lambda at: [{"Q1": "pressing"}] if at["Q1"] in ("off", "stop") else [],
        lambda at: [{"Q1": "start"}] if at["Q1"] == "pressing" else [],
    )
    assert staged(RELEASE, "Q1=stop") == expected(RELEASE, lambda at: [{"Q1": "stop"}] if at["Q1"] in ("off", "start") else [])


CONTACTS = {
    "K1:11-12": ("out",),
    "K1:11-14": ("in",),
    "K1:23-24": ("in", "going out"),
    "K1:31-32": ("out", "going in"),
}
"""On the way both halves of the change-over are open, and every other contact is still as it was."""


def test_a_relay_on_its_way_has_both_halves_of_a_changeover_open_and_the_other_contacts_as_they_were() -> None:
    model = Model(read_plan_text(CHANGEOVER, "changeover"))
    assert model.space.variables["K1"].codes == ("out", "going in", "in", "going out")
    assert model.space.variables["K2"].codes == ("out", "in")
    for name, codes in CONTACTS.items():
        assert model.conducts(model.element_by_contact[name]) == sum(model.space.at("K1", code) for code in codes)


def test_a_timers_contacts_follow_its_coil_or_its_delay() -> None:
    model = Model(read_plan_text(how(TIMER, "on-delay"), "timer"))
    found = {name: model.conducts(model.element_by_contact[name]) for name in ("K1:15-16", "K1:17-18", "K1:23-24")}
    at = model.space.at
    assert found == {"K1:15-16": at("K1 delayed", "out"), "K1:17-18": at("K1 delayed", "in"), "K1:23-24": at("K1", "in")}


def test_of_a_timer_whose_delay_is_not_stated_it_is_nothing() -> None:
    model = Model(read_plan_text(how(TIMER, "on-delay").replace("delay: 2 s, ", ""), "no delay"))
    assert [seconds for seconds, _, _ in model.parts["K1"].pending(model)] == [0.0]


def test_a_relay_is_in_no_named_state_on_its_way() -> None:
    model = Model(read_plan_text(CHANGEOVER, "changeover"))
    part, at = model.parts["K1"], model.space.at
    assert [part.state(model.space, code) for code in ("out", "in", "going in")] == [at("K1", "out"), at("K1", "in"), 0]


def test_a_break_contact_of_a_safety_relay_is_closed_whenever_that_is_not_in() -> None:
    text = how(SAFETY, "monitored").replace("    contacts: {13-14: NO}\n", "    contacts: {13-14: NO, 21-22: NC}\n")
    model = Model(read_plan_text(text, "safety relay"))
    at, contacts = model.space.at, model.element_by_contact
    assert model.conducts(contacts["K1:13-14"]) == at("K1", "in")
    assert model.conducts(contacts["K1:21-22"]) == at("K1", "out") | at("K1", "ready") | at("K1", "armed")


def test_the_contacts_of_a_no_volt_release_follow_its_start_and_what_it_holds() -> None:
    text = RELEASE.replace("poles: [1-2]", "poles: [1-2], contacts: {21-22: NC}")
    model = Model(read_plan_text(text, "release"))
    at, contacts, full = model.space.at, model.element_by_contact, model.space.full
    closed = at("Q1", "pressing") | (at("Q1 latched", "in") & (at("Q1", "off") | at("Q1", "start")))
    assert model.conducts(contacts["Q1:1-2"]) == closed
    assert model.conducts(contacts["Q1:21-22"]) == full ^ closed
    assert model.parts["Q1"].state(model.space, "another") == 0


class Held(Model):
    """A model in which voltage through other loads keeps K1 in."""

    def held(self, device: str) -> int:
        return self.space.full if device == "K1" else 0


def test_a_relay_is_told_whether_it_is_energised_held_and_stuck() -> None:
    for kind, held, stuck in ((Model, 0, False), (Held, -1, False), (Stuck, 0, True)):
        model = kind(read_plan_text(CHANGEOVER, "changeover"))
        space = model.space
        energised = space.at("G0", "on") & space.at("S1", "pressed")
        assert model.parts["K1"].told(model) == (energised, held & space.full, stuck)
