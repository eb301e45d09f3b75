"""The claim kinds that look at devices and wires alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from tests.rules.plans import device, plan, rule, spot
from wirecheck.facts import Facts
from wirecheck.findings import Finding, Proof
from wirecheck.plan.model import Cable, Device, Plan, Terminal, Wire
from wirecheck.rules.registry import judge_of
from wirecheck.rules.select import devices_of, terminals_of

LAMP, BUTTON, STOP = (
    device("H1", "lamp", 3, colour="WH"),
    device("S1", "push-button", 4, role="start"),
    device("E1", "emergency-stop", 5),
)


def judge(kind: str, claim: Mapping[str, object], made: Plan, message: str = "x") -> list[Finding | Proof]:
    return list(judge_of(kind)(rule(kind=kind, claim=claim, message=message), Facts(made)))


def findings(results: list[Finding | Proof]) -> list[tuple[int, tuple[str, ...], str]]:
    return [(f.at.line, f.devices, f.message) for f in results if isinstance(f, Finding)]


def wired(devices: list[Device], *runs: tuple[str, str, str]) -> Plan:
    """A plan with wires, each its number and two terminals."""
    ends = [(number, *(Terminal(*end.split(":", 1)) for end in run)) for number, *run in runs]
    wires = tuple(Wire(index, str(number), a, b, spot(20 + index), index) for index, (number, a, b) in enumerate(ends))  # type: ignore[arg-type]  # the ends are terminals
    return replace(plan(*devices), wires=wires)


@pytest.mark.parametrize(
    ("where", "names"),
    [
        ({"kind": "lamp"}, ["H1"]),
        ({"kind": ["lamp", "push-button"]}, ["H1", "S1"]),
        ({"kind": "push-button", "role": ["start", "jog"]}, ["S1"]),
        ({"kind": "push-button", "role": "stop"}, []),
        ({"kind": "lamp", "role": "start"}, []),
        ({"kind": "drive", "settings.stop.mode": "coast"}, ["T1"]),
        ({"kind": "drive", "settings.stop.mode.x": "coast"}, []),
    ],
)
def test_devices_are_chosen_by_kind_and_parameters(where: object, names: list[str]) -> None:
    drive = device("T1", "drive", settings={"stop": {"mode": "coast"}})
    assert [d.name for d in devices_of(plan(LAMP, BUTTON, STOP, drive), where)] == names


def test_terminals_are_chosen_by_marks_or_by_the_parameter_that_lists_them() -> None:
    drive = replace(device("T1", "drive", output={"terminals": ["U", "V"]}), marks=("L", "U", "V", "PE"))
    made = plan(drive)
    assert [str(t) for _, t in terminals_of(made, {"kind": "drive", "marks": ["PE", "X"]})] == ["T1:PE"]
    assert [str(t) for _, t in terminals_of(made, {"kind": "drive", "marks_at": "output.terminals"})] == ["T1:U", "T1:V"]
    assert list(terminals_of(made, {"kind": "drive", "marks_at": "input.terminals"})) == []


def test_count_at_least() -> None:
    claim = {"of": {"kind": "emergency-stop"}, "when": {"kind": "push-button"}, "at_least": 1}
    assert findings(judge("count", claim, plan(LAMP, BUTTON), "{number} for {devices}")) == [(2, ("S1",), "0 for S1")]
    assert judge("count", claim, plan(BUTTON, STOP)) == [Proof("Every lamp is marked", 1)]
    assert judge("count", claim, plan(LAMP)) == [Proof("Every lamp is marked", 1, condition_reached=False)]


def test_count_at_most() -> None:
    more = [device(f"H{n}", "lamp", n) for n in (3, 5, 7)]
    claim = {"of": {"kind": "lamp"}, "at_most": 1}
    assert findings(judge("count", claim, plan(*more), "{number}")) == [(5, ("H3", "H5", "H7"), "3")]
    assert findings(judge("count", claim, plan(LAMP))) == []


def test_marked_points_at_the_parameter_that_is_wrong() -> None:
    stop = replace(device("E2", "emergency-stop", 6, colour="BU"), lines={"colour": spot(6, 40)})
    claim = {"of": {"kind": "emergency-stop"}, "key": "colour", "one_of": ["RD"]}
    (made,) = judge("marked", claim, plan(stop, STOP), "{device} is {value}, not {allowed}")
    assert isinstance(made, Finding)
    assert (made.at, made.devices, made.message) == (spot(6, 40), ("E2",), "E2 is BU, not RD")


@pytest.mark.parametrize(
    ("condition", "found"), [({"one_of": ["WH"]}, 0), ({"one_of": ["RD"]}, 1), ({"none_of": ["WH"]}, 1), ({"none_of": ["RD"]}, 0)]
)
def test_marked_one_of_and_none_of(condition: Mapping[str, object], found: int) -> None:
    assert len(findings(judge("marked", {"of": {"kind": "lamp"}, "key": "colour", **condition}, plan(LAMP)))) == found


@pytest.mark.parametrize(
    ("table", "found"),
    [({"stop": ["BK"]}, [(5, ("E1",), "RD is not BK")]), ({"stop": ["BK", "RD"]}, []), ({"start": ["WH"]}, []), ({}, [])],
)
def test_marked_by_a_table_of_another_parameter(table: Mapping[str, object], found: list[object]) -> None:
    button = device("E1", "push-button", 5, role="stop", colour="RD")
    claim = {"of": {"kind": "any"}, "key": "colour", "by": "role", "table": table}
    assert findings(judge("marked", claim, plan(button), "{value} is not {allowed}")) == found


def test_a_choice_may_go_by_what_every_device_has() -> None:
    here, there = replace(device("H1", "lamp", 5), place="panel"), device("H2", "lamp", 6)
    claim = {"of": {"kind": "any", "place": "panel"}, "key": "part", "stated": True}
    assert findings(judge("marked", claim, plan(here, there), "{value}")) == [(5, ("H1",), "not stated")]


def test_wires_are_chosen_by_what_is_said_of_them_and_named_with_their_ends() -> None:
    made = wired([LAMP, BUTTON], ("1", "H1:PE", "S1:13"), ("2", "H1:X1", "S1:14"))
    first, second = (replace(wire, colour=colour) for wire, colour in zip(made.wires, ("BU", ""), strict=True))
    made = replace(made, wires=(first, second))
    claim = {"of": {"kind": "wire", "ends": "PE"}, "key": "colour", "one_of": ["GNYE"]}
    (wrong,) = judge("marked", claim, made, "{device} is {value}")
    assert isinstance(wrong, Finding)
    assert (wrong.at, wrong.devices, wrong.wires) == (first.spot, ("H1", "S1"), ("1",))
    assert wrong.message == "wire 1 [H1:PE\u2013S1:13] is BU"
    stated = {"of": {"kind": "wire"}, "key": "colour", "stated": True}
    assert [f.wires for f in judge("marked", stated, made) if isinstance(f, Finding)] == [("2",)]
    assert [d.name for d in devices_of(made, {"kind": "any"})] == ["H1", "S1"]
    assert [d.name for d in devices_of(made, {"kind": "wire", "at": "H1", "number": "2"})] == [str(second)]


def test_cables_are_chosen_and_counted() -> None:
    cables = {"W1": Cable("W1", spot(8), screened=True), "W2": Cable("W2", spot(9), cores=5)}
    made = replace(plan(LAMP), cables=cables)
    claim = {"of": {"kind": "cable"}, "key": "screened", "one_of": [True], "stated": True}
    assert findings(judge("marked", claim, made, "{device}: {value}")) == [(9, ("W2",), "W2: not stated")]
    assert findings(judge("count", {"of": {"kind": "cable", "cores": 5}, "at_most": 0}, made, "{number}")) == [(9, ("W2",), "1")]


def test_marked_lets_pass_what_is_not_stated_unless_it_must_be() -> None:
    claim = {"of": {"kind": "emergency-stop"}, "key": "colour", "one_of": ["RD"]}
    assert findings(judge("marked", claim, plan(STOP))) == []
    assert findings(judge("marked", {**claim, "stated": True}, plan(STOP), "{value}")) == [(5, ("E1",), "not stated")]


MAINS = replace(device("G0", "mains", 3), marks=("L", "N", "PE"))
BAR = replace(device("X0", "earth-bar", 4), marks=("1", "2"))
FRAME = replace(device("B0", "frame", 5), marks=("PE",))
EARTHED = {"each": {"kind": "frame", "marks": ["PE"]}, "to": {"kind": "mains", "marks": ["PE"]}}


def test_joined_goes_through_wires_and_bars() -> None:
    made = wired([MAINS, BAR, FRAME], ("PE", "G0:PE", "X0:1"), ("PE", "X0:2", "B0:PE"))
    assert judge("joined", EARTHED, made) == [Proof("Every lamp is marked", 1)]


def test_joined_tells_the_terminal_that_is_not() -> None:
    made = wired([MAINS, BAR, FRAME], ("PE", "G0:PE", "X0:1"), ("L", "G0:L", "B0:PE"))
    assert findings(judge("joined", EARTHED, made, "{terminal} of {device}")) == [(5, ("B0",), "B0:PE of B0")]


def test_not_joined_shows_the_walk_and_its_wires() -> None:
    made = wired([MAINS, BAR, FRAME], ("1", "G0:L", "X0:1"), ("2", "X0:2", "B0:PE"))
    claim = {"each": {"kind": "frame", "marks": ["PE"]}, "to": {"kind": "mains", "marks": ["L"]}}
    (found,) = judge("not-joined", claim, made, "{terminal} gets {other}")
    assert isinstance(found, Finding)
    assert (found.message, found.devices, found.wires) == ("B0:PE gets G0:L", ("B0", "X0", "G0"), ("2", "1"))
    assert found.evidence.walk == ("B0:PE", "X0:2", "X0:1", "G0:L")


def test_through_says_what_a_way_may_pass() -> None:
    lamp = replace(device("H1", "lamp", 6), marks=("X1", "X2"))
    made = wired([MAINS, lamp, FRAME], ("1", "G0:L", "H1:X1"), ("2", "H1:X2", "B0:PE"))
    claim = {"each": {"kind": "frame", "marks": ["PE"]}, "to": {"kind": "mains", "marks": ["L"]}}
    assert findings(judge("not-joined", claim, made)) == []
    assert len(findings(judge("not-joined", {**claim, "through": ["wire", "load"]}, made))) == 1


def test_nothing_to_join_is_a_claim_whose_case_never_arose() -> None:
    assert judge("joined", EARTHED, plan(MAINS)) == [Proof("Every lamp is marked", 1, condition_reached=False)]
