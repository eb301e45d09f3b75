"""What a fault lets act through other loads: a lost common and the like, and what follows from it."""

from __future__ import annotations

import pytest

from tests.circuit.networks import plan_text
from wirecheck.behaviour import sneaks, verdicts
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.followed import sort_of
from wirecheck.behaviour.lost import FaultSneaks, _however_it_came
from wirecheck.behaviour.rehearsal import rehearse
from wirecheck.behaviour.verdicts import Effect
from wirecheck.errors import TooLarge
from wirecheck.facts import Facts
from wirecheck.pipeline import check
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Event, Plan
from wirecheck.rules.fault_table import fault_table
from wirecheck.rules.functions import function_summaries

SUPPLY = [
    "G0: {kind: mains, phases: 3, voltage: 400 V}",
    "G1: {kind: dc-supply, voltage: 24 V DC}",
    "S1: {kind: push-button, role: stop, contacts: {11-12: NC}}",
    "S2: {kind: push-button, role: start, contacts: {13-14: NO}}",
    "S3: {kind: selector, positions: [off, on], contacts: {13-14: {closed_in: [on]}}}",
    "M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}",
]
POWER = ["G0:L1 K1:1 G1:L", "G0:L2 K1:3", "G0:L3 K1:5", "G0:N G1:N", "K1:2 M1:U1", "K1:4 M1:V1", "K1:6 M1:W1"]
CONTROL = ["G1:+ S1:11 S3:13", "S1:12 S2:13 K1:13", "S2:14 K1:14 K1:A1 P1:X1", "S3:14 K2:A1 P2:X1"]


def plan(returns: list[str], lamp_w: float = 2, coil_w: float = 2, earth: str = "G1:-") -> Plan:
    devices = [
        *SUPPLY,
        f"K1: {{kind: contactor, coil: 24 V DC, coil_power: {coil_w} W, poles: [1-2, 3-4, 5-6], contacts: {{13-14: NO}}}}",
        "K2: {kind: relay, coil: 24 V DC, coil_power: 2 W}",
        f"P1: {{kind: lamp, voltage: 24 V DC, power: {lamp_w} W}}",
        "P2: {kind: lamp, voltage: 24 V DC, power: 2 W}",
    ]
    return read_plan_text(plan_text(devices, [*POWER, *CONTROL, *returns, f"G0:PE M1:PE {earth}"]), "lost")


COMMON = ["G1:- K1:A2 P1:X2 P2:X2 K2:A2"]
"""The lamp across K1 hangs on the far part of the common."""

SIDE_BY_SIDE = ["G1:- K1:A2 P1:X2", "G1:- K2:A2 P2:X2"]


def found_in(plan: Plan) -> dict[str, FaultSneaks]:
    """By the fault what it lets act or glow."""
    return {found.fault.text: found for _, each in Facts(plan).fault_sneaks for found in each}


def numbered(plan: Plan, a: str, b: str) -> str:
    """The fault that a wire is open, by the wire's ends."""
    (text,) = (f.text for f in single_faults(plan) if f.kind == "wire open" and f"[{a}–{b}]" in f.text)
    return text


def test_a_lost_common_holds_a_contactor_in_past_the_stop() -> None:
    lost = plan(COMMON)
    found = found_in(lost)
    assert set(found) == {numbered(lost, "K1:A2", "P1:X2")}
    (lets,) = found.values()
    held = next(s for s in lets.sneaks if s.device == "K1" and s.verdict == "may hold in")
    # P1 and K1 in a row (288 ohm each) against K2 and P2 side by side (144 ohm): 288 parts of 720.
    assert held.share == pytest.approx(0.4)
    assert set(held.through) == {"K2", "P1"}
    assert " ".join(map(str, held.walk)) == "G1:+ S1:11 S3:13 S3:14 K2:A1 K2:A2 P2:X2 P1:X2 P1:X1 K1:A1 K1:A2 G1:-"
    (shown,) = lets.certain.effect.lost.values()
    assert set(shown.path.events) == {"G0=on", "S2=pressed", "S3=on", "S1=pressed"}


