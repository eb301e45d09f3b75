"""Kinds and rules of the house's own on the command line: every command reads the plan, and says whose rules it judged by."""

from __future__ import annotations

import json
import shlex
from collections.abc import Sequence
from pathlib import Path

import jsonschema
import pytest

from wirecheck import cli
from wirecheck.findings import Evidence
from wirecheck.outputs.commands import rehearse_command

ROOT = Path(__file__).parents[1]
CLUB = ROOT / "examples" / "house-rules"
LATHE = ROOT / "examples" / "good" / "lathe.yaml"

SCHEMA = json.loads((ROOT / "schemas" / "report.schema.json").read_text(encoding="utf-8"))

STOP = """\
kind: club-stop
is: push-button
title: the club's stop button
preset: {role: stop, colour: BK, contacts: {11-12: NC}}
"""


@pytest.fixture
def kinds(tmp_path: Path) -> Path:
    """A folder with one kind of the club's own."""
    path = tmp_path / "our kinds"
    path.mkdir()
    (path / "club-stop.yaml").write_text(STOP, encoding="utf-8")
    return path


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    """A fan that starts and stops, with a stop of the club's own kind."""
    path = tmp_path / "fan.yaml"
    path.write_text(
        """\
wirecheck: 1
machine: {name: Dust fan}
devices:
  G0: {kind: mains, phases: 3, voltage: 400 V, earthing: TN, plug: 16 A, protected_by: {rating: 16 A, curve: C}}
  F2: {kind: fuse, rating: 2 A}
  S3: {kind: club-stop}
  S4: {kind: push-button, role: start, colour: GN, contacts: {13-14: NO}}
  Q2: {kind: contactor, coil: 230 V AC, poles: [1-2, 3-4, 5-6], contacts: {13-14: NO}}
  M1: {kind: motor, links: [[U1, W2], [V1, U2], [W1, V2]]}
wires:
  - {number: L1, run: [G0:L1, F2:1, Q2:1]}
  - {number: L2, run: [G0:L2, Q2:3]}
  - {number: L3, run: [G0:L3, Q2:5]}
  - {number: U, run: [Q2:2, M1:U1]}
  - {number: V, run: [Q2:4, M1:V1]}
  - {number: W, run: [Q2:6, M1:W1]}
  - {number: 2, run: [F2:2, S3:11]}
  - {number: 3, run: [S3:12, S4:13, Q2:13]}
  - {number: 4, run: [S4:14, Q2:14, Q2:A1]}
  - {number: N, run: [G0:N, Q2:A2]}
  - {number: PE, run: [G0:PE, M1:PE]}
""",
        encoding="utf-8",
    )
    return path


