"""What single faults do to a stop: the words of the verdict, what is seen at the next start, and what begins motion by itself."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from tests.circuit.networks import plan_text
from tests.oracles.plain_engine import PlainEngine
from tests.oracles.plain_faults import FaultyEngine, dying_in
from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.verdicts import NO_EFFECT, SEEN, STOPS, UNSEEN, Effect, FaultTrial, Shown, worst_first
from wirecheck.behaviour.views import reduced
from wirecheck.facts import Facts
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Event

EXAMPLES = Path(__file__).parents[2] / "examples" / "good"

FAN = """\
wirecheck: 1
machine: {name: Forge blower}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN, protected_by: {rating: 16 A, curve: C}}
  S3: {kind: push-button, role: stop, direct_opening: true, contacts: {11-12: NC}}
  S4: {kind: push-button, role: start, contacts: {13-14: NO}}
  Q2: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4], contacts: {13-14: NO}}
  P1: {kind: lamp, voltage: 230 V, colour: WH}
  M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}
wires:
  - {number: L, run: [G0:L, Q2:1]}
  - {number: N, run: [G0:N, Q2:3]}
  - {number: U, run: [Q2:2, M1:U1]}
  - {number: V, run: [Q2:4, M1:V1]}
  - {number: L, run: [G0:L, S3:11]}
  - {number: 3, run: [S3:12, S4:13, Q2:13]}
  - {number: 4, run: [S4:14, Q2:14, Q2:A1]}
  - {number: N, run: [G0:N, Q2:A2]}
  - {number: L, run: [G0:L, P1:X1]}
  - {number: N, run: [G0:N, P1:X2]}
  - {number: PE, run: [G0:PE, M1:PE]}
"""

LOOPED = """\
wirecheck: 1
machine: {name: Tumbler}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN, protected_by: {rating: 16 A, curve: C}}
  S1: {kind: emergency-stop, direct_opening: true, contacts: {11-12: NC, 21-22: NC}}
  S3: {kind: push-button, role: stop, contacts: {11-12: NC}}
  S4: {kind: push-button, role: start, contacts: {13-14: NO}}
  K8:
    kind: safety-relay
    voltage: 230 V AC
    supply: [A1, A2]
    channels: [[S11, S12], [S21, S22]]
    reset_loop: [S33, S34]
    reset: automatic
    contacts: {13-14: NO, 23-24: NO}
  Q2: {kind: contactor, coil: 230 V AC, mirror_contacts: true, poles: [1-2], contacts: {21-22: NC}}
  Q3: {kind: contactor, coil: 230 V AC, poles: [1-2], contacts: {13-14: NO}}
  M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}
wires:
  - {number: L, run: [G0:L, Q2:1]}
  - {number: 1, run: [Q2:2, Q3:1]}
  - {number: U, run: [Q3:2, M1:U1]}
  - {number: N, run: [G0:N, M1:V1, K8:A2, Q2:A2, Q3:A2]}
  - {number: L, run: [G0:L, K8:A1, K8:13, S3:11]}
  - {number: 2, run: [K8:S11, S1:11]}
  - {number: 3, run: [S1:12, K8:S12]}
  - {number: 4, run: [K8:S21, S1:21]}
  - {number: 5, run: [S1:22, K8:S22]}
  - {number: 6, run: [K8:14, Q2:A1]}
  - {number: 7, run: [S3:12, K8:23, Q3:13]}
  - {number: 8, run: [K8:24, S4:13]}
  - {number: 9, run: [S4:14, Q3:14, Q3:A1]}
  - {number: 10, run: [K8:S33, Q2:21]}
  - {number: 11, run: [Q2:22, K8:S34]}
  - {number: PE, run: [G0:PE, M1:PE]}
