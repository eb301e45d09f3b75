"""The command that plays events: its JSON, its words, its errors, and that every trace of a check can be played."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import jsonschema
import pytest

from tests.generators.zone_line import zone_line
from tests.test_examples import report_on
from wirecheck import cli, pipeline
from wirecheck.behaviour.rehearsal import MOST_OUTCOMES, Played
from wirecheck.errors import NotInPlan, TooLarge
from wirecheck.facts import Facts
from wirecheck.findings import NOTICE, Evidence
from wirecheck.outputs.rehearsal import render_rehearsal_json, render_rehearsal_text
from wirecheck.plan import read_plan, read_plan_text
from wirecheck.plan.model import Plan
from wirecheck.rules.examples import read_rule_file
from wirecheck.rules.runner import judge_rules

ROOT = Path(__file__).parents[1]
EXAMPLES = sorted((ROOT / "examples").glob("[bg]*/*.yaml"))
RULES = sorted((ROOT / "rules").glob("*.yaml"))
SCHEMA = json.loads((ROOT / "schemas" / "rehearse.schema.json").read_text(encoding="utf-8"))

BENCH = """\
wirecheck: 1
machine: {name: Bench with a holding contact}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  F1: {kind: circuit-breaker, poles: [1-2], rating: 6 A, curve: C}
  G1: {kind: dc-supply, voltage: 24 V DC, current: 1 A}
  S3: {kind: push-button, role: stop, contacts: {11-12: NC}}
  S4: {kind: push-button, title: start, role: start, contacts: {13-14: NO}}
  K1: {kind: relay, coil: 24 V DC, coil_power: 1 W, contacts: {13-14: NO, 23-24: NO}}
  P1: {kind: lamp, voltage: 24 V DC, power: 2 W}
wires:
  - {number: L1, run: [G0:L, F1:1]}
  - {number: L2, run: [F1:2, G1:L]}
  - {number: N, run: [G0:N, G1:N]}
  - {number: PE, run: [G0:PE, "G1:-"]}
  - {number: 1, run: ["G1:+", S3:11]}
  - {number: 1, run: ["G1:+", K1:23]}
  - {number: 2, run: [S3:12, S4:13]}
  - {number: 2, run: [S4:13, K1:13]}
  - {number: 3, run: [S4:14, K1:14]}
  - {number: 3, run: [K1:14, K1:A1]}
  - {number: 4, run: [K1:24, P1:X1]}
  - {number: 0V, run: ["G1:-", K1:A2]}
  - {number: 0V, run: [K1:A2, P1:X2]}
