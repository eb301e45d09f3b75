"""What the devices of a plan become: contacts with their states, poles, links, positions, marks and values."""

from __future__ import annotations

import pytest

from tests.plan.texts import HEAD, device, read
from wirecheck.plan.model import Contact, Quantity


def contact(described: str, name: str) -> Contact:
    """One contact of a device."""
    return next(c for c in device(described).contacts if c.name == name)


CONDUCTS = [
    # device, contact, the states in which it conducts
    ("{kind: push-button, contacts: {13-14: NO}}", "13-14", {"pressed"}),
    ("{kind: push-button, contacts: {11-12: NC}}", "11-12", {"released"}),
    ("{kind: push-button, contacts: {11-12-14: CO}}", "11-12", {"released"}),
    ("{kind: push-button, contacts: {11-12-14: CO}}", "11-14", {"pressed"}),
    ("{kind: push-button, contacts: {11-12: {form: NC}}}", "11-12", {"released"}),
    ("{kind: push-button, contacts: {11-12: {closed_in: [released, pressed]}}}", "11-12", {"released", "pressed"}),
    ("{kind: foot-switch, contacts: {13-14: NO}}", "13-14", {"pressed"}),
    ("{kind: limit-switch, contacts: {11-12: NC}}", "11-12", {"released"}),
    ("{kind: emergency-stop, contacts: {11-12: NC}}", "11-12", {"released"}),
    ("{kind: guard-switch, contacts: {11-12: guard-closed}}", "11-12", {"closed"}),
    ("{kind: guard-switch, contacts: {11-12: guard-open}}", "11-12", {"open"}),
    ("{kind: guard-switch, contacts: {11-12: {closed_when: guard-open}}}", "11-12", {"open"}),
    ("{kind: guard-switch, contacts: {11-12-14: guard-closed}}", "11-14", {"open"}),
    ("{kind: thermal-switch, contacts: {1-2: NC}}", "1-2", {"cold"}),
    ("{kind: thermal-switch, contacts: {1-2: NO}}", "1-2", {"hot"}),
    ("{kind: selector, positions: [off, run, jog], contacts: {1-2: {closed_in: [run, jog]}}}", "1-2", {"run", "jog"}),
    ("{kind: selector, positions: [off, run, jog], contacts: {1-2-4: {closed_in: [run]}}}", "1-4", {"off", "jog"}),
    ("{kind: key-switch, positions: [off, on], contacts: {1-2: {closed_in: [on]}}}", "1-2", {"on"}),
    ("{kind: isolator, poles: [1-2], contacts: {13-14: NO}}", "13-14", {"on"}),
    ("{kind: isolator, poles: [1-2]}", "1-2", {"on"}),
    ("{kind: circuit-breaker, poles: [1-2]}", "1-2", {"on"}),
    ("{kind: residual-current-device, poles: [1-2, 3-4]}", "3-4", {"on"}),
    ("{kind: fuse}", "1-2", {"whole"}),
    ("{kind: plug-connector, poles: [1-2]}", "1-2", {"mated"}),
    ("{kind: plug-connector, poles: [1-2], first_make: [11-12]}", "11-12", {"mated"}),
    ("{kind: relay, contacts: {13-14: NO}}", "13-14", {"in"}),
    ("{kind: relay, contacts: {21-22: NC}}", "21-22", {"out"}),
    ("{kind: relay, contacts: {21-22-24: CO}}", "21-24", {"in"}),
    ("{kind: contactor, poles: [1-2, 3-4]}", "3-4", {"in"}),
    ("{kind: timer-relay, contacts: {17-18: NO}}", "17-18", {"in"}),
    ("{kind: overload-relay, poles: [1-2], contacts: {95-96: NC}}", "95-96", {"normal"}),
    ("{kind: overload-relay, poles: [1-2], contacts: {97-98: NO}}", "97-98", {"tripped"}),
    ("{kind: thermistor-relay, contacts: {11-14: NO}}", "11-14", {"in"}),
    ("{kind: safety-relay, channels: [[S11, S12]], contacts: {13-14: NO}}", "13-14", {"in"}),
    ("{kind: safety-relay, channels: [[S11, S12]], contacts: {41-42: NC}}", "41-42", {"out"}),
    ("{kind: no-volt-release, poles: [1-2]}", "1-2", {"on"}),
    ("{kind: drive, control: {relays: {RA-RC: {form: NO, acts_on: healthy}}}}", "RA-RC", {"healthy"}),
    ("{kind: drive, control: {relays: {RA-RC: {form: NC, acts_on: fault}}}}", "RA-RC", {"not fault"}),
    ("{kind: drive, control: {relays: {RC-RB-RA: {form: CO, acts_on: running}}}}", "RC-RB", {"not running"}),
    ("{kind: drive, control: {relays: {RC-RB-RA: {form: CO, acts_on: at-speed}}}}", "RC-RA", {"at-speed"}),
    ("{kind: custom, positions: [up, down], elements: [{contact: 1-2, closed_in: [down]}]}", "1-2", {"down"}),
    ("{kind: custom, elements: [{coil: A1-A2, voltage: 24 V DC}, {contact: 1-2, closed_in: [in]}]}", "1-2", {"in"}),
]