"""
"""The emergency stop opens Q2 alone, for Q3 holds itself in past K8; so all hangs on Q2, which the reset loop looks at."""

BLIND = LOOPED.replace("[K8:S33, Q2:21]", "[K8:S33, K8:S34]").replace("  - {number: 11, run: [Q2:22, K8:S34]}\n", "")

POLISHER = """\
wirecheck: 1
machine: {name: Polisher}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN, protected_by: {rating: 16 A, curve: C}}
  S4: {kind: selector, role: mode, positions: [off, run], run_positions: [run], contacts: {13-14: {closed_in: [run]}}}
  T1:
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W]}
    control:
      mode: two-wire
      logic: sinking
      supply: {plus: P24, common: COM, voltage: 24 V DC}
      inputs: {DI1: run-forward}
    settings:
      command_source: terminals
      restarts_itself_after_fault: false
      on_power_up_with_run: waits
      after_trip_reset_with_run: waits
  M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}
wires:
  - {number: L, run: [G0:L, T1:L]}
  - {number: N, run: [G0:N, T1:N]}
  - {number: PE, run: [G0:PE, T1:PE, M1:PE]}
  - {number: PE, run: [T1:PE, T1:COM]}
  - {number: U, run: [T1:U, M1:U1]}
  - {number: V, run: [T1:V, M1:V1]}
  - {number: W, run: [T1:W, M1:W1]}
  - {number: 1, run: [T1:COM, S4:13]}
  - {number: 2, run: [S4:14, T1:DI1]}