"""
ON = ("G0=on", "S4=pressed")


def play(text: str, *events: str, fault: str | None = None, after: int = 0) -> tuple[Played, ...]:
    return pipeline.rehearse(read_plan_text(text, "plan.yaml"), events, fault, after)


def last(text: str, *events: str, fault: str | None = None, after: int = 0) -> Played:
    return play(text, *events, fault=fault, after=after)[-1]


def document(plan: Plan, steps: Sequence[Played]) -> Mapping[str, object]:
    found: Mapping[str, object] = json.loads(render_rehearsal_json(plan.file, steps))
    jsonschema.Draft202012Validator(SCHEMA).validate(found)
    return found


# the form


def test_json_is_as_promised() -> None:
    plan = read_plan_text(BENCH, "bench.yaml")
    found = document(plan, pipeline.rehearse(plan, [*ON, "S4=released", "S3=pressed"]))
    assert (found["wirecheck"], found["plan"], found["notice"]) == (1, "bench.yaml", NOTICE)
    steps = found["steps"]
    assert isinstance(steps, list)
    assert [step["event"] for step in steps] == ["rest", *ON, "S4=released", "S3=pressed"]
    pressed = steps[2]
    assert (pressed["outcomes"], pressed["moved"], pressed["energised"], pressed["motion"]) == (1, ["K1"], ["K1", "P1"], {})
    assert pressed["volts"] == {"K1": 24.0, "P1": 24.0}
    assert pressed["changes"] == ["K1 pulls in", "P1 comes on"]
    assert pressed["live"] == ["G0", "G1"]
    assert steps[3]["energised"] == ["K1", "P1"]
    assert (steps[4]["moved"], steps[4]["energised"], steps[4]["volts"]) == (["K1"], [], {"K1": 0.0, "P1": 0.0})


def test_schema_is_sound() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("key", ["event", "outcomes", "moved", "energised", "motion", "volts", "notes"])
def test_no_key_of_a_step_may_be_missing(key: str) -> None:
    plan = read_plan_text(BENCH, "bench.yaml")
    found = json.loads(render_rehearsal_json(plan.file, pipeline.rehearse(plan, [])))
    del found["steps"][0][key]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(SCHEMA).validate(found)


def text_of(plan: Plan, *events: str, fault: str | None = None, after: int = 0) -> str:
    return render_rehearsal_text(plan, pipeline.rehearse(plan, events, fault, after))


def test_text_says_what_moves_what_is_in_and_what_the_motor_does() -> None:
    lathe = read_plan(ROOT / "examples" / "good" / "lathe.yaml")
    text = text_of(lathe, "G0=on", "Q1=on", "S4=pressed", "S4=released", "S2=open")
    assert "       3 S4=pressed   (forward)\n   moves T1 runs\n" in text
    assert "   motor M1 runs forward, 230 V on each winding\n" in text
    assert "   motor M1 keeps running forward, 230 V on each winding\n" in text
    assert "       5 S2=open   (guard switch of chuck)\n   moves T1 is stopped\n" in text
    assert "   motor M1 stops\n" in text
    assert " ".join(text.split()).endswith(NOTICE)
    bench = text_of(read_plan_text(BENCH, "bench.yaml"), *ON)
    assert "coils in K1\n      on P1\n" in bench
    assert "coils in none\n" in bench


def test_text_marks_the_fault_and_goes_on_counting_events() -> None:
    text = text_of(read_plan_text(BENCH, "bench.yaml"), *ON, "S4=released", "S3=pressed", fault="K1:13-14 welded", after=3)
    lines = [line for line in text.splitlines() if "=" in line or "welded" in line]
    assert [line.split()[0] for line in lines] == ["1", "2", "3", "fault", "4"]


def test_nothing_from_a_plan_drives_a_terminal() -> None:
    plan = read_plan_text(BENCH.replace("title: start", 'title: "\\e[2J"'), "x\x1b[2J.yaml")
    text = text_of(plan, *ON)
    assert "\x1b" not in text
    assert all(line.isprintable() for line in text.split("\n"))
    assert "\x1b[1m" in render_rehearsal_text(plan, pipeline.rehearse(plan, ON), colour=True)


# what is told


def test_uneven_windings_are_told_one_by_one() -> None:
    star = read_plan(ROOT / "examples" / "bad" / "lathe-motor-in-star-on-a-230-volt-drive.yaml")
    steps = pipeline.rehearse(star, ["G0=on", "Q1=on", "S4=pressed"])
    # 230 V between the lines of a star are 230 / sqrt(3) = 132.8 V on each winding.
    assert [steps[-1].volts[f"M1:{w}1-{w}2"] for w in "UVW"] == [132.8, 132.8, 132.8]
    assert "133 V on each winding" in text_of(star, "G0=on", "Q1=on", "S4=pressed")
    broken = text_of(star, "G0=on", "Q1=on", "S4=pressed", fault=wire_open(star, "M1:W1"))
    assert "115 V on U1-U2, 115 V on V1-V2, 0 V on W1-W2" in broken


def wire_open(plan: Plan, terminal: str) -> str:
    return next(f"{wire} open" for wire in plan.wires if terminal in (str(wire.a), str(wire.b)))


@pytest.mark.parametrize(
    ("events", "note"),
    [
        (["S4=released"], "S4 is released already: nothing changes"),
        (["F1=tripped", "F1=tripped"], "F1 is tripped already: nothing changes"),
    ],
)
def test_an_event_that_changes_nothing_is_told(events: Sequence[str], note: str) -> None:
    step = last(BENCH, *events)
    assert step.notes == (note,)
    assert (step.moved, step.changes, step.outcomes) == ((), (), 1)


@pytest.mark.parametrize(
    ("events", "note"),
    [
        (["T1=faulted"], "T1=faulted does nothing now, for it has no power"),
        (["T1=healthy"], "T1 is healthy already: nothing changes"),
        (["T1=keypad-run"], "T1=keypad-run does nothing now, for it has no power"),
        (["T1=keypad-stop"], "T1 does not run by its keypad"),
    ],
)
def test_what_a_drive_cannot_do_now_is_told(events: Sequence[str], note: str) -> None:
    text = (ROOT / "examples" / "good" / "lathe.yaml").read_text(encoding="utf-8")
    assert last(text.replace("command_source: terminals", "command_source: both"), *events).notes == (note,)


TIMED = BENCH.replace("K1: {kind: relay,", "K1: {kind: timer-relay, mode: on-delay, delay: 2 s,").replace("23-24", "27-28")
TIMED = TIMED.replace("K1:23", "K1:27").replace("K1:24", "K1:28")


def test_a_delay_that_runs_is_told_and_one_that_does_not_cannot_end() -> None:
    steps = play(TIMED, "K1=elapsed", *ON, "K1=elapsed")
    assert steps[1].notes == ("no delay of K1 is running: nothing changes",)
    assert steps[3].notes == ("the delay of K1 is running; K1=elapsed ends it",)
    assert (steps[3].loads, steps[4].loads, steps[4].notes) == ((), ("P1",), ())


RACE = BENCH.replace("23-24: NO}", "23-24: NO, 31-32: NC}").replace(
    "number: 3, run: [K1:14, K1:A1]", "number: 3, run: [K1:14, K2:11]"
)
RACE = (
    RACE.replace("wires:", "  K2: {kind: relay, coil: 24 V DC, contacts: {11-12: NC}}\nwires:")
    + """\
  - {number: 7, run: [K2:12, K1:A1]}
  - {number: 3, run: [S4:14, K1:31]}
  - {number: 6, run: [K1:32, K2:A1]}
  - {number: 0V, run: [K1:A2, K2:A2]}
