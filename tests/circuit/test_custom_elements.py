"""What a custom device brings to the circuit and to the behaviour."""

from __future__ import annotations

from tests.published.plans import plan
from tests.published.playing import play_fast
from wirecheck.circuit import elements_of
from wirecheck.circuit.elements import coil_ends, coil_rating, has_coil
from wirecheck.circuit.impedances import impedances_of
from wirecheck.plan import read_plan_text

A1 = (
    "A1: {kind: custom, elements: [{coil: A1-A2, voltage: 230 V AC, power: 2 W}, {contact: 13-14, closed_in: [in]}, "
    "{load: 5-6, voltage: 24 V DC, power: 6 W}, {resistor: 7-8, resistance: 47 ohm}, {link: [6, 7]}]}"
)


def test_its_coil_load_and_resistor_are_elements() -> None:
    made = read_plan_text(plan([A1], []), "custom")
    found = {(e.kind, str(e.a), str(e.b)) for e in elements_of(made) if e.device == "A1"}
    assert found == {
        ("contact", "A1:13", "A1:14"),
        ("link", "A1:6", "A1:7"),
        ("coil", "A1:A1", "A1:A2"),
        ("load", "A1:5", "A1:6"),
        ("resistor", "A1:7", "A1:8"),
    }
    device = made.devices["A1"]
    rated = coil_rating(device)
    assert has_coil(device)
    assert coil_ends(device) == ("A1", "A2")
    assert rated is not None
    assert rated.value == 230


def test_each_has_the_resistance_of_its_own_values() -> None:
    made = read_plan_text(plan([A1], []), "custom")
    assert {i.kind: round(i.resistance_ohm, 3) for i in impedances_of(made)} == {"coil": 26450.0, "load": 96.0, "resistor": 47.0}
    assert not any(i.assumed for i in impedances_of(made))


def test_its_coil_moves_its_contacts() -> None:
    text = plan(
        [A1, "S1: {kind: push-button, contacts: {13-14: NO}}", "P1: {kind: lamp, voltage: 230 V AC}"],
        ["G0:L S1:13 A1:13", "S1:14 A1:A1", "A1:14 P1:X1", "G0:N A1:A2 P1:X2"],
    )
    assert [seen.acts for seen in play_fast(text, "G0=on")] == [set()]
    (seen,) = play_fast(text, "G0=on", "S1=pressed")
    assert seen.at["A1"] == "in"
    assert seen.acts >= {"P1"}


def test_a_device_without_a_coil_has_none() -> None:
    made = read_plan_text(plan(["A2: {kind: custom, elements: [{load: 1-2}]}"], []), "custom")
    assert not has_coil(made.devices["A2"])