"""


@cache
def effects(text: str) -> tuple[tuple[str, ...], tuple[Effect, ...]]:
    """The functions of the only view of a plan, and what every fault does to them."""
    ((functions, found),) = Facts(read_plan_text(text, "plan.yaml")).fault_effects
    return tuple(f.name for f in functions), found


def effect(text: str, fault: str) -> Effect:
    (found,) = (e for e in effects(text)[1] if fault in [f.text for f in e.faults])
    return found


def verdict(text: str, function: str, fault: str) -> str:
    return effect(text, fault).verdicts[effects(text)[0].index(function)]


@pytest.mark.parametrize(
    ("fault", "word"),
    [
        ("wire L [G0:L–P1:X1] open", NO_EFFECT),
        ("Q2:1-2 welded", NO_EFFECT),
        ("Q2:13-14 stuck open", NO_EFFECT),
        ("S3:11-12 stuck open", STOPS),
        ("Q2 coil open", STOPS),
        ("G0 lost", STOPS),
        ("wire U [Q2:2–M1:U1] open", STOPS),
        ("Q2 stuck in", UNSEEN),
        ("S3:11-12 welded", UNSEEN),
    ],
)
def test_the_verdict_on_a_fault_of_a_contactor_with_one_stop(fault: str, word: str) -> None:
    assert verdict(FAN, "S3=pressed", fault) == word


def test_a_fault_that_is_excluded_is_tried_but_marked() -> None:
    (fault,) = effect(FAN, "S3:11-12 welded").faults
    assert fault.kind == "excluded"


@pytest.mark.parametrize("fault", ["Q2:1-2 welded", "Q2 stuck in"])
@pytest.mark.parametrize(("text", "word"), [(LOOPED, SEEN), (BLIND, UNSEEN)])
def test_a_welded_pole_is_seen_where_the_reset_loop_looks_at_the_mirror_contact(text: str, word: str, fault: str) -> None:
    assert verdict(text, "S1 emergency-stop", fault) == word


def test_without_mirror_contacts_the_reset_loop_does_not_see_a_welded_pole() -> None:
    plain = LOOPED.replace("mirror_contacts: true", "mirror_contacts: false")
    assert verdict(plain, "S1 emergency-stop", "Q2:1-2 welded") == UNSEEN
    assert verdict(plain, "S1 emergency-stop", "Q2 stuck in") == SEEN  # the whole armature takes the break contact along


def test_a_loss_that_is_seen_comes_while_the_machine_runs() -> None:
    (shown,) = (s for i, s in effect(LOOPED, "Q2:1-2 welded").lost.items() if effects(LOOPED)[0][i] == "S1 emergency-stop")
    assert shown.path.fault_after == 1
    assert shown.path.events == ("G0=on", "S4=pressed", "S1=pressed")


def test_a_fault_that_begins_motion_by_coming() -> None:
    starts = effect(POLISHER, "wire 2 earthed").starts
    assert list(starts) == ["M1"]
    assert (starts["M1"].path.events, starts["M1"].path.fault_after) == (("G0=on",), 1)


PERMITTED = POLISHER.replace("inputs: {DI1: run-forward}", "inputs: {DI1: run-forward, DI2: {does: run-permit, acts_when: open}}")
PERMITTED = PERMITTED.replace("  T1:\n", "  S5: {kind: push-button, contacts: {13-14: NO}}\n  T1:\n").replace(
    "  - {number: 1, run: [T1:COM, S4:13]}\n",
    "  - {number: 1, run: [T1:COM, S4:13, S5:13]}\n  - {number: 3, run: [S5:14, T1:DI2]}\n",
)


def test_the_trace_of_a_fault_that_begins_motion_leads_to_where_it_does() -> None:
    """Of all that can be two events from rest, only with S5 held does the earthed wire let the drive run."""
    path = effect(PERMITTED, "wire 2 earthed").starts["M1"].path
    assert (set(path.events), path.fault_after) == ({"G0=on", "S5=pressed"}, 2)
    plan = read_plan_text(PERMITTED, "plan.yaml")
    whole = PlainEngine(plan)
    whole.reach()
    (fault,) = (f for f in single_faults(plan) if f.text == "wire 2 earthed")
    faulted = FaultyEngine(whole, fault, dying_in(whole))
    still, turns = {"M1": "stopped"}, {"M1": "forward"}
    assert faulted.replay_with_fault([Event(*e.split("=")) for e in path.events], 2, [still, still, still, turns])


@pytest.mark.parametrize(
    "fault", ["wire 1 earthed", "wire 2 [S4:14–T1:DI1] open", "G0 lost", "T1:DI1 stuck off", "S4:13-14 stuck open"]
)
def test_other_faults_of_the_same_plan_begin_nothing(fault: str) -> None:
    assert [e for e in effects(POLISHER)[1] if fault in [f.text for f in e.faults] and e.starts] == []


def test_a_stuck_start_button_begins_motion_with_the_supply() -> None:
    shown = effect(FAN, "S4:13-14 welded").starts["M1"]
    assert (shown.path.events, shown.path.fault_after) == (("G0=on",), 0)


def test_faults_that_act_alike_are_tried_once() -> None:
    alike = {f.text for f in effect(FAN, "S3:11-12 stuck open").faults}
    assert {"wire L [G0:L–S3:11] open", "wire 3 [S3:12–S4:13] open", "S3:11-12 stuck open", "Q2 coil open"} <= alike
    assert "Q2:1-2 stuck open" not in alike
    behaviours = {id(shown.behaviour) for e in effects(FAN)[1] for shown in e.starts.values()}
    assert len(effects(FAN)[1]) < sum(len(e.faults) for e in effects(FAN)[1])
    assert len(behaviours) == sum(bool(e.starts) for e in effects(FAN)[1])


def test_a_stop_that_does_not_work_without_any_fault_is_not_tried() -> None:
    ahead = FAN.replace("[S3:12, S4:13, Q2:13]", "[S3:12, S4:13]").replace("[G0:L, S3:11]", "[G0:L, S3:11, Q2:13]")
    words = {e.verdicts[effects(ahead)[0].index("S3=pressed")] for e in effects(ahead)[1]}
    assert words <= {NO_EFFECT, STOPS}


Trace = tuple[bool, int, tuple[str, ...], int]
"""Whether the fault is there from the start, how many events there are, which, and after how many of them the fault comes."""


def traced(shown: Shown) -> Trace:
    return (shown.from_start, shown.length, shown.path.events, shown.path.fault_after)


AT_ONCE: Trace = (True, 1, ("G0=on",), 0)

BLOWER: list[tuple[list[str], str, list[Trace], list[Trace]]] = [
    (["wire L [G0:L–Q2:1] open", "wire U [Q2:2–M1:U1] open", "Q2:1-2 stuck open"], STOPS, [], []),
    (["wire N [G0:N–Q2:3] open", "wire V [Q2:4–M1:V1] open", "Q2:3-4 stuck open"], STOPS, [], []),
    (
        [
            "wire L [G0:L–S3:11] open",
            "wire 3 [S3:12–S4:13] open",
            "wire 4 [Q2:14–Q2:A1] open",
            "wire N [G0:N–Q2:A2] open",
            "S3:11-12 stuck open",
            "Q2 coil open",
        ],
        STOPS,
        [],
        [],
    ),
    (["wire 3 [S4:13–Q2:13] open", "Q2:13-14 stuck open"], NO_EFFECT, [], []),  # it runs while the button is held
    (["wire 4 [S4:14–Q2:14] open", "S4:13-14 stuck open"], STOPS, [], []),
    (["wire L [G0:L–P1:X1] open", "wire N [G0:N–P1:X2] open"], NO_EFFECT, [], []),
    (["wire PE [G0:PE–M1:PE] open"], NO_EFFECT, [], []),
    (["S3:11-12 welded"], UNSEEN, [(True, 3, ("G0=on", "S3=pressed", "S4=pressed"), 0)], []),
    (["S4:13-14 welded"], NO_EFFECT, [], [AT_ONCE]),
    (["Q2:1-2 welded"], NO_EFFECT, [], []),  # the other pole still opens
    (["Q2:3-4 welded"], NO_EFFECT, [], []),
    (["Q2:13-14 welded"], NO_EFFECT, [], [AT_ONCE]),
    (["Q2 stuck in"], UNSEEN, [(True, 2, ("G0=on", "S3=pressed"), 0)], [AT_ONCE]),
    (["wire L earthed"], STOPS, [], []),
    (["wire N earthed"], NO_EFFECT, [], []),  # it is at earth already, in the supply
    (["wire U earthed"], STOPS, [], []),
    (["wire V earthed"], NO_EFFECT, [], []),
    (["wire 3 earthed"], STOPS, [], []),
    (["wire 4 earthed"], STOPS, [], []),
    (["G0 lost"], STOPS, [], []),
]


def test_all_that_every_fault_of_a_blower_does_is_told() -> None:
    names, found = effects(FAN)
    assert names == ("S3=pressed",)
    assert [
        ([f.text for f in e.faults], *e.verdicts, [traced(s) for s in e.lost.values()], [traced(s) for s in e.starts.values()])
        for e in found
    ] == BLOWER
    assert {motor for e in found for motor in e.starts} == {"M1"}


def test_what_stands_in_the_way_and_what_comes_with_a_drive_is_told() -> None:
    """The drive waits for a fresh command after power: the fault must come while it has power, and is seen after it."""
    assert {f.text: (*e.verdicts, sorted(e.starts)) for e in effects(POLISHER)[1] for f in e.faults if e.worst} == {
        **dict.fromkeys(("wire L [G0:L–T1:L] open", "wire N [G0:N–T1:N] open", "wire L earthed", "G0 lost"), (STOPS, [])),
        **dict.fromkeys(("wire 1 [T1:COM–S4:13] open", "wire 2 [S4:14–T1:DI1] open", "S4:13-14 stuck open"), (STOPS, [])),
        **dict.fromkeys(("T1:DI1 stuck off", "T1 control supply lost"), (STOPS, [])),
        **dict.fromkeys(("wire 2 earthed", "T1:DI1 stuck on"), (SEEN, ["M1"])),
        "S4:13-14 welded": (SEEN, []),
    }
    (shown,) = effect(POLISHER, "S4:13-14 welded").lost.values()
    assert traced(shown) == (False, 3, ("G0=on", "S4=run", "S4=off"), 2)
    assert traced(effect(POLISHER, "wire 2 earthed").starts["M1"]) == (False, 1, ("G0=on",), 1)


TWICE = """\
wirecheck: 1
machine: {name: Tapping head}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  S1: {kind: emergency-stop, contacts: {11-12: NC, 21-22: NC}}
  Q2: {kind: contactor, coil: 230 V AC, poles: [1-2]}
  Q3: {kind: contactor, coil: 230 V AC, poles: [1-2]}
  M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}