def test_returns_side_by_side_are_quiet_with_every_fault() -> None:
    assert found_in(plan(SIDE_BY_SIDE)) == {}


def test_too_little_voltage_holds_nothing() -> None:
    # 0.2 W: the lamp has 2880 ohm, so that K1 gets 288 parts of 3312, below a tenth.
    (lets,) = found_in(plan(COMMON, lamp_w=0.2)).values()
    assert "K1" not in {s.device for s in lets.sneaks}
    assert not lets.certain.effect.lost


def test_a_coil_that_gets_enough_pulls_in_and_starts_the_motor() -> None:
    # 60 W against a coil of 0.2 W: K1 gets nearly all of it.
    (lets,) = found_in(plan(COMMON, lamp_w=60, coil_w=0.2)).values()
    assert "pulls in" in {s.verdict for s in lets.sneaks if s.device == "K1"}
    assert "M1" in lets.certain.effect.starts
    (shown,) = lets.certain.effect.starts.values()
    assert shown.path.events[-1] in ("S3=on", "G0=on")


def test_a_coil_that_may_pull_in_is_told_of_with_what_would_follow() -> None:
    (lets,) = found_in(plan(COMMON)).values()
    assert "M1" not in lets.certain.effect.starts
    assert lets.doubtful is not None
    assert "M1" in lets.doubtful.effect.starts


@pytest.mark.parametrize("lamp_w", [2, 60])
def test_every_trace_can_be_rehearsed(lamp_w: float) -> None:
    lost = plan(COMMON, lamp_w=lamp_w, coil_w=0.2 if lamp_w == 60 else 2)
    faults = {f.text: f for f in single_faults(lost)}
    played = 0
    for text, lets in found_in(lost).items():
        for outcome in (lets.certain, lets.doubtful):
            for shown in (*outcome.effect.lost.values(), *outcome.effect.starts.values()) if outcome else ():
                events = [Event(*event.split("=")) for event in shown.path.events]
                steps = rehearse(lost, events, [faults[text]], shown.path.fault_after)
                last = [step for step in steps if step.event == (str(events[-1]) if events else text)]
                assert any(step.motion["M1"] != "stopped" for step in last)
                played += 1
    assert played


JOG = [
    "G0: {kind: mains, phases: 3, voltage: 400 V}",
    "G1: {kind: dc-supply, voltage: 24 V DC}",
    "S2: {kind: push-button, role: jog, contacts: {13-14: NO}}",
    "S3: {kind: selector, positions: [off, on], contacts: {13-14: {closed_in: [on]}}}",
    "M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}",
    "K1: {kind: contactor, coil: 24 V DC, coil_power: 2 W, poles: [1-2, 3-4, 5-6]}",
    "K2: {kind: relay, coil: 24 V DC, coil_power: 2 W}",
    "P1: {kind: lamp, voltage: 24 V DC, power: 2 W}",
    "P2: {kind: lamp, voltage: 24 V DC, power: 2 W}",
]


@pytest.mark.parametrize(("returns", "kept"), [(COMMON, True), (SIDE_BY_SIDE, False)])
def test_a_jog_that_is_let_go_and_goes_on(returns: list[str], kept: bool) -> None:
    runs = [*POWER, "G1:+ S2:13 S3:13", "S2:14 K1:A1 P1:X1", "S3:14 K2:A1 P2:X1", *returns, "G0:PE M1:PE G1:-"]
    found = found_in(read_plan_text(plan_text(JOG, runs), "jog"))
    assert bool(found) == kept
    for lets in found.values():
        assert not lets.certain.effect.lost
        assert set(lets.certain.kept["M1"].path.events) == {"G0=on", "S2=pressed", "S3=on", "S2=released"}
        assert lets.certain.kept["M1"].from_start is True  # it is there from the start, and that is told first