@pytest.mark.parametrize(("described", "name", "states"), CONDUCTS)
def test_a_contact_conducts_in_these_states(described: str, name: str, states: set[str]) -> None:
    assert contact(described, name).closed_in == states


@pytest.mark.parametrize(
    "kind", ["isolator", "circuit-breaker", "residual-current-device", "plug-connector", "contactor", "relay", "no-volt-release"]
)
def test_poles_are_contacts_that_say_so(kind: str) -> None:
    assert [(c.name, c.a, c.b, c.pole) for c in device(f"{{kind: {kind}, poles: [1-2, 3-4]}}").contacts] == [
        ("1-2", "1", "2", True),
        ("3-4", "3", "4", True),
    ]


@pytest.mark.parametrize("kind", ["line-filter", "line-reactor", "overload-relay"])
def test_poles_that_always_conduct_are_links(kind: str) -> None:
    found = device(f"{{kind: {kind}, poles: [1-2, 3-4], links: [[1, 3]]}}")
    assert found.links == (("1", "2"), ("3", "4"), ("1", "3"))
    assert found.contacts == ()
    assert found.marks == ("1", "2", "3", "4")


def test_a_change_over_is_two_contacts_that_share_a_name() -> None:
    opens, closes = device("{kind: relay, contacts: {21-22-24: CO}}").contacts
    assert (opens.name, opens.a, opens.b, opens.form, opens.changeover) == ("21-22", "21", "22", "NC", "21-22-24")
    assert (closes.name, closes.a, closes.b, closes.form, closes.changeover) == ("21-24", "21", "24", "NO", "21-22-24")


def test_the_long_form_of_a_contact() -> None:
    found = contact(
        "{kind: push-button, contacts: {11-12: {form: NC, direct_opening: true, early_break: true, on_delay: 2 s, "
        "off_delay: 500 ms, rating: 3 A AC-15}}}",
        "11-12",
    )
    assert (found.direct_opening, found.early_break, found.on_delay_s, found.off_delay_s, found.rating) == (
        True,
        True,
        2.0,
        0.5,
        "3 A AC-15",
    )


@pytest.mark.parametrize(
    ("described", "forced"),
    [
        ("{kind: emergency-stop, direct_opening: true, contacts: {11-12: NC, 13-14: NO}}", {"11-12"}),
        ("{kind: emergency-stop, direct_opening: true, contacts: {11-12-14: CO}}", {"11-12"}),
        ("{kind: emergency-stop, contacts: {11-12: {form: NC, direct_opening: true}, 21-22: NC}}", {"11-12"}),
        (
            "{kind: emergency-stop, direct_opening: true, contacts: {11-12: {form: NC, direct_opening: false}, 21-22: NC}}",
            {"21-22"},
        ),
        ("{kind: guard-switch, direct_opening: true, contacts: {11-12: guard-closed, 21-22: guard-open}}", {"11-12"}),
        (
            "{kind: guard-switch, direct_opening: true, contacts: {11-12: {closed_in: [closed]}, 21-22: {closed_in: [open]}}}",
            {"11-12"},
        ),
        ("{kind: guard-switch, direct_opening: unknown, contacts: {11-12: guard-closed}}", set()),
    ],
)
def test_direct_opening_of_a_device_is_of_its_contacts_that_open(described: str, forced: set[str]) -> None:
    assert {c.name for c in device(described).contacts if c.direct_opening} == forced