"""
)


def test_every_outcome_of_a_race_is_a_step() -> None:
    steps = [step for step in play(RACE, *ON) if step.event == "S4=pressed"]
    assert [step.outcomes for step in steps] == [2, 2]
    assert [step.moved for step in steps] == [("K1",), ("K2",)]
    assert steps[0].notes[0] == "outcome 1 of 2: which comes cannot be told; they differ in K1, K2"
    assert "       2 S4=pressed   (start)" in text_of(read_plan_text(RACE, "race.yaml"), *ON, "G0=off")


def test_outcomes_that_end_alike_become_one_again() -> None:
    step = last(RACE, *ON, "G0=off")
    assert step.outcomes == 1
    assert step.changes == ("K1 drops out", "P1 goes off")
    assert step.notes == ("after another outcome: K2 drops out",)


def test_too_many_outcomes_are_not_followed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("wirecheck.behaviour.rehearsal.MOST_OUTCOMES", 1)
    with pytest.raises(TooLarge, match="S4=pressed: more than 1 outcomes are open"):
        play(RACE, *ON)
    assert MOST_OUTCOMES >= 16


BUZZING = BENCH.replace("contacts: {13-14: NO, 23-24: NO}", "contacts: {13-14: NC, 23-24: NO}")
BUZZING = BUZZING.replace("  - {number: 2, run: [S4:13, K1:13]}\n", "").replace("run: [S4:14, K1:14]", "run: [S4:14, K1:13]")
BUZZING = BUZZING.replace("{number: 3, run: [K1:14", "{number: 6, run: [K1:14")


def test_what_never_comes_to_rest_is_told_and_can_be_ended() -> None:
    steps = play(BUZZING, *ON, "S4=released")
    assert (steps[2].outcomes, steps[2].moved, steps[2].notes[0]) == (0, ("K1",), "it never comes to rest")
    assert steps[2].changes == ("K1 keeps moving",)
    assert (steps[3].outcomes, steps[3].coils) == (1, ())


FUSED = BENCH.replace(
    "  K1:", "  S5: {kind: push-button, contacts: {13-14: NO}}\n  F2: {kind: fuse, rating: 1 A, class: F}\n  K1:", 1
)
FUSED = (
    FUSED.replace('["G1:+", S3:11]', '["G1:+", F2:1]')
    + """\
  - {number: 8, run: [F2:2, S3:11, S5:13]}
  - {number: 0V, run: [S5:14, K1:A2]}
