"""What has a coil and a memory, one device at a time: told by hand what it does, and the plain engine agrees on all of it."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from tests.oracles.fast_engine import differences, fast, plain
from tests.oracles.plain_engine import PlainEngine
from tests.published.playing import play_fast
from wirecheck.plan import read_plan_text

HEAD = """\
wirecheck: 1
machine: {name: relays on the club's test board}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
"""

SAFETY = (
    HEAD
    + """\
  S1: {kind: emergency-stop, contacts: {11-12: NC}}
  S2: {kind: emergency-stop, contacts: {11-12: NC}}
  S5: {kind: push-button, contacts: {13-14: NO}}
  K1:
    kind: safety-relay
    voltage: 230 V AC
    supply: [A1, A2]
    channels: [[S11, S12], [S21, S22]]
    reset_loop: [S33, S34]
    reset: HOW
    contacts: {13-14: NO}
  P1: {kind: lamp, voltage: 230 V}
wires:
  - {number: L, run: ["G0:L", "K1:A1", "K1:13"]}
  - {number: 1, run: ["K1:S11", "S1:11"]}
  - {number: 2, run: ["S1:12", "K1:S12"]}
  - {number: 3, run: ["K1:S21", "S2:11"]}
  - {number: 4, run: ["S2:12", "K1:S22"]}
  - {number: 5, run: ["K1:S33", "S5:13"]}
  - {number: 6, run: ["S5:14", "K1:S34"]}
  - {number: 7, run: ["K1:14", "P1:X1"]}
  - {number: N, run: ["G0:N", "K1:A2", "P1:X2"]}
"""
)
ON, RESET, SET = ("G0=on",), ("S5=pressed",), ("S5=pressed", "S5=released")
ONE, BOTH = ("S1=pressed", "S1=released"), ("S1=pressed", "S2=pressed", "S1=released", "S2=released")

TIMER = (
    HEAD
    + """\
  S1: {kind: selector, positions: [off, run], contacts: {13-14: {closed_in: [run]}}}
  K1: {kind: timer-relay, mode: HOW, delay: 2 s, coil: 230 V AC, contacts: {15-16: NC, 17-18: NO, 23-24: NO}}
  P1: {kind: lamp, voltage: 230 V}
  P2: {kind: lamp, voltage: 230 V}
  P3: {kind: lamp, voltage: 230 V}
wires:
  - {number: L, run: ["G0:L", "S1:13", "K1:15", "K1:17", "K1:23"]}
  - {number: 1, run: ["S1:14", "K1:A1"]}
  - {number: 2, run: ["K1:16", "P1:X1"]}
  - {number: 3, run: ["K1:18", "P2:X1"]}
  - {number: 4, run: ["K1:24", "P3:X1"]}
  - {number: N, run: ["G0:N", "K1:A2", "P1:X2", "P2:X2", "P3:X2"]}
"""
)
"""P1 is on with the delayed break contact, P2 with the delayed make contact, P3 with the contact that is not delayed."""

RELEASE = (
    HEAD
    + """\
  Q1: {kind: no-volt-release, poles: [1-2], voltage: 230 V AC}
  S1: {kind: push-button, contacts: {11-12: NC}}
  P1: {kind: lamp, voltage: 230 V}
wires:
  - {number: L, run: ["G0:L", "Q1:1"]}
  - {number: 1, run: ["Q1:2", "P1:X1", "S1:11"]}
  - {number: 2, run: ["S1:12", "Q1:A1"]}
  - {number: N, run: ["G0:N", "Q1:A2", "P1:X2"]}
"""
)

THERMISTOR = (
    HEAD
    + """\
  B1: {kind: thermistor}
  K1: {kind: thermistor-relay, voltage: 230 V AC, sensor: [T1, T2], reset: HOW, contacts: {13-14: NO}}
  P1: {kind: lamp, voltage: 230 V}
wires:
  - {number: L, run: ["G0:L", "K1:A1", "K1:13"]}
  - {number: 1, run: ["K1:14", "P1:X1"]}
  - {number: 2, run: ["K1:T1", "B1:1"]}
  - {number: 3, run: ["K1:T2", "B1:2"]}
  - {number: N, run: ["G0:N", "K1:A2", "P1:X2"]}
"""
)

TIED = (
    HEAD
    + """\
  S1: {kind: push-button, contacts: {13-14: NO}}
  S2: {kind: push-button, contacts: {13-14: NO}}
  Q1: {kind: contactor, coil: 230 V AC, poles: [1-2]}
  Q2: {kind: contactor, coil: 230 V AC, poles: [1-2], mechanical_interlock: Q1}
  P1: {kind: lamp, voltage: 230 V}
  P2: {kind: lamp, voltage: 230 V}
wires:
  - {number: L, run: ["G0:L", "S1:13", "S2:13", "Q1:1", "Q2:1"]}
  - {number: 1, run: ["S1:14", "Q1:A1"]}
  - {number: 2, run: ["S2:14", "Q2:A1"]}
  - {number: 3, run: ["Q1:2", "P1:X1"]}
  - {number: 4, run: ["Q2:2", "P2:X1"]}
  - {number: N, run: ["G0:N", "Q1:A2", "Q2:A2", "P1:X2", "P2:X2"]}
"""
)


def lit(text: str, *events: str) -> set[str]:
    """Which lamps are on after the events."""
    (seen,) = play_fast(text, *events)
    return {name for name in seen.acts if name.startswith("P")}


def how(text: str, word: str) -> str:
    return text.replace("HOW", word)


@pytest.mark.parametrize("reset", ["automatic", "manual", "monitored"])
@pytest.mark.parametrize(
    ("events", "there"),
    [
        (ON, set()),
        (ON + SET, {"P1"}),
        (ON + SET + ("S1=pressed",), set()),
        (ON + SET + ONE, set()),
        (ON + SET + ONE + SET, set()),  # one channel that opened and closed alone
        (ON + SET + ("S2=pressed", "S2=released") + SET, set()),
        (ON + SET + BOTH, set()),
        (ON + SET + BOTH + SET, {"P1"}),
        (ON + SET + ONE + ("G0=off", "G0=on") + SET, {"P1"}),
        (ON + SET + ("G0=off", "G0=on"), set()),
        (("S1=pressed", *ON, *SET), set()),
    ],
)
def test_a_safety_relay_is_reset_only_after_both_channels_were_open_or_its_supply_was_away(
    reset: str, events: tuple[str, ...], there: set[str]
) -> None:
    assert lit(how(SAFETY, reset), *events) == there


def test_a_monitored_reset_acts_as_the_button_is_let_go_and_the_others_as_it_is_pressed() -> None:
    assert lit(how(SAFETY, "monitored"), *ON, *RESET) == set()
    assert lit(how(SAFETY, "monitored"), *ON, *RESET, "S1=pressed", "S5=released", "S1=released") == set()
    assert lit(how(SAFETY, "manual"), *ON, *RESET) == {"P1"}
    assert lit(how(SAFETY, "automatic"), *RESET, *ON) == {"P1"}
    assert lit(how(SAFETY, "monitored"), *RESET, *ON, "S5=released") == {"P1"}


@pytest.mark.parametrize(
    ("mode", "events", "there"),
    [
        ("on-delay", ("S1=run",), {"P1", "P3"}),
        ("on-delay", ("S1=run", "K1=elapsed"), {"P2", "P3"}),
        ("on-delay", ("S1=run", "K1=elapsed", "S1=off"), {"P1"}),
        ("on-delay", ("S1=run", "S1=off", "S1=run"), {"P1", "P3"}),
        ("off-delay", (), {"P1"}),
        ("off-delay", ("S1=run",), {"P2", "P3"}),
        ("off-delay", ("S1=run", "S1=off"), {"P2"}),
        ("off-delay", ("S1=run", "S1=off", "K1=elapsed"), {"P1"}),
        ("off-delay", ("S1=run", "S1=off", "S1=run", "S1=off"), {"P2"}),
    ],
)
def test_a_timer_delays_the_contacts_with_marks_from_5_to_8_one_way(mode: str, events: tuple[str, ...], there: set[str]) -> None:
    assert lit(how(TIMER, mode), *ON, *events) == there


@pytest.mark.parametrize(
    ("events", "there"),
    [
        ((), set()),
        (("Q1=start",), {"P1"}),
        (("Q1=start", "Q1=off"), {"P1"}),
        (("Q1=start", "Q1=off", "S1=pressed", "S1=released"), set()),
        (("Q1=start", "Q1=off", "G0=off", "G0=on"), set()),
        (("Q1=start", "Q1=off", "Q1=stop"), set()),
        (("Q1=start", "Q1=off", "Q1=stop", "Q1=off"), set()),
        (("S1=pressed", "Q1=start", "Q1=off"), set()),
        (("S1=pressed", "Q1=start"), set()),
        (("S1=pressed", "Q1=start", "S1=released"), set()),
        (("Q1=start", "S1=pressed"), set()),
        (("Q1=start", "S1=pressed", "S1=released"), set()),
        (("Q1=start", "G0=off", "G0=on"), set()),
        (("Q1=start", "G0=off", "G0=on", "Q1=off", "Q1=start"), {"P1"}),
        (("Q1=stop", "Q1=start"), {"P1"}),
        (("Q1=start", "Q1=off", "Q1=start"), {"P1"}),
    ],
)
def test_a_no_volt_release_stays_closed_as_long_as_its_coil_has_supply(events: tuple[str, ...], there: set[str]) -> None:
    assert lit(RELEASE, *ON, *events) == there


@pytest.mark.parametrize(
    ("reset", "events", "there"),
    [
        ("automatic", (), {"P1"}),
        ("automatic", ("B1=hot",), set()),
        ("automatic", ("B1=hot", "B1=cold"), {"P1"}),
        ("manual", (), {"P1"}),
        ("manual", ("B1=hot", "B1=cold"), set()),
        ("manual", ("B1=hot", "B1=cold", "K1=reset"), {"P1"}),
        ("manual", ("B1=hot", "G0=off", "B1=cold", "G0=on"), set()),
        ("manual", ("G0=off", "B1=hot", "B1=cold", "G0=on"), {"P1"}),
    ],
)
def test_a_thermistor_relay_remembers_a_trip_where_it_is_reset_by_hand(
    reset: str, events: tuple[str, ...], there: set[str]
) -> None:
    assert lit(how(THERMISTOR, reset), *ON, *events) == there


@pytest.mark.parametrize(
    ("events", "there"),
    [
        (("S1=pressed", "S2=pressed"), {"P1"}),
        (("S2=pressed", "S1=pressed"), {"P2"}),
        (("S1=pressed", "S2=pressed", "S1=released"), {"P2"}),
        (("S2=pressed", "S1=pressed", "S2=released"), {"P1"}),
    ],
)
def test_of_two_that_are_tied_the_second_waits_for_the_first_whichever_names_the_other(
    events: tuple[str, ...], there: set[str]
) -> None:
    assert lit(TIED, *ON, *events) == there


ALL: Mapping[str, str] = {
    **{f"safety relay, {reset}": how(SAFETY, reset) for reset in ("automatic", "manual", "monitored")},
    "safety relay, reset not stated": SAFETY.replace("    reset: HOW\n", ""),
    "safety relay without a reset loop": how(SAFETY, "manual")
    .replace("    reset_loop: [S33, S34]\n", "")
    .replace("K1:S33", "G0:PE")
    .replace("K1:S34", "G0:PE"),
    "safety relay with a contact that opens late": how(SAFETY, "manual").replace(
        "{13-14: NO}\n", "{13-14: {form: NO, off_delay: 2 s}}\n"
    ),
    **{f"timer, {mode}": how(TIMER, mode) for mode in ("on-delay", "off-delay")},
    "no-volt release": RELEASE,
    **{f"thermistor relay, {reset}": how(THERMISTOR, reset) for reset in ("automatic", "manual")},
    "two contactors tied": TIED,
}


@pytest.mark.parametrize("name", ALL)
def test_the_plain_engine_agrees(name: str) -> None:
    plan = read_plan_text(ALL[name], name)
    seen, kept = fast(plan)
    assert differences(seen, plain(PlainEngine(plan), kept)) == []