MARKS = [
    ("{kind: mains, phases: 1}", ("L", "N", "PE")),
    ("{kind: mains, phases: 2}", ("L1", "L2", "PE")),
    ("{kind: mains, phases: 3}", ("L1", "L2", "L3", "N", "PE")),
    ("{kind: transformer}", ("1", "2", "3", "4")),
    ("{kind: transformer, primary: [0, 230], secondary: [a, b]}", ("0", "230", "a", "b")),
    ("{kind: dc-supply}", ("L", "N", "PE", "+", "-")),
    ("{kind: frame}", ("PE",)),
    ("{kind: lamp}", ("X1", "X2")),
    ("{kind: pump, terminals: [L, N]}", ("L", "N")),
    ("{kind: sensor}", ("+", "-", "OUT")),
    ("{kind: potentiometer}", ("1", "2", "3")),
    ("{kind: relay, contacts: {13-14: NO}}", ("A1", "A2", "13", "14")),
    ("{kind: thermistor-relay}", ("A1", "A2", "T1", "T2")),
    ("{kind: safety-relay, channels: [[a, b], [c, d]], reset_loop: [e, f]}", ("A1", "A2", *"abcdef")),
    ("{kind: motor}", ("U1", "V1", "W1", "U2", "V2", "W2", "PE")),
    ("{kind: motor, sensor: thermistor}", ("U1", "V1", "W1", "U2", "V2", "W2", "PE", "TP1", "TP2")),
    ("{kind: drive}", ("L", "N", "U", "V", "W", "PE")),
    ("{kind: drive, input: {terminals: [R, S, T]}, control: {supply: {plus: P24, common: COM}, inputs: {DI1: jog}}}",
     ("R", "S", "T", "U", "V", "W", "P24", "COM", "DI1", "PE")),
    ("{kind: drive, control: {thermistor: [TH1, TH2]}}", ("L", "N", "U", "V", "W", "TH1", "TH2", "PE")),
    ("{kind: custom, elements: [{load: 5-6}, {link: [6, 7]}]}", ("5", "6", "7")),
    ("{kind: terminal-block, links: [[1, 2]]}", ("1", "2")),
]  # fmt: skip


@pytest.mark.parametrize(("described", "marks"), MARKS)
def test_the_marks_of_a_device(described: str, marks: tuple[str, ...]) -> None:
    assert device(described).marks == marks


def test_marks_that_only_a_wire_uses_are_added_before_the_late_ones() -> None:
    plan = read(
        f"{HEAD}devices:\n  X1: {{kind: terminal-block}}\n  H1: {{kind: heater}}\n  T1: {{kind: drive}}\nwires:\n"
        '  - {number: PE, run: [X1:b, H1:PE, T1:PE, "X1:a"]}\n'
    )
    assert plan.devices["X1"].marks == ("b", "a")
    assert plan.devices["H1"].marks == ("X1", "X2", "PE")
    assert plan.devices["T1"].marks[-1] == "PE"


POSITIONS = [
    ("{kind: mains, phases: 1}", ("off", "on")),
    ("{kind: isolator, poles: [1-2]}", ("off", "on")),
    ("{kind: circuit-breaker, poles: [1-2]}", ("on", "tripped")),
    ("{kind: fuse}", ("whole", "blown")),
    ("{kind: residual-current-device, poles: [1-2]}", ("on", "tripped")),
    ("{kind: plug-connector, poles: [1-2]}", ("mated", "parted")),
    ("{kind: push-button}", ("released", "pressed")),
    ("{kind: emergency-stop}", ("released", "pressed")),
    ("{kind: guard-switch}", ("closed", "open")),
    ("{kind: thermal-switch}", ("cold", "hot")),
    ("{kind: selector, positions: [off, slow, fast]}", ("off", "slow", "fast")),
    ("{kind: overload-relay, poles: [1-2]}", ("normal", "tripped")),
    ("{kind: no-volt-release, poles: [1-2]}", ("off", "start", "stop")),
    ("{kind: sensor}", ("idle", "active")),
    ("{kind: thermistor}", ("cold", "hot")),
    ("{kind: drive}", ("healthy", "faulted")),
    ("{kind: motor}", ()),
    ("{kind: motor, sensor: none}", ()),
    ("{kind: motor, sensor: opens-when-hot}", ("cold", "hot")),
    ("{kind: relay}", ()),
    ("{kind: thermistor-relay, reset: manual}", ()),
    ("{kind: lamp}", ()),
    ("{kind: custom, positions: [up, down], elements: [{contact: 1-2, closed_in: [up]}]}", ("up", "down")),
]