def call(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as left:
        cli.main(arguments)
    captured = capsys.readouterr()
    assert "Traceback" not in captured.out + captured.err
    return int(left.value.code or 0), captured.out, captured.err


@pytest.mark.parametrize(
    "command", [("check",), ("faults",), ("rehearse",), ("draw", "-o", "fan.svg"), ("sheets", "-o", "papers")]
)
def test_every_command_reads_a_plan_with_kinds_of_the_house(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    kinds: Path,
    plan: Path,
    command: Sequence[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    name, *options = command
    status, out, err = call(capsys, name, str(plan), *options)
    assert (status, out) == (2, "")
    assert "there is no kind `club-stop`" in err
    status, _, err = call(capsys, name, str(plan), *options, "--kinds", str(kinds))
    assert (status in (0, 1), err) == (True, "")


@pytest.mark.parametrize("name", cli.COMMANDS)
def test_every_command_on_a_plan_takes_kinds_of_the_house(capsys: pytest.CaptureFixture[str], name: str) -> None:
    _, out, _ = call(capsys, name, "--help")
    assert "--kinds" in out or "PLAN" not in out.partition("Options:")[0]


def test_the_commands_that_faults_prints_read_the_kinds_too(capsys: pytest.CaptureFixture[str], kinds: Path, plan: Path) -> None:
    _, out, _ = call(capsys, "faults", str(plan), "--kinds", str(kinds), "--format", "json")
    command = next(c for row in json.loads(out)["faults"] for c in row["rehearse"].values())
    program, *arguments = shlex.split(command)
    assert program == "wirecheck"
    assert arguments[-2:] == ["--kinds", str(kinds)]
    assert call(capsys, *arguments)[0] == 0


def test_a_call_without_kinds_of_the_house_names_none() -> None:
    assert "--kinds" not in rehearse_command("x.yaml", Evidence(events=("G0=on",)))


def test_a_folder_of_kinds_with_a_mistake_is_told_before_anything_else(
    capsys: pytest.CaptureFixture[str], kinds: Path, plan: Path
) -> None:
    (kinds / "club-stop.yaml").write_text(STOP.replace("push-button", "push-buton"), encoding="utf-8")
    status, out, err = call(capsys, "check", str(plan), "--kinds", str(kinds))
    assert (status, out) == (2, "")
    assert f"{kinds / 'club-stop.yaml'}:2:5:" in err
    assert "did you mean `push-button`?" in err


def test_kinds_of_the_house_are_listed_and_printed(capsys: pytest.CaptureFixture[str], kinds: Path) -> None:
    assert "  club-stop " in call(capsys, "kinds", "--kinds", str(kinds))[1]
    assert call(capsys, "kinds", "club-stop", "--kinds", str(kinds))[1].startswith("club-stop: the club's stop button")


def test_a_check_by_rules_of_the_house_says_so(capsys: pytest.CaptureFixture[str], kinds: Path, plan: Path) -> None:
    status, out, err = call(capsys, "check", str(plan), "--kinds", str(kinds), "--rules", str(CLUB))
    text = " ".join(out.split())
    assert err == ""
    assert "S4 is GN, and at the club it is WH." in text
    assert "(rule buttons-have-the-clubs-colours, of the house)" in text
    assert "in place of held-start-is-not-a-start)" in text
    assert "stands in place of held-start-is-not-a-start, which is not judged" in text
    assert "tightens guard-is-more-than-a-request (severity: advice becomes malfunction;" in text
    _, out, _ = call(capsys, "check", str(plan), "--kinds", str(kinds), "--rules", str(CLUB), "--format", "json")
    document = json.loads(out)
    jsonschema.Draft202012Validator(SCHEMA).validate(document)
    assert {entry["rule"] for entry in document["house_rules"]} == {path.stem for path in CLUB.glob("*.yaml")}
    assert "held-start-is-not-a-start" not in {f["rule"] for f in document["findings"]}
    assert status in (0, 1)


OURS = """\
name: our-stops-are-black
title: Every stop of the club's own kind is black.
severity: advice
claim: {kind: marked, of: {kind: club-stop}, key: colour, one_of: [BK]}
message: "{device} is {value}."
why: So it is at the club.
remedy: Fit a black one.
sources: [common practice]
examples:
  bad:
    - plan: "wirecheck: 1\\nmachine: {name: x}\\ndevices:\\n  S1: {kind: club-stop, colour: RD}\\nwires: []"
      findings: [{line: 4, devices: [S1]}]
  good:
    - plan: "wirecheck: 1\\nmachine: {name: x}\\ndevices:\\n  S1: {kind: club-stop}\\nwires: []"
"""


def test_a_rule_of_the_house_may_be_about_a_kind_of_the_house(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, kinds: Path, plan: Path
) -> None:
    rules = tmp_path / "our rules"
    rules.mkdir()
    (rules / "our-stops-are-black.yaml").write_text(OURS, encoding="utf-8")
    status, _, err = call(capsys, "rules", "--rules", str(rules))
    assert status == 2
    assert "`club-stop` is not a device kind" in err
    both = ("--rules", str(rules), "--kinds", str(kinds))
    assert "2 examples of 1 rules tried: all of them do as they say." in call(capsys, "rules", *both, "--try")[1]
    assert "says S1 is RD." in call(capsys, "rules", "our-stops-are-black", *both)[1]
    plan.write_text(
        plan.read_text(encoding="utf-8").replace("{kind: club-stop}", "{kind: club-stop, colour: GN}"), encoding="utf-8"
    )
    assert "S3 is GN." in call(capsys, "check", str(plan), *both)[1]


def test_a_rule_with_a_mistake_prints_nothing_but_that(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    rule = (CLUB / "buttons-have-the-clubs-colours.yaml").read_text(encoding="utf-8")
    (tmp_path / "buttons-have-the-clubs-colours.yaml").write_text(rule.replace("kind: marked", "kind: maked"), encoding="utf-8")
    for command in (("check", str(LATHE)), ("draw", str(LATHE), "-o", str(tmp_path / "x.svg")), ("rules",)):
        status, out, err = call(capsys, *command, "--rules", str(tmp_path))
        assert (status, out) == (2, "")
        assert "did you mean `marked`?" in err
    assert not (tmp_path / "x.svg").exists()


def test_rules_of_the_house_are_listed_printed_and_tried(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    status, out, _ = call(capsys, "rules", "--rules", str(CLUB))
    assert status == 0
    assert "\n  guards-take-power-or-torque-away\n" in out
    assert "\n  guard-is-more-than-a-request\n" not in out
    whole = " ".join(call(capsys, "rules", "guards-take-power-or-torque-away", "--rules", str(CLUB))[1].split())
    assert "of the house" in whole
    assert "tightens guard-is-more-than-a-request" in whole
    assert f"--rules {CLUB} --example bad" in whole
    assert "8 examples of 3 rules tried: all of them do as they say." in call(capsys, "rules", "--rules", str(CLUB), "--try")[1]
    assert call(capsys, "rules", "--try")[0] == 2


def test_an_example_that_does_otherwise_is_told(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    rule = (CLUB / "buttons-have-the-clubs-colours.yaml").read_text(encoding="utf-8")
    path = tmp_path / "buttons-have-the-clubs-colours.yaml"
    path.write_text(rule.replace("{line: 7,", "{line: 8,"), encoding="utf-8")
    status, out, _ = call(capsys, "rules", "--rules", str(tmp_path), "--try")
    assert status == 1
    assert "1 of them do otherwise" in out
    path.write_text(rule.partition("examples:")[0], encoding="utf-8")
    status, out, _ = call(capsys, "rules", "--rules", str(tmp_path), "--try")
    assert status == 0
    assert "has no examples" in out
    assert call(capsys, "rules", path.stem, "--rules", str(tmp_path), "--example", "bad")[0] == 2
    assert "DEVICE" in call(capsys, "rules", path.stem, "--rules", str(tmp_path))[1]