def test_a_jog_that_goes_on_is_told_where_something_else_may_run_its_motor_too() -> None:
    """A limit switch runs it after a delay, and no longer than it is pressed: released, the motor has no cause to run."""
    more = [
        "S4: {kind: limit-switch, contacts: {13-14: NO}}",
        "K4: {kind: timer-relay, coil: 24 V DC, coil_power: 2 W, mode: on-delay, delay: 2 s, contacts: {17-18: NO}}",
    ]
    runs = [*POWER, "G1:+ S2:13 S3:13 S4:13 K4:17", "S2:14 K4:18 K1:A1 P1:X1", "S3:14 K2:A1 P2:X1", "S4:14 K4:A1"]
    jog = read_plan_text(plan_text([*JOG, *more], [*runs, "G1:- K4:A2 K1:A2 P1:X2 P2:X2 K2:A2", "G0:PE M1:PE G1:-"]), "jog")
    kept = found_in(jog)[numbered(jog, "K1:A2", "P1:X2")].certain.kept
    assert set(kept["M1"].path.events) == {"G0=on", "S2=pressed", "S3=on", "S2=released"}


def test_what_is_operated_so_is_one_whatever_coils_and_drives_remember() -> None:
    ((trial, _),) = Facts(plan(COMMON)).fault_sneaks
    b = trial.healthy
    held = b.at("S2", "pressed") & b.at("S1", "released") & b.at("S3", "on") & b.at("G0", "on")
    assert held.bit_count() == 4  # K1 and K2, in or out
    one = held & b.within("K1") & ~b.within("K2")
    assert one.bit_count() == 1
    assert _however_it_came(trial, one) == held
    assert _however_it_came(trial, 0) == 0


def test_lamps_that_only_glow_lose_and_start_nothing() -> None:
    # A wire lies across P2; where it is open, P1 and P2 are in a row and have half of 24 V each.
    devices = [*SUPPLY, *(d for d in JOG if d.startswith(("K1", "P1", "P2")))]
    runs = [
        *POWER,
        "G1:+ S1:11 S3:13",
        "S1:12 S2:13",
        "S2:14 K1:A1",
        "K1:A2 G1:-",
        "S3:14 P1:X1",
        "P1:X2 P2:X1 G1:-",
        "P2:X2 G1:-",
    ]
    lamps = read_plan_text(plan_text(devices, runs), "lamps")
    found = found_in(lamps)[numbered(lamps, "P2:X1", "G1:-")]
    assert {(s.device, s.verdict, round(s.volts, 1)) for s in found.sneaks} == {("P1", "glows", 12.0), ("P2", "glows", 12.0)}
    assert found.certain.effect == Effect((found.fault,), ())
    assert found.certain.kept == {}
    assert found.doubtful is None


def test_what_is_told_with_a_fault_names_that_fault_and_has_a_verdict_for_each_function() -> None:
    (found,) = found_in(plan(COMMON)).values()
    assert found.doubtful is not None
    for outcome in (found.certain, found.doubtful):
        assert outcome.effect.faults == (found.fault,)
        assert outcome.effect.verdicts == ("lost unseen",)


def motor_on_a_drive(common: list[str]) -> Plan:
    drive = (
        "T1: {kind: drive, input: {terminals: [L, N], phases: 1, voltage: 200-240 V}, "
        "output: {terminals: [U, V, W], voltage: 230 V}, control: {mode: two-wire, logic: sourcing, "
        "supply: {plus: P24, common: COM, voltage: 24 V DC}, inputs: {DI1: run-forward}}, "
        "settings: {command_source: terminals, on_power_up_with_run: waits, after_trip_reset_with_run: waits, "
        "restarts_itself_after_fault: false}}"
    )
    devices = [
        "G0: {kind: mains, phases: 1, voltage: 230 V}",
        "G1: {kind: dc-supply, voltage: 24 V DC}",
        drive,
        "S1: {kind: selector, positions: [stop, run], run_positions: [run], contacts: {13-14: {closed_in: [run]}}}",
        "S3: {kind: selector, positions: [off, on], contacts: {13-14: {closed_in: [on]}}}",
        "P1: {kind: lamp, title: runs, voltage: 24 V DC, power: 2 W}",
        "P2: {kind: lamp, title: light, voltage: 24 V DC, power: 2 W}",
        "M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}",
    ]
    runs = ["G0:L T1:L G1:L", "G0:N T1:N G1:N", "T1:U M1:U1", "T1:V M1:V1", "T1:W M1:W1", "G0:PE T1:PE M1:PE G1:-"]
    runs += ["G1:+ S1:13 S3:13", "S1:14 T1:DI1 P1:X1", "S3:14 P2:X1", *common]
    return read_plan_text(plan_text(devices, runs), "drive")