@pytest.mark.parametrize(("described", "positions"), POSITIONS)
def test_the_positions_of_a_device_rest_first(described: str, positions: tuple[str, ...]) -> None:
    assert device(described).positions == positions


def test_values_are_read_and_nested_as_in_the_text() -> None:
    values = device(
        "{kind: drive, input: {phases: 1, voltage: 200-240 V}, control: {mode: three-wire, inputs: {DI1: run-forward, "
        "DI3: {does: run-permit, acts_when: open}}}, "
        "settings: {restarts_itself_after_fault: false, stop: {mode: ramp, time: 2 s}}}"
    ).values
    assert values["input"] == {"phases": 1, "voltage": Quantity(200.0, "V", "200-240 V", 240.0)}
    assert values["control"] == {
        "mode": "three-wire",
        "inputs": {"DI1": "run-forward", "DI3": {"does": "run-permit", "acts_when": "open"}},
    }
    assert values["settings"] == {
        "restarts_itself_after_fault": False,
        "stop": {"mode": "ramp", "time": Quantity(2.0, "s", "2 s")},
    }


def test_what_is_unknown_is_not_stated() -> None:
    found = device("{kind: drive, input: {voltage: unknown, phases: 3}, settings: unknown, title: unknown, leakage: unknown}")
    assert found.values == {"input": {"phases": 3}}
    assert found.title == ""
    assert device("{kind: push-button, contacts: unknown}").contacts == ()


def test_another_word_for_a_parameter_comes_to_the_same() -> None:
    volts = Quantity(230.0, "V", "230 V AC", current="AC")
    assert device("{kind: no-volt-release, poles: [1-2], coil: 230 V AC}").values == {"poles": ("1-2",), "voltage": volts}
    assert device("{kind: no-volt-release, poles: [1-2], voltage: 230 V AC}").values == {"poles": ("1-2",), "voltage": volts}


def test_a_motor_of_two_speeds() -> None:
    values = device(
        "{kind: motor, windings: dahlander, poles: 4/2, power: {low: 0.8 kW, high: 1 kW}, plate: {double-star: 400 V}}"
    ).values
    assert values["poles"] == "4/2"
    assert values["power"] == {"low": Quantity(800.0, "W", "0.8 kW"), "high": Quantity(1000.0, "W", "1 kW")}
    assert device("{kind: motor, poles: 4, power: 1 kW, power_factor: 0.80}").values == {
        "poles": 4,
        "power": Quantity(1000.0, "W", "1 kW"),
        "power_factor": 0.8,
    }


def test_what_every_device_may_have() -> None:
    found = device("{kind: terminal-block, title: strip, place: box, part: 4 mm grey, notes: spare, links: [[1, 2, 3]]}", "X1")
    assert (found.title, found.place, found.part, found.notes, found.links) == (
        "strip",
        "box",
        "4 mm grey",
        "spare",
        (("1", "2", "3"),),
    )
    assert found.values == {}
    assert found.label() == "X1 (strip)"


def test_the_place_of_every_value_is_kept() -> None:
    found = device("{kind: drive, settings: {stop: {time: 2 s}}, control: {inputs: {DI1: jog}}}", "T1")
    line = "T1: {kind: drive, settings: {stop: {time: 2 s}}, control: {inputs: {DI1: jog}}}"
    assert (found.spot.line, found.spot.column) == (5, 3)
    assert found.lines["settings.stop.time"].column == 3 + line.index("2 s")
    assert found.lines["control.inputs.DI1"].column == 3 + line.index("jog")
    assert found.lines["kind"].column == 3 + line.index("drive")


def test_a_drive_may_share_a_common_between_its_relays() -> None:
    found = device("{kind: drive, control: {relays: {RA-RC: {form: NO, acts_on: fault}, RB-RC: {form: NC, acts_on: fault}}}}")
    assert [str(c) for c in found.contacts] == ["D1:RA-RC", "D1:RB-RC"]