wires:
  - {number: L, run: [G0:L, Q2:1]}
  - {number: L1, run: [G0:L, S1:11]}
  - {number: L2, run: [G0:L, S1:21]}
  - {number: 1, run: [Q2:2, Q3:1]}
  - {number: U, run: [Q3:2, M1:U1]}
  - {number: N, run: [G0:N, M1:V1]}
  - {number: N1, run: [G0:N, Q2:A2]}
  - {number: N2, run: [G0:N, Q3:A2]}
  - {number: 2, run: [S1:12, Q2:A1]}
  - {number: 3, run: [S1:22, Q3:A1]}
"""
CHANNELS = (("S1:11-12 welded", "Q2:1-2 welded", "Q2 stuck in"), ("S1:21-22 welded", "Q3:1-2 welded", "Q3 stuck in"))


@pytest.mark.parametrize("left_out", [None, "stuck in", "welded"])
def test_two_channels_are_lost_by_a_fault_in_each_in_either_order(left_out: str | None) -> None:
    """The second fault comes at any moment: before the supply is on, or for a pole that welds while it is closed after that."""
    facts = Facts(read_plan_text(TWICE, "twice"))
    ((functions, found),) = facts.fault_effects
    (trial,) = facts.fault_trials
    assert [f.name for f in functions] == ["S1 emergency-stop"]
    assert {e.verdicts for e in found} == {(NO_EFFECT,), (STOPS,)}
    pairs = {both.text: (both, shown) for both, shown in trial.second_losses(0, found, lambda f: f.kind != left_out)}
    one, other = (tuple(name for name in channel if not left_out or left_out not in name) for channel in CHANNELS)
    wanted = [(a, b) for a in one for b in other]
    assert sorted(pairs) == sorted([f"{a}, then {b}" for a, b in wanted] + [f"{b}, then {a}" for a, b in wanted])
    for both, shown in pairs.values():
        assert shown.behaviour.fault is both
        assert (shown.length, shown.path.events) == (2, ("G0=on", "S1=pressed"))
        assert shown.path.fault_after == (0 if both.text.endswith(("S1:11-12 welded", "S1:21-22 welded")) else 1)


TURNER = """\
wirecheck: 1
machine: {name: Turner}
devices:
  G0: {kind: mains, phases: 3, voltage: 400 V, earthing: TN}
  S3: {kind: selector, positions: [off, left, right], run_positions: [left, right], \
contacts: {13-14: {closed_in: [left]}, 23-24: {closed_in: [right]}}}
  Q2: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6]}
  Q3: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6]}
  M1: {kind: motor, links: [[U2, V2], [V2, W2]]}
