"""A drive, one setting after the other: its inputs at all levels in every order, and the plain engine agrees on all of it."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from tests.behaviour.test_faults_against_plain import Both
from tests.oracles.fast_engine import differences, fast, plain
from tests.oracles.plain_engine import PlainEngine
from tests.published.playing import play_fast
from wirecheck.behaviour.faults import single_faults
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


ALL = {
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


@pytest.mark.parametrize("name", ["direction", "trips and reset", "two-wire, sinking", "another supply that fits"])
def test_the_plain_engine_agrees_with_every_input_stuck(name: str) -> None:
    """A stuck direction input turns the motor the other way with all else as it was."""
    both = Both(read_plan_text(ALL[name], name))
    stuck = [fault for fault in single_faults(both.whole.plan) if fault.kind == "input stuck"]
    assert len(stuck) >= 4
    assert [c for fault in stuck for c in both.complaints(fault)] == []