"""
)


def test_a_short_and_what_clears_it_are_told() -> None:
    steps = play(FUSED, *ON, "S5=pressed", "F2=whole", "S5=released", "F2=whole")
    assert set(steps[3].moved) == {"K1", "F2"}
    assert "F2 blows" in steps[3].changes
    assert "a short circuit across G1" in steps[3].notes
    assert "F2 does not stay whole: it is blown again" in steps[4].notes
    assert steps[6].notes == ()


def test_a_fault_that_shorts_a_supply_takes_its_voltage_while_it_lasts() -> None:
    # The minus of the supply is earthed, so that an earthed plus is a short; no fuse is on its way.
    step = last(BENCH, *ON, fault="wire 1 earthed", after=2)
    assert "a short circuit across G1: nothing clears it, and while it lasts there is no voltage" in step.notes
    assert step.moved == ("K1",)


def test_a_relay_that_moves_for_a_moment_is_told() -> None:
    tapper = read_plan(ROOT / "examples" / "bad" / "tapper-reversing-without-interlock.yaml")
    events = ("G0=on", "Q1=on", "S3=pressed", "S3=released", "S4=pressed")
    step = pipeline.rehearse(tapper, events, "Q2 stuck in", 4)[-1]
    assert step.changes == ("F1 trips",)
    assert step.notes == ("Q3 pulls in for a moment", "a short circuit across G0")


def test_contacts_that_do_not_change_at_once_are_told() -> None:
    bad = next(p for p in RULES if p.stem == "hold-to-run-does-not-hang-on-contact-speed")
    rule, examples = read_rule_file(bad)
    plan = read_plan_text(examples[0].plan, "jog")
    finding = judge_rules([rule], Facts(plan)).findings[0]
    step = pipeline.rehearse(plan, finding.evidence.events)[-1]
    assert step.motion != finding.evidence.steps[-1].motion
    assert "do not all change at the same moment: M1 stands" in step.notes[-1]


# faults


@pytest.mark.parametrize(
    "written",
    [
        "wire 3 [K1:14\u2013K1:A1] open",
        "wire 3 [K1:14-K1:A1] open",
        "wire 3 [K1:A1 - K1:14] open",
        "Wire  3 [K1:14\u2014K1:A1] Open",
    ],
)
def test_a_fault_may_be_written_with_any_dash_and_either_way_round(written: str) -> None:
    steps = play(BENCH, *ON, fault=written, after=2)
    assert (steps[3].event, steps[3].fault, steps[3].moved) == ("wire 3 [K1:14\u2013K1:A1] open", True, ("K1",))


def test_a_wire_with_one_run_needs_no_terminals() -> None:
    assert play(BENCH, fault="wire 4 open")[1].event == "wire 4 [K1:24\u2013P1:X1] open"


def test_of_faults_that_differ_in_capitals_alone_the_one_as_written_is_meant() -> None:
    text = BENCH.replace("  P1:", "  k1: {kind: relay, coil: 24 V DC}\n  P1:")
    assert [play(text, fault=f"{name} coil open")[1].event for name in ("K1", "k1")] == ["K1 coil open", "k1 coil open"]
    with pytest.raises(NotInPlan, match="there are 2 such faults, say which: K1 coil open; k1 coil open"):
        play(text, fault="K1 COIL open")


def test_a_fault_at_the_start_is_there_before_anything() -> None:
    steps = play(BENCH, "G0=on", fault="K1 stuck in")
    assert [step.event for step in steps] == ["rest", "K1 stuck in", "G0=on"]
    assert (steps[0].coils, steps[1].coils) == ((), ("K1",))
    assert "it is there before anything is switched on" in steps[1].notes
    assert steps[2].loads == ("P1",)


def test_a_fault_in_the_midst_comes_where_it_is_said() -> None:
    steps = play(BENCH, *ON, "S4=released", "S3=pressed", "S3=released", fault="K1:13-14 welded", after=3)
    assert [step.event for step in steps].index("K1:13-14 welded") == 4
    assert (steps[5].coils, steps[6].coils) == ((), ("K1",))


def test_a_fault_that_cannot_come_now_is_told() -> None:
    assert play(BENCH, "G0=on", fault="K1 stuck in", after=1)[2].notes == ("K1 is out now; it sticks when it pulls in",)
    (note,) = play(BENCH, "G0=on", fault="S4:13-14 welded", after=1)[2].notes
    assert note.startswith("S4:13-14 is open now, and a contact welds only while it is closed")
    assert play(BENCH, *ON, fault="S4:13-14 welded", after=2)[3].notes == ()


def test_a_fault_that_is_not_taken_to_happen_can_be_played() -> None:
    text = BENCH.replace("contacts: {11-12: NC}", "contacts: {11-12: {form: NC, direct_opening: true}}")
    assert play(text, fault="S3:11-12 welded")[1].notes == (
        "not taken to happen: the plan says that this contact is forced open, so it does not weld",
        "it is there before anything is switched on",
    )


def test_two_faults_one_after_the_other() -> None:
    steps = play(BENCH, *ON, "S4=released", "S3=pressed", fault="K1:13-14 welded, then S3:11-12 welded", after=3)
    assert [step.event for step in steps if step.fault] == ["K1:13-14 welded", "S3:11-12 welded"]
    assert [step.event for step in steps].index("K1:13-14 welded") == 1
    assert steps[-1].coils == ("K1",)


def test_a_coil_that_is_open_still_has_its_voltage() -> None:
    step = last(BENCH, *ON, fault="K1 coil open")
    assert (step.coils, step.volts["K1"]) == ((), 24.0)


# errors


@pytest.mark.parametrize(
    ("events", "words"),
    [
        (["S44=pressed"], "S44=pressed: there is no device S44, did you mean S4?"),
        (["S4=presed"], "S4=presed: S4 has no position presed, only released and pressed, did you mean S4=pressed?"),
        (["S4"], "S4: an event is written DEVICE=POSITION, as G0=on"),
        (["K1=in"], "K1=in: K1 is a relay, it moves by itself, when its coil has voltage"),
        (["P1=on"], "P1=on: P1 is a lamp, nothing can be done to it"),
    ],
)
def test_an_unknown_event_is_told_with_the_nearest_known_word(events: Sequence[str], words: str) -> None:
    with pytest.raises(NotInPlan) as bad:
        play(BENCH, *events)
    assert str(bad.value) == words


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("wire 33 open", "did you mean wire 3"),
        ("K1 stuk in", "did you mean K1 stuck in?; also known: "),
        ("wire 1 open", "there are 2 such faults, say which: wire 1 [G1:+\u2013S3:11] open; wire 1 [G1:+\u2013K1:23] open"),
        ("xyzzy", "xyzzy: the plan has no such fault; `wirecheck faults` lists them all"),
        ("K1 stuck in, then xyzzy", "xyzzy: the plan has no such fault"),
    ],
)
def test_an_unknown_fault_is_told_with_the_nearest_known_one(fault: str, words: str) -> None:
    with pytest.raises(NotInPlan) as bad:
        play(BENCH, fault=fault)
    assert words in str(bad.value)


def test_all_that_is_wrong_is_told_at_once() -> None:
    with pytest.raises(NotInPlan) as bad:
        play(BENCH, "S44=pressed", "S4=on", fault="xyzzy")
    assert [line.split(":")[0] for line in str(bad.value).split("\n")] == ["S44=pressed", "S4=on", "xyzzy"]


def call(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as left:
        cli.main(["rehearse", *arguments])
    captured = capsys.readouterr()
    assert "Traceback" not in captured.out + captured.err
    return int(left.value.code or 0), captured.out, captured.err


@pytest.fixture
def bench(tmp_path: Path) -> str:
    path = tmp_path / "bench.yaml"
    path.write_text(BENCH, encoding="utf-8")
    return str(path)


def test_command_prints_text_or_json(capsys: pytest.CaptureFixture[str], bench: str) -> None:
    status, out, err = call(capsys, bench, *ON)
    assert (status, err) == (0, "")
    assert "K1 pulls in" in out
    status, out, err = call(capsys, bench, *ON, "--fault", "K1 coil open", "--at", "1", "--format", "json")
    assert (status, err) == (0, "")
    assert [step["event"] for step in json.loads(out)["steps"]] == ["rest", "G0=on", "K1 coil open", "S4=pressed"]


def test_of_several_faults_the_first_is_there_from_the_start_and_none_is_left_out(
    capsys: pytest.CaptureFixture[str], bench: str
) -> None:
    faults = ("--fault", "K1:13-14 welded", "--fault", "K1 coil open", "--at", "1")
    status, out, err = call(capsys, bench, *ON, *faults, "--format", "json")
    assert (status, err) == (0, "")
    assert [step["event"] for step in json.loads(out)["steps"]] == [
        "rest",
        "K1:13-14 welded",
        "G0=on",
        "K1 coil open",
        "S4=pressed",
    ]


def test_command_without_events_shows_rest(capsys: pytest.CaptureFixture[str], bench: str) -> None:
    assert "rest\n    live nothing\n" in call(capsys, bench)[1]


def test_standard_input_is_a_plan(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(BENCH.encode())))
    assert json.loads(call(capsys, "-", "G0=on", "--format", "json")[1])["plan"] == "-"


@pytest.mark.parametrize(
    "arguments",
    [
        ("S9=pressed",),
        ("--fault", "xyzzy"),
        ("G0=on", "--fault", "K1 stuck in", "--at", "2"),
        ("G0=on", "--at", "1"),
        ("G0=on", "--fault", "K1 stuck in", "--at", "-1"),
        ("G0=on", "--format", "xml"),
    ],
)
def test_a_call_that_cannot_be_used(capsys: pytest.CaptureFixture[str], bench: str, arguments: Sequence[str]) -> None:
    status, out, err = call(capsys, bench, *arguments)
    assert (status, out) == (2, "")
    assert err


def test_too_much_to_follow_claims_nothing(
    capsys: pytest.CaptureFixture[str], bench: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("wirecheck.behaviour.single.MOST_PASSED", 0)
    status, out, err = call(capsys, bench, *ON)
    assert (status, out) == (3, "")
    assert "nothing is claimed" in err


# large plans, and what a check says


def test_a_plan_too_large_to_explore_is_played() -> None:
    steps = play(zone_line(16), "G0=on", "Q1=on", "S1604=pressed", "S1602=open", fault="K1600 stuck in", after=3)
    assert steps[2].moved == tuple(f"K{zone}00" for zone in range(1, 17))
    assert steps[3].motion["M1600"] == "forward"
    assert steps[-1].motion["M1600"] == "forward"
    assert sum(how != "stopped" for how in steps[-1].motion.values()) == 1


def test_where_not_every_order_can_be_followed_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    # A fuse blows while six relays drop out: with every order that makes 128 states, of which none ends in another way.
    monkeypatch.setattr("wirecheck.behaviour.single.MOST_PASSED", 60)
    step = last(zone_line(6), "G0=on", "Q1=on", fault="wire 2 earthed", after=2)
    assert set(step.moved) == {"F3", *(f"K{zone}00" for zone in range(1, 7))}
    assert "more moves at once than can be followed in every order: it may end in other ways as well" in step.notes
    monkeypatch.undo()
    step = last(zone_line(6), "G0=on", "Q1=on", fault="wire 2 earthed", after=2)
    assert (step.outcomes, step.coils, step.notes) == (1, (), ("a short circuit across T2",))


def test_a_short_that_stands_is_no_reason_to_try_every_order() -> None:
    step = last(zone_line(16), "G0=on", "Q1=on", fault="wire 1 earthed", after=2)
    assert (step.outcomes, step.coils) == (1, ())
    assert step.notes == ("a short circuit across T2: nothing clears it, and while it lasts there is no voltage",)


def test_what_many_do_alike_is_told_together() -> None:
    text = text_of(read_plan_text(zone_line(3), "zones.yaml"), "G0=on", "Q1=on", "S104=pressed")
    assert "   moves K100, K200, K300 pull in\n" in text
    assert "   motor M100 runs forward, 231 V on each winding\n  motors M200, M300 stand still\n" in text


def differs(plan: Plan, evidence: Evidence) -> str:
    """How the play of a trace differs from what the trace says; empty where it does not."""
    steps = pipeline.rehearse(plan, evidence.events, evidence.fault, evidence.fault_after or 0)
    document(plan, steps)
    ends = [step for step in steps if step.event == steps[-1].event]
    said = dict(evidence.steps[-1].motion)
    if "at one moment" in "".join(evidence.steps[-1].notes):
        # Both outcomes in words. The play takes the second, or the first where a change-over contact passes such a moment.
        played = sorted(step.motion["M1"].replace("stopped", "stands").replace("reverse", "in reverse") for step in ends)
        ways = [way.rsplit(" M1 ", 1)[1].replace("runs ", "") for way in evidence.steps[-1].notes[-1].split(", and ")]
        return "" if played in [sorted(way.split(" or ")) for way in ways] else f"{evidence.events}: {ways}, played {played}"
    if any(dict(step.motion) == said or step.restless for step in ends):
        return ""
    words = [note for step in ends for note in step.notes]
    by_speed = ", ".join(f"{name} {'stands' if how == 'stopped' else f'runs {how}'}" for name, how in said.items())
    if any(note.endswith(f"do not all change at the same moment: {by_speed}") for note in words):
        return ""
    if any(" through " in note for note in words):  # a trace of a rule that leaves sneak paths to the rule on them
        return ""
    return f"{evidence.fault} {evidence.fault_after} {evidence.events}: {said}, played {[dict(s.motion) for s in ends]}"


def traces(evidences: Iterator[Evidence]) -> Iterator[Evidence]:
    seen = set()
    for evidence in evidences:
        key = (evidence.events, evidence.fault, evidence.fault_after)
        if evidence.steps and key not in seen:
            seen.add(key)
            yield evidence


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_trace_of_an_example_can_be_played(path: Path) -> None:
    plan, report = read_plan(path), report_on(path)
    assert [d for e in traces(f.evidence for f in report.findings) if (d := differs(plan, e))] == []
    if path.parent.name == "bad":
        assert any(f.evidence.events for f in report.findings)


@pytest.mark.parametrize("path", RULES, ids=lambda p: p.stem)
def test_every_trace_of_a_rule_on_its_bad_examples_can_be_played(path: Path) -> None:
    rule, examples = read_rule_file(path)
    for example in (e for e in examples if e.findings):
        plan = read_plan_text(example.plan, example.name)
        findings = judge_rules([rule], Facts(plan)).findings
        assert [d for e in traces(f.evidence for f in findings) if (d := differs(plan, e))] == []


HOT = """\
wirecheck: 1
machine: {name: A fan with a thermistor relay}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  B1: {kind: thermistor}
  K9: {kind: thermistor-relay, voltage: 230 V AC, sensor: [T1, T2], reset: manual, contacts: {13-14: NO}}
  E1: {kind: fan, voltage: 230 V, power: 20 W}
