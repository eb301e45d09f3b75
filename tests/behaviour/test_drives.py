"""A drive, one setting after the other: its inputs at all levels in every order, and the plain engine agrees on all of it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping

import pytest

from tests.behaviour.test_faults_against_plain import Both
from tests.behaviour.test_moves import At, in_order, steps, told
from tests.oracles.fast_engine import differences, fast, plain
from tests.oracles.plain_engine import PlainEngine
from tests.published.playing import play_fast
from wirecheck.behaviour.drives import Input, inputs_of
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.model import Model
from wirecheck.plan import read_plan_text

BENCH = """\
wirecheck: 1
machine: {name: a drive on the club's test board}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  S1: {kind: push-button, contacts: {13-14: NO}}
  S2: {kind: push-button, contacts: {13-14: NO}}
  S3: {kind: push-button, contacts: {21-22: NC}}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control:
      mode: two-wire
      logic: sourcing
      supply: {plus: P24, common: COM, voltage: 24 V DC}
      inputs: {DI1: run-forward, DI2: run-reverse, DI3: {does: run-permit, acts_when: open}}
    settings: {command_source: terminals, SETTINGS}
  M1: {kind: motor, links: [[U2, V2], [V2, W2]]}
wires:
  - {number: 1, run: ["G0:L", "T1:L"]}
  - {number: 2, run: ["G0:N", "T1:N"]}
  - {number: 3, run: ["T1:P24", "S1:13", "S2:13", "S3:21"]}
  - {number: 4, run: ["S1:14", "T1:DI1"]}
  - {number: 5, run: ["S2:14", "T1:DI2"]}
  - {number: 6, run: ["S3:22", "T1:DI3"]}
  - {number: 7, run: ["T1:U", "M1:U1"]}
  - {number: 8, run: ["T1:V", "M1:V1"]}
  - {number: 9, run: ["T1:W", "M1:W1"]}
"""
"""S1 and S2 close DI1 and DI2, S3 opens DI3."""

FORWARD, REVERSE, STOPPED = {"M1": "forward"}, {"M1": "reverse"}, {"M1": "stopped"}


def bench(settings: str = "", **changed: str) -> str:
    """The test board with these settings, and other words in place of the drive's inputs, mode or logic."""
    text = BENCH.replace(", SETTINGS", f", {settings}" if settings else "")
    if "inputs" in changed:
        text = text.replace("{DI1: run-forward, DI2: run-reverse, DI3: {does: run-permit, acts_when: open}}", changed["inputs"])
    text = text.replace("mode: two-wire", changed.get("mode", "mode: two-wire"))
    if changed.get("logic") == "sinking":
        text = text.replace("logic: sourcing", "logic: sinking").replace('["T1:P24", "S1:13"', '["T1:COM", "S1:13"')
    return text.replace("command_source: terminals", changed.get("source", "command_source: terminals"))


def motion(text: str, *events: str) -> Mapping[str, str]:
    """How the motor turns after the events, the supply on first."""
    (seen,) = play_fast(text, "G0=on", *events)
    return seen.motion


PULSES = "mode: three-wire"
WAITS = "on_power_up_with_run: waits, after_permit_with_run: waits, after_trip_reset_with_run: waits"
STAYS = "restarts_itself_after_fault: false"
ALWAYS_ON = "{DI1: run-forward, DI2: direction, DI3: unused}"


@pytest.mark.parametrize(
    ("text", "events", "turns"),
    [
        (bench(), ("S1=pressed",), FORWARD),
        (bench(), ("S2=pressed",), REVERSE),
        (bench(), ("S1=pressed", "S1=released"), STOPPED),
        (bench(), ("S1=pressed", "S3=pressed"), STOPPED),
        (bench(logic="sinking"), ("S1=pressed",), FORWARD),
        (bench("after_permit_with_run: starts"), ("S1=pressed", "S3=pressed", "S3=released"), FORWARD),
        (bench("after_permit_with_run: waits"), ("S1=pressed", "S3=pressed", "S3=released"), STOPPED),
        (bench("on_power_up_with_run: starts"), ("S1=pressed", "G0=off", "G0=on"), FORWARD),
        (bench("on_power_up_with_run: waits"), ("S1=pressed", "G0=off", "G0=on"), STOPPED),
        (bench("on_power_up_with_run: waits"), ("S1=pressed", "G0=off", "G0=on", "S1=released", "S1=pressed"), FORWARD),
        (bench("both_directions: stop"), ("S1=pressed", "S2=pressed"), STOPPED),
        (bench("both_directions: first-wins"), ("S1=pressed", "S2=pressed"), FORWARD),
        (bench("both_directions: first-wins"), ("S2=pressed", "S1=pressed"), REVERSE),
        (bench(mode=PULSES), ("S1=pressed", "S1=released"), FORWARD),
        (bench(mode=PULSES), ("S2=pressed", "S2=released"), REVERSE),
        (bench(mode=PULSES), ("S1=pressed", "S1=released", "S2=pressed", "S2=released"), REVERSE),
        (bench(mode=PULSES), ("S1=pressed", "S1=released", "S3=pressed", "S3=released"), STOPPED),
        (bench(mode=PULSES), ("S3=pressed", "S1=pressed", "S3=released"), FORWARD),
        (bench(mode=f"{PULSES}\n      start_on: edge"), ("S3=pressed", "S1=pressed", "S3=released"), STOPPED),
        (bench(inputs=ALWAYS_ON), ("S1=pressed", "S2=pressed"), REVERSE),
        (bench(inputs=ALWAYS_ON), ("S2=pressed",), STOPPED),
        (bench(inputs="{DI1: jog, DI2: unused, DI3: unused}"), ("S1=pressed",), FORWARD),
        (bench(STAYS), ("S1=pressed", "T1=faulted"), STOPPED),
        (bench(f"{STAYS}, after_trip_reset_with_run: starts"), ("S1=pressed", "T1=faulted", "T1=healthy"), FORWARD),
        (bench(f"{STAYS}, after_trip_reset_with_run: waits"), ("S1=pressed", "T1=faulted", "T1=healthy"), STOPPED),
        (bench(source="command_source: keypad"), ("S1=pressed",), STOPPED),
        (bench(source="command_source: keypad"), ("T1=keypad-run",), FORWARD),
        (bench(source="command_source: both"), ("T1=keypad-run", "T1=keypad-stop"), STOPPED),
        (bench(source="command_source: both"), ("T1=keypad-run", "S3=pressed", "S3=released"), STOPPED),
    ],
)
def test_the_motor_does_what_the_inputs_and_the_settings_say(
    text: str, events: tuple[str, ...], turns: Mapping[str, str]
) -> None:
    assert motion(text, *events) == turns


TRIPS = "{DI1: run-forward, DI2: fault-reset, DI3: {does: external-trip, acts_when: open}}"
FEED = """\
  G1: {kind: dc-supply, voltage: VOLTS DC}
"""
FED = """\
  - {number: 10, run: ["G0:L", "G1:L"]}
  - {number: 11, run: ["G0:N", "G1:N"]}
  - {number: 12, run: ["G1:-", "T1:COM"]}
  - {number: 13, run: ["G1:+", "S1:13"]}
"""


def foreign(volts: str) -> str:
    """The first input fed from a supply of its own; the drive's own one feeds the others."""
    text = bench().replace('"T1:P24", "S1:13", ', '"T1:P24", ').replace("  S1:", f"{FEED.replace('VOLTS', volts)}  S1:", 1)
    return text + FED


@pytest.mark.parametrize(("volts", "turns"), [("24 V", FORWARD), ("21 V", FORWARD), ("20 V", STOPPED), ("12 V", STOPPED)])
def test_another_supply_acts_on_an_input_only_with_a_voltage_that_fits(volts: str, turns: Mapping[str, str]) -> None:
    assert motion(foreign(volts), "S1=pressed") == turns


def torque(settings: str = "", common: str = ", common: STOC", **changed: str) -> str:
    """The test board with two torque-off channels: S3 opens the first, S4 the second one; the third input does nothing."""
    text = bench(settings, inputs=changed.pop("inputs", "{DI1: run-forward, DI2: run-reverse, DI3: unused}"), **changed)
    text = text.replace("      inputs:", f"      safe_torque_off: {{channels: [STO1, STO2]{common}}}\n      inputs:")
    text = text.replace("  T1:\n", "  S4: {kind: push-button, contacts: {21-22: NC}}\n  T1:\n")
    text = text.replace('"S3:22", "T1:DI3"', '"S3:22", "T1:STO1"').replace('"S3:21"', '"S3:21", "S4:21"')
    ends = '  - {number: 11, run: ["T1:STOC", "T1:COM"]}\n' if common else ""
    return text + '  - {number: 10, run: ["S4:22", "T1:STO2"]}\n' + ends


def feeler(settings: str = "", **changed: str) -> str:
    """The test board with a thermistor in the motor, at the drive's own terminals for one."""
    text = bench(settings, **changed).replace("      inputs:", "      thermistor: [TH1, TH2]\n      inputs:")
    text = text.replace("  T1:\n", "  B1: {kind: thermistor}\n  T1:\n")
    return text + '  - {number: 10, run: ["T1:TH1", "B1:1"]}\n  - {number: 11, run: ["T1:TH2", "B1:2"]}\n'


TORQUE_WAITS = "after_safe_torque_off_with_run: waits"


@pytest.mark.parametrize(
    ("text", "events", "turns"),
    [
        (torque(), ("S1=pressed",), FORWARD),
        (torque(), ("S1=pressed", "S3=pressed"), STOPPED),
        (torque(), ("S1=pressed", "S4=pressed"), STOPPED),
        (torque(common=""), ("S1=pressed",), FORWARD),
        (torque(common=""), ("S1=pressed", "S4=pressed"), STOPPED),
        (torque(), ("S1=pressed", "S4=pressed", "S4=released"), FORWARD),
        (torque(TORQUE_WAITS), ("S1=pressed", "S4=pressed", "S4=released"), STOPPED),
        (torque(TORQUE_WAITS), ("S1=pressed", "S4=pressed", "S4=released", "S1=released", "S1=pressed"), FORWARD),
        (torque(TORQUE_WAITS), ("S1=pressed", "G0=off", "G0=on"), FORWARD),
        (torque(WAITS), ("S1=pressed", "S4=pressed", "S4=released"), FORWARD),
        (torque(mode=PULSES), ("S1=pressed", "S1=released", "S4=pressed", "S4=released"), STOPPED),
        (torque(mode=PULSES), ("S1=pressed", "S4=pressed", "S4=released"), FORWARD),
        (torque(source="command_source: keypad"), ("T1=keypad-run", "S4=pressed", "S4=released"), STOPPED),
        (feeler(STAYS), ("S1=pressed",), FORWARD),
        (feeler(STAYS), ("S1=pressed", "B1=hot"), STOPPED),
        (feeler(STAYS), ("S1=pressed", "B1=hot", "B1=cold"), STOPPED),
        (feeler(STAYS), ("S1=pressed", "B1=hot", "B1=cold", "T1=healthy"), FORWARD),
        (feeler(STAYS), ("S1=pressed", "B1=hot", "T1=healthy"), STOPPED),
        (feeler(STAYS), ("S1=pressed", "B1=hot", "B1=cold", "G0=off", "G0=on"), FORWARD),
    ],
)
def test_the_motor_needs_torque_from_every_channel_and_a_cold_winding(
    text: str, events: tuple[str, ...], turns: Mapping[str, str]
) -> None:
    assert motion(text, *events) == turns


RELAYS = "{RA-RC: {form: NO, acts_on: healthy}, RD-RE: {form: NC, acts_on: fault}, RF-RG: {form: NO, acts_on: running}}"


def test_the_relays_of_a_drive_follow_its_health_its_trip_and_its_run() -> None:
    """One that opens on a trip is closed as long as there is no power."""
    text = bench(inputs="{DI1: run-forward, DI2: unused, DI3: unused}").replace(
        "      inputs:", f"      relays: {RELAYS}\n      inputs:"
    )
    model = Model(read_plan_text(text, "relays"))
    at = model.space.at
    power, forward = at("T1 power", "yes"), at("T1 forward", "yes")
    found = {mark: model.conducts(model.element_by_contact[f"T1:{mark}"]) for mark in ("RA-RC", "RD-RE", "RF-RG")}
    assert found == {
        "RA-RC": power & at("T1", "healthy"),
        "RD-RE": at("T1 power", "no") | at("T1", "healthy"),
        "RF-RG": power & at("T1", "healthy") & forward,
    }
    speed = Model(read_plan_text(text.replace("acts_on: running", "acts_on: at-speed"), "relays"))
    trip = Model(read_plan_text(text.replace("NC, acts_on: fault", "NO, acts_on: fault"), "relays"))
    assert speed.conducts(speed.element_by_contact["T1:RF-RG"]) == found["RF-RG"]
    assert trip.conducts(trip.element_by_contact["T1:RD-RE"]) == power & at("T1", "faulted")


def test_what_the_inputs_of_a_drive_do_and_at_which_level_they_stop() -> None:
    given = (
        "{DI1: run-forward, DI2: {does: run-permit, acts_when: closed}, DI3: {does: enable, acts_when: open}, DI4: {does: jog}}"
    )
    device = read_plan_text(bench(inputs=given), "inputs").devices["T1"]
    assert inputs_of(device) == (
        Input("DI1", "run-forward"),
        Input("DI2", "run-permit", stops_when_open=False),
        Input("DI3", "enable", stops_when_open=True),
        Input("DI4", "jog", stops_when_open=True),
    )


BOTH_WAYS = ("power", "forward", "reverse")


@pytest.mark.parametrize(
    ("text", "bits"),
    [
        (bench(), (*BOTH_WAYS, "permit", "backwards")),
        (bench("both_directions: stop"), (*BOTH_WAYS, "permit")),
        (bench(mode=PULSES), (*BOTH_WAYS, "permit", "latched", "backwards")),
        (bench("both_directions: stop", mode=PULSES), (*BOTH_WAYS, "permit", "latched", "backwards")),
        (bench("after_permit_with_run: waits"), (*BOTH_WAYS, "permit", "waiting", "backwards")),
        (bench("after_permit_with_run: starts"), (*BOTH_WAYS, "permit", "backwards")),
        (bench(mode=f"{PULSES}\n      start_on: edge"), (*BOTH_WAYS, "permit", "waiting", "latched", "backwards")),
        (bench(mode="mode: two-wire\n      start_on: edge"), (*BOTH_WAYS, "permit", "backwards")),
        (bench(WAITS, source="command_source: keypad"), ("power", "permit", "keypad")),
        (bench(source="command_source: both"), (*BOTH_WAYS, "permit", "backwards", "keypad")),
        (bench(inputs="{DI1: run-forward, DI2: jog, DI3: unused}"), ("power", "forward", "jog")),
        (bench(inputs="{DI1: jog, DI2: unused, DI3: unused}", mode=PULSES), ("power", "jog")),
        (bench(inputs="{DI1: run-reverse, DI2: unused, DI3: unused}", mode=PULSES), ("power", "reverse", "latched")),
        (bench(inputs="{DI1: run-forward, DI2: enable, DI3: coast-stop}"), ("power", "forward", "permit")),
        (torque(), (*BOTH_WAYS, "torque", "backwards")),
    ],
)
def test_a_drive_remembers_what_its_inputs_and_settings_need(text: str, bits: tuple[str, ...]) -> None:
    variables = Model(read_plan_text(text, "bits")).parts["T1"].variables()
    assert dict(variables) == {"T1": ("healthy", "faulted"), **{f"T1 {bit}": ("no", "yes") for bit in bits}}


ALL = {
    "torque-off": torque(),
    "torque-off that waits": torque(TORQUE_WAITS, inputs="{DI1: run-forward, DI2: jog, DI3: unused}"),
    "torque-off, three-wire": torque(mode=PULSES),
    "torque-off and a keypad": torque(source="command_source: keypad"),
    "thermistor": feeler(f"{STAYS}, {WAITS}", inputs="{DI1: run-forward, DI2: fault-reset, DI3: unused}"),
    "thermistor, three-wire": feeler(mode=PULSES, inputs="{DI1: run-forward, DI2: unused, DI3: unused}"),
    "thermistor wired at one end": feeler().replace('  - {number: 11, run: ["T1:TH2", "B1:2"]}\n', ""),
    "reverse with a direction": bench(inputs="{DI1: run-reverse, DI2: direction, DI3: unused}"),
    "permit when closed": bench(inputs="{DI1: run-forward, DI2: unused, DI3: {does: run-permit, acts_when: closed}}"),
    "trip when closed": bench(STAYS, inputs="{DI1: run-forward, DI2: {does: external-trip, acts_when: closed}, DI3: enable}"),
    "jog and a pulse": bench(WAITS, inputs="{DI1: run-forward, DI2: jog, DI3: run-permit}", mode=PULSES),
    **{f"two-wire, {word}": bench(word) for word in ("", WAITS, STAYS, "both_directions: stop", "both_directions: first-wins")},
    **{f"three-wire, {word}": bench(word, mode=PULSES) for word in ("", WAITS, f"{STAYS}, {WAITS}", "both_directions: stop")},
    "three-wire, edge": bench(mode=f"{PULSES}\n      start_on: edge"),
    "two-wire, sinking": bench(logic="sinking"),
    "keypad": bench(WAITS, source="command_source: keypad"),
    "terminals and keypad": bench(source="command_source: both"),
    "direction": bench(inputs=ALWAYS_ON),
    "direction, three-wire": bench(inputs=ALWAYS_ON, mode=PULSES),
    "jog": bench(inputs="{DI1: run-forward, DI2: jog, DI3: {does: coast-stop, acts_when: closed}}"),
    "jog that waits": bench(WAITS, inputs="{DI1: jog, DI2: unused, DI3: {does: enable, acts_when: open}}"),
    "trips and reset": bench(f"{STAYS}, {WAITS}", inputs=TRIPS),
    "trips that reset themselves": bench(inputs=TRIPS),
    "only reverse": bench(inputs="{DI1: run-reverse, DI2: unused, DI3: unused}", mode=PULSES),
    "another supply that fits": foreign("24 V"),
    "another supply that does not": foreign("12 V"),
    "an input joined to its common": bench().replace('"S2:14", "T1:DI2"', '"S2:14", "T1:COM"').replace('"S2:13", ', "")
    + '  - {number: 14, run: ["T1:DI1", "S2:13"]}\n',
}


@pytest.mark.parametrize("name", ALL)
def test_the_plain_engine_agrees(name: str) -> None:
    plan = read_plan_text(ALL[name], name)
    seen, kept = fast(plan)
    assert differences(seen, plain(PlainEngine(plan), kept)) == []


class Remembers:
    """What a drive may do in one state, by the description of its behaviour; `settings` says for what a command waits."""

    def __init__(self, at: At, signals: Mapping[str, bool], settings: Collection[str]) -> None:
        self.at, self.signals, self.settings = at, signals, settings
        self.commands = [bit for bit in ("forward", "reverse", "jog") if f"T1 {bit}" in at]

    def has(self, bit: str) -> bool:
        return self.at.get(f"T1 {bit}") == "yes"

    def put(self, **bits: bool) -> At:
        """Bits as they become, those that the drive does not have left out."""
        return {f"T1 {bit}": "yes" if on else "no" for bit, on in bits.items() if f"T1 {bit}" in self.at}

    def lock(self, reason: str) -> At:
        """A command that is there waits, where the setting says so."""
        there = any(map(self.has, self.commands))
        return self.put(waiting=self.has("waiting") or there) if reason in self.settings else {}

    def ready(self) -> bool:
        given = all(self.at.get(f"T1 {bit}") != "no" for bit in ("torque", "permit"))
        return self.has("power") and self.at["T1"] == "healthy" and given

    def power(self) -> Iterable[At]:
        if self.signals["power"] and not self.has("power"):
            yield {"T1": "healthy", **self.put(power=True, waiting=False), **self.lock("power")}
        if self.has("power") and not self.signals["power"]:
            yield self.put(power=False, waiting=False, latched=False, keypad=False)

    def returns(self) -> Iterable[At]:
        for bit in ("torque", "permit"):
            if self.signals.get(bit, False) and not self.has(bit):
                yield {**self.put(**{bit: True}), **(self.lock(bit) if self.has("power") else {})}
            if self.has(bit) and not self.signals.get(bit, False):
                yield self.put(**{bit: False}, latched=False, keypad=False)

    def faulted(self) -> At:
        return {"T1": "faulted", **({} if "restarts" in self.settings else self.put(latched=False, keypad=False))}

    def healthy(self) -> At:
        return {"T1": "healthy", **({} if "restarts" in self.settings else self.lock("trip"))}

    def trips(self) -> Iterable[At]:
        trip, reset = self.signals.get("trip", False), self.signals.get("reset", False)
        if self.has("power") and trip and self.at["T1"] == "healthy":
            yield self.faulted()
        if self.has("power") and reset and not trip and self.at["T1"] == "faulted":
            yield self.healthy()

    def remembers(self) -> Iterable[At]:
        if not any(map(self.has, self.commands)):
            yield self.put(waiting=False)
        forward, reverse = self.has("forward"), self.has("reverse")
        if self.ready() and not self.has("waiting") and forward != reverse:
            yield self.put(latched=True, backwards=reverse)
        if self.ready() and not self.has("waiting") and forward and reverse and "both stop" not in self.settings:
            yield self.put(latched=True)

    def all(self) -> Iterable[At]:
        yield from self.power()
        yield from self.returns()
        yield from self.trips()
        yield from self.remembers()
        for bit in self.commands:
            yield self.put(**{bit: self.signals[bit]})


EVERY_WAIT = ("power", "permit", "torque", "trip")


def on_the_bench(at: At) -> dict[str, bool]:
    """What stands at the terminals: the buttons act on what the drive's own supply gives, live or not."""
    one, two, three = (at[name] == "pressed" for name in ("S1", "S2", "S3"))
    return {"power": at["G0"] == "on", "forward": one, "reverse": two, "permit": not three}


def with_trips(at: At) -> dict[str, bool]:
    one, two, three = (at[name] == "pressed" for name in ("S1", "S2", "S3"))
    return {"power": at["G0"] == "on", "forward": one, "reset": two, "trip": three}


def with_torque(at: At) -> dict[str, bool]:
    one, two = (at[name] == "pressed" for name in ("S1", "S2"))
    return {"power": at["G0"] == "on", "forward": one, "jog": two, "torque": "pressed" not in (at["S3"], at["S4"])}


SPOKEN: Mapping[str, tuple[str, Callable[[At], dict[str, bool]], Collection[str]]] = {
    "two-wire": (bench("both_directions: first-wins"), on_the_bench, ("restarts",)),
    "two-wire, both stop": (bench(f"both_directions: stop, {WAITS}"), on_the_bench, ("restarts", "both stop", *EVERY_WAIT)),
    "two-wire that waits after a trip": (
        bench(f"{STAYS}, after_trip_reset_with_run: waits", inputs=TRIPS),
        with_trips,
        ("trip",),
    ),
    "two-wire that waits after power": (bench("on_power_up_with_run: waits", inputs=TRIPS), with_trips, ("restarts", "power")),
    "three-wire": (bench(f"{STAYS}, {WAITS}", mode=PULSES, source="command_source: both"), on_the_bench, EVERY_WAIT),
    "three-wire, both stop": (bench("both_directions: stop", mode=PULSES), on_the_bench, ("restarts", "both stop")),
    "three-wire, edge": (bench(STAYS, mode=f"{PULSES}\n      start_on: edge"), on_the_bench, EVERY_WAIT),
    "three-wire that trips": (bench(STAYS, mode=PULSES, inputs=TRIPS, source="command_source: both"), with_trips, ()),
    "three-wire that goes on after a trip": (bench(mode=PULSES, inputs=TRIPS), with_trips, ("restarts",)),
    "torque-off that waits": (
        torque(TORQUE_WAITS, inputs="{DI1: run-forward, DI2: jog, DI3: unused}", source="command_source: both"),
        with_torque,
        ("restarts", "torque"),
    ),
}


@pytest.mark.parametrize("name", SPOKEN)
def test_a_drive_perceives_and_remembers_as_it_is_described_in_any_state(name: str) -> None:
    text, signals, settings = SPOKEN[name]
    model = Model(read_plan_text(text, name))
    space, part = model.space, model.parts["T1"]
    both = "both stop" in settings

    def told_of(at: At) -> Remembers:
        drive = Remembers(at, signals(at), settings)
        if not both and "three" not in name and not {"T1 forward", "T1 reverse"} <= at.keys():
            drive.settings = (*settings, "both stop")
        return drive

    found = set(in_order(steps(space, part.perceptions(model))))
    assert found == set(in_order(told(space, lambda at: told_of(at).all())))
    events: dict[str, Callable[[Remembers], Iterable[At]]] = {
        "faulted": lambda drive: [drive.faulted()] if drive.has("power") and drive.at["T1"] == "healthy" else [],
        "healthy": lambda drive: [drive.healthy()] if drive.at["T1"] == "faulted" else [],
    }
    if "T1 keypad" in space.variables:
        events["keypad-run"] = lambda drive: [drive.put(keypad=True)] if drive.ready() else []
        events["keypad-stop"] = lambda drive: [drive.put(keypad=False)]
    rules = {rule.event: rule.stages for rule in part.events(model)}
    assert [str(event) for event in rules] == [f"T1={word}" for word in events]
    for event, (moves,) in rules.items():
        wanted = told(space, lambda at, may=events[event.position]: may(told_of(at)))  # type: ignore[misc]
        assert in_order(steps(space, moves)) == in_order(wanted)


@pytest.mark.parametrize("name", ["direction", "trips and reset", "two-wire, sinking", "another supply that fits"])
def test_the_plain_engine_agrees_with_every_input_stuck(name: str) -> None:
    """A stuck direction input turns the motor the other way with all else as it was."""
    both = Both(read_plan_text(ALL[name], name))
    stuck = [fault for fault in single_faults(both.whole.plan) if fault.kind == "input stuck"]
    assert len(stuck) >= 4
    assert [c for fault in stuck for c in both.complaints(fault)] == []