wires:
  - {number: L1, run: [G0:L1, S3:13, S3:23, Q2:1, Q3:1]}
  - {number: L2, run: [G0:L2, Q2:3, Q3:3]}
  - {number: L3, run: [G0:L3, Q2:5, Q3:5]}
  - {number: U, run: [Q2:2, Q3:6, M1:U1]}
  - {number: V, run: [Q2:4, Q3:4, M1:V1]}
  - {number: W, run: [Q2:6, Q3:2, M1:W1]}
  - {number: 1, run: [S3:14, Q2:A1]}
  - {number: 2, run: [S3:24, Q3:A1]}
  - {number: N, run: [G0:N, Q2:A2, Q3:A2]}
"""


def test_the_second_pole_may_weld_while_the_first_one_would_be_open_had_it_not_welded() -> None:
    """Q2 and Q3 are never in together. L2 stays on V by the one and L1 on W by the other, and both have dropped out.
    The other way round Q2 would short L1 to L3 as it goes in, and its pole would not weld.
    """
    facts = Facts(read_plan_text(TURNER, "turner"))
    ((_, found),) = facts.fault_effects
    (trial,) = facts.fault_trials
    poles = ("Q2:3-4 welded", "Q3:1-2 welded")
    pairs = {both.text: shown for both, shown in trial.second_losses(0, found, lambda f: f.text in poles)}
    assert set(pairs) == {"Q2:3-4 welded, then Q3:1-2 welded"}
    path = pairs["Q2:3-4 welded, then Q3:1-2 welded"].path
    assert (path.events, path.fault_after) == (("G0=on", "S3=right", "S3=off"), 2)


def test_a_direct_opening_contact_counts_as_neither_of_two_faults() -> None:
    facts = Facts(
        read_plan_text(TWICE.replace("emergency-stop, contacts", "emergency-stop, direct_opening: true, contacts"), "twice")
    )
    ((_, found),) = facts.fault_effects
    (trial,) = facts.fault_trials
    assert {f.kind for e in found for f in e.faults if "S1:11-12 welded" in f.text} == {"excluded"}
    texts = [both.text for both, _ in trial.second_losses(0, found, lambda _: True)]
    assert len(texts) == 8
    assert not any("S1" in text for text in texts)


def test_a_view_tells_of_the_faults_of_what_has_a_part_in_it_and_leaves_those_of_the_rest_to_other_views() -> None:
    """K9 is inert here; a wire from it to a terminal block, an earth bar or a frame is tried where K9 is looked at."""
    devices = [
        "G0: {kind: mains, phases: 1, voltage: 230 V}",
        "S1: {kind: push-button, contacts: {13-14: NO}}",
        "K9: {kind: relay, coil: 230 V AC, contacts: {13-14: NO}}",
        "X1: {kind: terminal-block}",
        "X0: {kind: earth-bar}",
        "U1: {kind: frame}",
    ]
    runs = ["G0:L S1:13", "X1:1 K9:A1", "X0:1 K9:A2", "U1:PE K9:14", "S1:14 K9:13", "X1:2 X0:2"]
    view = Behaviour(reduced(read_plan_text(plan_text(devices, runs), "view"), frozenset({"G0", "S1"}), frozenset()))
    found = [f.text for f in FaultTrial(view, ())._faults() if f.kind == "wire open"]
    assert found == ["wire 1 [G0:L–S1:13] open", "wire 5 [S1:14–K9:13] open", "wire 6 [X1:2–X0:2] open"]


def test_the_worst_comes_first() -> None:
    ranked = [e.worst for e in worst_first(effects(LOOPED)[1])]
    assert ranked == sorted(ranked, reverse=True)
    assert {0, 1, 2, 3} == set(ranked)


@pytest.mark.parametrize("plan", ["polisher", "pillar-drill", "bench-grinder"])
def test_every_trace_has_as_many_events_as_it_is_said_to_have(plan: str) -> None:
    """Also where the fault itself, coming after some events, leads to the bad state."""
    text = POLISHER if plan == "polisher" else (EXAMPLES / f"{plan}.yaml").read_text(encoding="utf-8")
    facts = Facts(read_plan_text(text, plan))
    effects = [effect for _, each in facts.fault_effects for effect in each]
    shown = [shown for effect in effects for shown in (*effect.lost.values(), *effect.starts.values())]
    assert shown
    assert [(s.path.events, s.length) for s in shown if len(s.path.events) != s.length] == []


def test_a_function_that_no_fault_is_needed_to_lose_is_lost_by_none() -> None:
    """The stop opens nothing: that is told by itself, and no fault is said to do it."""
    loose = (
        FAN.replace("- {number: L, run: [G0:L, S3:11]}", "- {number: L, run: [G0:L, S4:13, Q2:13]}")
        .replace("  - {number: 3, run: [S3:12, S4:13, Q2:13]}\n", "  - {number: 3, run: [S3:12, P1:X1]}\n")
        .replace("  - {number: L, run: [G0:L, P1:X1]}\n", "  - {number: L, run: [G0:L, S3:11]}\n")
    )
    for text, lost in ((FAN, True), (loose, False)):
        facts = Facts(read_plan_text(text, "blower"))
        ((functions, effects),) = facts.fault_effects
        assert [(str(held.cause.event), held.must) for held in functions] == [("S3=pressed", ("M1", "stopped"))]
        assert any(effect.lost for effect in effects) == lost
        assert any(effect.starts for effect in effects)