def test_a_drive_starts_by_its_pilot_lamp() -> None:
    lost = motor_on_a_drive(["G1:- T1:COM P1:X2 P2:X2"])
    found = found_in(lost)[numbered(lost, "T1:COM", "P1:X2")]
    # 4700 ohm behind two lamps of 288 ohm.
    (acting,) = {(str(s.ends[0]), s.verdict, round(s.share, 3)) for s in found.sneaks if s.kind == "input"}
    assert acting == ("T1:DI1", "pulls in", round(4700 / (4700 + 2 * 288), 3))
    assert found.certain.effect.starts["M1"].path.events[-1] == "S3=on"
    assert found_in(motor_on_a_drive(["G1:- T1:COM P1:X2", "G1:- P2:X2"])) == {}


def test_earth_fault_lamps_let_a_coil_in_by_an_earthed_conductor() -> None:
    # The control supply floats, and two lamps from its poles to earth show an earth fault. P1 and the coil are then in a row.
    devices = [d for d in JOG if not d.startswith(("S2", "S3", "K2"))]
    devices = [
        *SUPPLY[2:4],
        *(d.replace("poles: [1-2, 3-4, 5-6]", "poles: [1-2, 3-4, 5-6], contacts: {13-14: NO}") for d in devices),
    ]
    runs = [*POWER, "G1:+ S1:11 P1:X1", "S1:12 S2:13 K1:13", "S2:14 K1:14 K1:A1", "G1:- K1:A2 P2:X2", "P1:X2 P2:X1 G0:PE M1:PE"]
    lamps = read_plan_text(plan_text(devices, runs), "lamps")
    number = next(w.number for w in lamps.wires if str(w.b) == "K1:A1")
    found = found_in(lamps)[f"wire {number} earthed"]
    held = {s.device: s for s in found.sneaks if s.verdict == "may hold in"}["K1"]
    # 288 ohm from plus to earth, 288 and the coil's 288 side by side from there to minus.
    assert held.share == pytest.approx(144 / (288 + 144))
    assert held.through == ("P1",)
    assert [trial.functions[i].name for trial, each in Facts(lamps).fault_sneaks for f in each for i in f.certain.effect.lost]


def test_a_source_that_is_lost_is_fed_through_a_lamp_from_the_other() -> None:
    # P1 shows that G1 is missing: it hangs between the two supplies.
    devices = [
        *SUPPLY[:4],
        "G2: {kind: dc-supply, voltage: 24 V DC}",
        "P1: {kind: lamp, voltage: 24 V DC, power: 10 W}",
        SUPPLY[5],
    ]
    devices.append("K1: {kind: contactor, coil: 24 V DC, coil_power: 1 W, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO}}")
    runs = [*POWER, "G0:L1 G2:L", "G0:N G2:N", "G1:+ S1:11 P1:X1", "S1:12 S2:13 K1:13", "S2:14 K1:14 K1:A1"]
    runs += ["G2:+ P1:X2", "G1:- K1:A2 G2:-", "G0:PE M1:PE G1:-"]
    found = found_in(read_plan_text(plan_text(devices, runs), "two supplies"))
    (share,) = {round(s.share, 3) for s in found["G1 lost"].sneaks if s.device == "K1"}
    assert share == round(576 / (576 + 57.6), 3)
    assert "G2 lost" not in found


