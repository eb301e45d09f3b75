"""The device kinds: the files are well formed, and they are the kinds of the plan format with its marks and positions."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import pytest

from tests.plan.texts import HEAD, read
from wirecheck.kinds import Kind, Kinds, Parameter, kind_names, load_kind, load_kinds
from wirecheck.kinds.kind import kind_of
from wirecheck.kinds.parameter import TYPES
from wirecheck.nodes import compose, plain_data
from wirecheck.plan.sections import sections
from wirecheck.resources import data_folder, package_folder, read_text

ALL = load_kinds()
SCHEMA = json.loads(read_text(data_folder("schemas") / "kind.schema.json"))


def numbers(data: Any) -> Any:
    """Decimals of a file as numbers, which YAML editors see in them."""
    if isinstance(data, dict):
        return {key: float(v) if key in ("least", "most") else numbers(v) for key, v in data.items()}
    return [numbers(item) for item in data] if isinstance(data, list) else data


def described(name: str) -> Any:
    """A kind as its file describes it."""
    return plain_data(compose(read_text(package_folder("kinds", "data") / f"{name}.yaml"), name))


@pytest.mark.parametrize("name", kind_names())
def test_a_file_of_a_kind_fits_the_schema(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    errors = [
        f"{e.json_path}: {e.message[:200]}" for e in jsonschema.Draft202012Validator(SCHEMA).iter_errors(numbers(described(name)))
    ]
    assert errors == []
    assert described(name)["kind"] == name


@pytest.mark.parametrize(
    "spoilt",
    [
        {"letter": "lamp"},
        {"group": "lights"},
        {"terminal": ["X1"]},
        {"parameters": {"power": {"type": "quantity", "help": "power"}}},
        {"parameters": {"power": {"type": "quantity", "units": ["hp"], "help": "power"}}},
        {"parameters": {"power": {"type": "quantity", "units": ["W"]}}},
        {"parameters": {"power": {"type": "watts", "help": "power"}}},
        {"parameters": {"mode": {"type": "word", "help": "mode"}}},
        {"poles": {"needed": True}},
    ],
)
def test_the_schema_refuses_a_spoilt_kind(spoilt: dict[str, Any]) -> None:
    data = numbers(described("lamp")) | spoilt
    assert not jsonschema.Draft202012Validator(SCHEMA).is_valid(data)


def test_the_schema_knows_every_type() -> None:
    assert set(SCHEMA["$defs"]["described"]["properties"]["type"]["enum"]) == set(TYPES)


@pytest.mark.parametrize("kind", ALL, ids=lambda kind: kind.name)
def test_the_fragment_of_a_kind_can_be_copied_into_a_plan(kind: Kind) -> None:
    devices = "".join(f"  {line}\n" for line in kind.fragment.splitlines())
    (device,) = read(f"{HEAD}devices:\n{devices}wires: []\n").devices.values()
    assert device.kind == kind.name
    assert device.name.startswith(kind.letter)


def every_parameter(keys: Any) -> list[Parameter]:
    """All parameters, those inside others too."""
    found = []
    for parameter in keys:
        found.append(parameter)
        inner = [*parameter.keys.values(), *parameter.choices, *([parameter.of] if parameter.of else [])]
        found += every_parameter(inner)
    return found


def test_every_key_is_explained_in_one_line() -> None:
    tops = [p for kind in ALL for p in kind.parameters.values()] + [p for keys in sections().values() for p in keys.values()]
    nested = [p for parameter in every_parameter(tops) for p in parameter.keys.values()]
    for parameter in [*tops, *nested]:
        plain = parameter.type == "quantity" or parameter.help
        assert plain
        assert "\n" not in parameter.help
        assert parameter.describe()
        assert parameter.type in TYPES
    assert all(p.help for p in tops)


@pytest.mark.parametrize("kind", ALL, ids=lambda kind: kind.name)
def test_a_kind_holds_together(kind: Kind) -> None:
    states = set(kind.states or kind.positions)
    for conducts in (kind.forms or {}).values():
        assert set(conducts) <= states
    if kind.poles is not None:
        assert set(kind.poles.closed_in) <= states
        assert kind.poles.always != bool(kind.poles.closed_in)
    for parameter, variants in kind.depends.items():
        words = kind.parameters[parameter].words
        assert all(value in words or value.isdigit() for value in variants)
    if kind.forms is not None and kind.forms:
        assert {"NO", "NC"} == set(kind.forms) or {"guard-closed", "guard-open"} == set(kind.forms)


# the table of the plan format: marks that are always there, positions
TABLE: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "mains": ((), ("off", "on")),
    "isolator": ((), ("off", "on")),
    "circuit-breaker": ((), ("on", "tripped")),
    "fuse": (("1", "2"), ("whole", "blown")),
    "residual-current-device": ((), ("on", "tripped")),
    "line-filter": ((), ()),
    "line-reactor": ((), ()),
    "transformer": ((), ()),
    "dc-supply": (("L", "N", "PE", "+", "-"), ()),
    "earth-bar": ((), ()),
    "terminal-block": ((), ()),
    "plug-connector": ((), ("mated", "parted")),
    "frame": (("PE",), ()),
    "push-button": ((), ("released", "pressed")),
    "foot-switch": ((), ("released", "pressed")),
    "limit-switch": ((), ("released", "pressed")),
    "selector": ((), ()),
    "key-switch": ((), ()),
    "emergency-stop": ((), ("released", "pressed")),
    "guard-switch": ((), ("closed", "open")),
    "thermal-switch": ((), ("cold", "hot")),
    "relay": (("A1", "A2"), ()),
    "contactor": (("A1", "A2"), ()),
    "timer-relay": (("A1", "A2"), ()),
    "overload-relay": ((), ("normal", "tripped")),
    "diode": (("A", "K"), ()),
    "thermistor-relay": (("A1", "A2"), ()),
    "safety-relay": ((), ()),
    "no-volt-release": (("A1", "A2"), ("off", "start", "stop")),
    "lamp": ((), ()),
    "buzzer": ((), ()),
    "solenoid": ((), ()),
    "fan": ((), ()),
    "pump": ((), ()),
    "heater": ((), ()),
    "load": ((), ()),
    "resistor": (("1", "2"), ()),
    "braking-resistor": (("1", "2"), ()),
    "capacitor": (("1", "2"), ()),
    "potentiometer": (("1", "2", "3"), ()),
    "sensor": ((), ("idle", "active")),
    "thermistor": (("1", "2"), ("cold", "hot")),
    "drive": ((), ("healthy", "faulted")),
    "motor": (("U1", "V1", "W1", "U2", "V2", "W2", "PE"), ()),
    "custom": ((), ()),
}


def test_the_kinds_are_those_of_the_format() -> None:
    assert set(kind_names()) == set(TABLE)
    assert {kind.name: (kind.terminals, kind.positions) for kind in ALL} == TABLE


PARAMETERS = {
    "mains": "phases voltage frequency earthing protected_by plug fault_loop",
    "isolator": "rating lockable colour",
    "circuit-breaker": "rating curve",
    "fuse": "rating class",
    "residual-current-device": "type trip_current",
    "line-filter": "rating leakage",
    "line-reactor": "rating leakage",
    "transformer": "primary secondary primary_voltage secondary_voltage power",
    "dc-supply": "voltage current",
    "plug-connector": "first_make dummy",
    "push-button": "role colour latching",
    "foot-switch": "role",
    "limit-switch": "role",
    "selector": "positions role run_positions make_before_break",
    "key-switch": "positions role run_positions make_before_break",
    "emergency-stop": "direct_opening latching colour",
    "guard-switch": "guards type direct_opening locking",
    "relay": "coil coil_power forced_guided mirror_contacts mechanical_interlock rating category",
    "contactor": "coil coil_power forced_guided mirror_contacts mechanical_interlock rating category",
    "timer-relay": "delay mode coil coil_power forced_guided",
    "overload-relay": "setting reset",
    "diode": "voltage current",
    "thermistor-relay": "sensor voltage coil_power reset",
    "safety-relay": "supply channels reset_loop voltage coil_power reset cross_fault_detection",
    "lamp": "terminals voltage power colour",
    "resistor": "resistance power",
    "braking-resistor": "resistance power",
    "capacitor": "capacitance",
    "potentiometer": "resistance",
    "sensor": "terminals output form voltage senses",
    "drive": "input output leakage control settings",
    "motor": "power poles frequency speed plate current power_factor cooling insulation_class sensor windings",
    "custom": "elements positions",
}


@pytest.mark.parametrize("name", PARAMETERS)
def test_a_kind_has_the_parameters_of_the_format(name: str) -> None:
    assert set(PARAMETERS[name].split()) <= set(load_kind(name).parameters)


def test_an_unknown_kind_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        load_kind("flux-gate")
    with pytest.raises(KeyError):
        Kinds().get("flux-gate")


def test_a_kind_of_the_house_stands_beside_the_packaged_ones() -> None:
    own = kind_of(described("lamp") | {"kind": "beacon"})
    kinds = Kinds([own])
    assert kinds.get("beacon") is own
    assert kinds.get("lamp") is load_kind("lamp")
    assert set(kinds.names) == {*kind_names(), "beacon"}