wires:
  - {number: 1, run: [G0:L, K9:A1]}
  - {number: 1, run: [G0:L, K9:13]}
  - {number: 2, run: [K9:14, E1:X1]}
  - {number: 3, run: [K9:T1, B1:1]}
  - {number: 4, run: [K9:T2, B1:2]}
  - {number: N, run: [K9:A2, E1:X2, G0:N]}
"""


def test_a_relay_that_waits_for_its_reset_says_so() -> None:
    steps = play(HOT, "G0=on", "B1=hot", "B1=cold", "K9=reset", "K9=reset")
    assert steps[1].loads == ("E1",)
    assert steps[2].changes == ("K9 drops out", "K9 waits for its reset", "E1 goes off")
    assert steps[3].changes == ()
    assert steps[4].changes == ("K9 pulls in", "K9 is reset", "E1 comes on")
    assert steps[5].notes == ("K9=reset does nothing now",)


def test_a_voltage_that_moves_nothing_is_told() -> None:
    # A coil of 24 V at 230 V is taken as burnt out.
    plan = read_plan_text(
        HOT.replace("K9: {kind: thermistor-relay, voltage: 230 V AC", "K9: {kind: thermistor-relay, voltage: 24 V AC"), "x"
    )
    assert "   volts K9 230.0 V, without acting\n" in text_of(plan, "G0=on")


def test_voltage_through_another_load_is_told() -> None:
    series = HOT.replace("run: [K9:14, E1:X1]", "run: [K9:14, H1:X1]").replace(
        "wires:", "  H1: {kind: lamp, voltage: 230 V, power: 20 W}\nwires:"
    )
    step = last(f"{series}  - {{number: 5, run: [H1:X2, E1:X1]}}\n", "G0=on")
    # Two equal loads in series have half of the voltage each.
    assert (step.volts["H1"], step.volts["E1"], step.loads) == (115.0, 115.0, ())
    assert step.notes[-2:] == (
        "E1 gets 115.0 V of 230 V through H1, too little to act",
        "H1 gets 115.0 V of 230 V through E1, too little to act",
    )


def test_a_motor_that_runs_on_and_off_is_told() -> None:
    rule, examples = read_rule_file(next(p for p in RULES if p.stem == "circuit-comes-to-rest"))
    plan = read_plan_text(examples[0].plan, "swing")
    evidence = next(f.evidence for f in judge_rules([rule], Facts(plan)).findings if f.evidence.events[-1] == "S2=pressed")
    assert "motor M1 runs forward on and off\n" in text_of(plan, *evidence.events)


CUSTOM = """\
wirecheck: 1
machine: {name: A latch of its own kind}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V, earthing: TN}
  Y1:
    kind: custom
    elements:
      - {coil: A1-A2, voltage: 230 V AC}
      - {load: B1-B2, voltage: 230 V, power: 10 W}
wires:
  - {number: 1, run: [G0:L, Y1:A1, Y1:B1]}
  - {number: N, run: [G0:N, Y1:A2, Y1:B2]}
"""


def test_the_parts_of_a_custom_device_are_told_by_their_terminals() -> None:
    step = last(CUSTOM, "G0=on")
    assert (step.coils, step.loads) == (("Y1:A1-A2",), ("Y1:B1-B2",))
    assert step.volts == {"Y1:A1-A2": 230.0, "Y1:B1-B2": 230.0}


def test_long_lists_of_faults_are_cut_short() -> None:
    plan = read_plan_text(zone_line(4), "zones")
    with pytest.raises(NotInPlan, match=r"there are 13 such faults, say which: .*; 7 more"):
        pipeline.rehearse(plan, [], "wire 0V open")


def test_progress_counts_the_events() -> None:
    told: list[tuple[int, int, str]] = []
    pipeline.rehearse(read_plan_text(BENCH, "x"), ON, progress=lambda *so_far: told.append(so_far))
    assert told == [(0, 2, "G0=on"), (1, 2, "S4=pressed")]