def test_a_coil_that_goes_open_leaves_its_voltage_to_the_one_beside_it() -> None:
    # K2 (28.8 ohm) and K1 (576 ohm) hang side by side behind P1 (288 ohm): 27.4 parts of 315.4, 8.7 %. With K2 open 576 of 864.
    devices = [d for d in SUPPLY if not d.startswith(("S1", "S2"))]
    devices += [
        "P1: {kind: lamp, voltage: 24 V DC, power: 2 W}",
        "K1: {kind: contactor, coil: 24 V DC, coil_power: 1 W, poles: [1-2, 3-4, 5-6]}",
        "K2: {kind: relay, coil: 24 V DC, coil_power: 20 W}",
    ]
    runs = [*POWER, "G1:+ S3:13", "S3:14 P1:X1", "P1:X2 K1:A1 K2:A1", "G1:- K1:A2 K2:A2", "G0:PE M1:PE G1:-"]
    found = found_in(read_plan_text(plan_text(devices, runs), "side by side"))
    beside = {(s.device, s.verdict, round(s.share, 3), s.through) for s in found["K2 coil open"].sneaks}
    assert beside == {("K1", "uncertain", 0.667, ("P1",))}
    doubtful = found["K2 coil open"].doubtful
    assert doubtful is not None
    assert set(doubtful.effect.starts) == {"M1"}
    # Where K1 moves no motor, nothing more follows if it does go in.
    idle = [run for run in runs if "M1:" not in run or "PE" in run]
    told = found_in(read_plan_text(plan_text(devices, idle), "side by side"))["K2 coil open"]
    assert {(s.device, s.verdict) for s in told.sneaks} == {("K1", "uncertain")}
    assert told.doubtful is None
    # With K1 open K2 has 28.8 parts of 316.8, and that is too little.
    assert "K2" not in {s.device for s in found["K1 coil open"].sneaks}


def test_a_large_view_is_looked_at_with_its_effects_and_finds_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    lost = plan(COMMON)

    def told() -> dict[str, list[tuple[str, str, int]]]:
        return {text: [(s.device, s.verdict, s.states) for s in lets.sneaks] for text, lets in found_in(lost).items()}

    later = told()
    monkeypatch.setattr(verdicts, "SMALL_BITS", 0)
    assert told() == later
    assert later


def test_what_is_there_without_a_fault_is_not_told_again() -> None:
    # The common is lost in the plan itself: that is told once, and not with each fault as well.
    broken = plan(["G1:- K1:A2", "P1:X2 P2:X2 K2:A2"])
    facts = Facts(broken)
    known = {sort_of(sneak) for each in facts.sneaks for sneak in each}
    assert ("K1", "may hold in", frozenset({"K2", "P1"})) in known
    assert not {sort_of(s) for _, each in facts.fault_sneaks for lets in each for s in lets.sneaks} & known


def test_the_table_of_faults_and_the_report_say_what_is_lost_by_it() -> None:
    lost = plan(COMMON)
    fault = numbered(lost, "K1:A2", "P1:X2")
    (row,) = (row for row in fault_table(Facts(lost)).rows if fault in [f.text for f in row.faults])
    assert [f.text for f in row.faults] == [fault]
    assert row.effects == {"S1=pressed": "lost unseen"}
    assert row.lost["S1=pressed"].events[-1] == "S1=pressed"
    (summary,) = function_summaries(Facts(lost))
    assert fault in summary["lost_by"]  # type: ignore[operator]
    (summary,) = function_summaries(Facts(plan(SIDE_BY_SIDE)))
    assert not [text for text in summary["lost_by"] if "open" in text]  # type: ignore[attr-defined]


def test_the_table_of_faults_is_not_made_where_it_cannot_be_decided(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sneaks, "MOST_CLASSES", 1)
    with pytest.raises(TooLarge):
        fault_table(Facts(plan(COMMON)))


def test_a_report_that_cannot_decide_is_incomplete(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sneaks, "MOST_CLASSES", 1)
    report = check(plan(COMMON))
    assert report.verdict == "incomplete"
    assert any("no-fault-lets-a-coil-act-through-another-load" in text for text in report.incomplete)


def test_too_many_networks_make_the_report_incomplete(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sneaks, "MOST_CLASSES", 1)
    with pytest.raises(TooLarge, match=r"more than 1 networks of loads around it, with wire \d+ \[K1:A2–P1:X2\] open"):
        found_in(plan(COMMON))
