"""Rules of the house's own: beside those of wirecheck, in their place, or tighter; every mistake with its place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from wirecheck.errors import PlanErrors
from wirecheck.facts import Facts
from wirecheck.pipeline import check, house_rules
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Plan
from wirecheck.rules.examples import complaints, examples_in
from wirecheck.rules.house import RuleSet, with_house_rules
from wirecheck.rules.loader import load_rules
from wirecheck.rules.record import Rule
from wirecheck.rules.runner import judge_rules

ROOT = Path(__file__).parents[2]
CLUB = ROOT / "examples" / "house-rules"
KNOWN = {rule.name: rule for rule in load_rules()}

OWN = """\
name: lamps-are-green
title: Every lamp is green.
severity: advice
claim: {kind: marked, of: {kind: lamp}, key: colour, one_of: [GN]}
message: "{device} is {value}."
why: So it is at the club.
remedy: Fit a green one.
sources: [common practice]
"""
TIGHTER = """\
name: guards-cut-the-torque
tightens: guard-is-more-than-a-request
claim: {danger_from_level: a}
"""
IN_PLACE = OWN.replace("title:", "replaces: held-start-is-not-a-start\ntitle:")

LAMP = """\
wirecheck: 1
machine: {name: Lamp, region: REGION}
devices:
  H1: {kind: lamp, colour: RD}
wires: []
"""


def folder(path: Path, *texts: str) -> Path:
    """A folder with a file for each rule, named as the rule is."""
    for text in texts:
        (path / f"{text.partition('name: ')[2].split()[0]}.yaml").write_text(text, encoding="utf-8")
    return path


def read(path: Path, *texts: str) -> RuleSet:
    return with_house_rules(tuple(KNOWN.values()), [folder(path, *texts)])


def own(rules: RuleSet) -> dict[str, Rule]:
    return {rule.name: rule for rule in rules.rules if rule.file}


def lamp(region: str = "IEC") -> Plan:
    return read_plan_text(LAMP.replace("REGION", region), "lamp.yaml")


def test_a_rule_of_its_own_stands_beside_the_others(tmp_path: Path) -> None:
    rules = read(tmp_path, OWN)
    assert len(rules.rules) == len(KNOWN) + 1
    assert own(rules)["lamps-are-green"].file == str(tmp_path / "lamps-are-green.yaml")
    report = check(lamp(), house=rules)
    (found,) = [f for f in report.findings if f.rule == "lamps-are-green"]
    assert (found.message, found.at.line) == ("H1 is RD.", 4)
    (entry,) = report.house_rules
    assert (entry["rule"], entry["replaces"], entry["tightens"], entry["changes"]) == ("lamps-are-green", None, None, [])


def test_a_rule_in_place_of_another_is_judged_and_the_other_is_not(tmp_path: Path) -> None:
    rules = read(tmp_path, IN_PLACE)
    names = [rule.name for rule in rules.rules]
    assert len(names) == len(KNOWN)
    assert "held-start-is-not-a-start" not in names
    (entry,) = rules.entries
    assert entry["replaces"] == "held-start-is-not-a-start"
    assert "claim kind: motion-begins-only-at-a-start becomes marked" in str(entry["changes"])


def test_a_rule_may_take_the_name_of_the_one_whose_place_it_takes(tmp_path: Path) -> None:
    text = IN_PLACE.replace("name: lamps-are-green", "name: held-start-is-not-a-start")
    rules = read(tmp_path, text)
    (rule,) = own(rules).values()
    assert (rule.name, rule.kind) == ("held-start-is-not-a-start", "marked")
    assert len(rules.rules) == len(KNOWN)


def test_a_tighter_rule_takes_from_the_other_what_it_does_not_state(tmp_path: Path) -> None:
    rules = read(tmp_path, TIGHTER)
    rule, base = own(rules)["guards-cut-the-torque"], KNOWN["guard-is-more-than-a-request"]
    assert rule.claim == {"causes": "guards", "danger_from_level": "a"}
    assert (rule.title, rule.severity, rule.why, rule.sources) == (base.title, base.severity, base.why, base.sources)
    assert base.name not in [rule.name for rule in rules.rules]
    assert rules.entries[0]["changes"] == ["danger_from_level: c becomes a"]


def test_a_tighter_rule_is_judged_by_its_own_conditions(tmp_path: Path) -> None:
    (bad, *_) = examples_in(CLUB / "guards-take-power-or-torque-away.yaml")
    plan = read_plan_text(bad.plan.replace("category: 3, level: d", "level: b"), "x.yaml")
    base, tight = KNOWN["guard-is-more-than-a-request"], own(read(tmp_path, TIGHTER))["guards-cut-the-torque"]
    found = [judge_rules([rule], Facts(plan)).findings for rule in (base, tight)]
    assert [[f.severity for f in findings] for findings in found] == [["advice"], ["danger"]]


@pytest.mark.parametrize(("region", "found"), [("IEC", 0), ("NA", 1)])
def test_a_rule_for_one_region_is_silent_in_the_other(tmp_path: Path, region: str, found: int) -> None:
    rule = own(read(tmp_path, OWN + "regions: [NA]\n"))["lamps-are-green"]
    judgement = judge_rules([rule], Facts(lamp(region)))
    assert len(judgement.findings) == found
    assert judgement.proved == ()


NUMBER = re.sub(r"(?m)^claim.*\nmessage.*$", "claim: {kind: within, number: winding voltge}\nmessage: x", OWN)
MISTAKES = {
    "kind": (OWN.replace("marked", "marqued"), 4, 15, "`marqued` is not a claim kind", "marked"),
    "condition": (OWN.replace("one_of", "one_off"), 4, 54, "has no condition `one_off`", "one_of"),
    "word": (OWN.replace("{device} is", "{devise} is"), 5, 10, "the word {devise} is never filled", "device"),
    "no such quantity": (NUMBER, 4, 31, "is not a number that is known", "winding voltage"),
    "no such device kind": (OWN.replace("kind: lamp", "kind: [lamp, lampp]"), 4, 41, "`lampp` is not a device kind", "lamp"),
    "no such rule": (IN_PLACE.replace("held-start-is", "held-start-iss"), 2, 11, "there is no rule", "held-start-is-not-a-start"),
    "its name is taken": (OWN.replace("lamps-are-green", "stop-stops-motion"), 1, 7, "there is a rule", ""),
    "milder": ("name: stops\ntightens: stop-stops-motion\nseverity: advice\n", 3, 11, "cannot be milder: stop-stops", ""),
    "another claim kind": (TIGHTER.replace("{danger", "{kind: count, danger"), 3, 8, "has the claim kind stops-by-more", ""),
    "no such condition": (TIGHTER.replace("from_level", "from_levle"), 3, 9, "has no condition", "danger_from_level"),
    "misfit": (TIGHTER.replace("level: a", "level: z"), 3, 28, "danger_from_level: `z` is not known here", ""),
    "both": (TIGHTER + "replaces: stop-stops-motion\n", 4, 1, "has no key `replaces`", ""),
    "lacks": (OWN.replace("severity: advice\n", ""), 1, 1, "needs the key `severity`", ""),
}  # fmt: skip


@pytest.mark.parametrize(("text", "line", "column", "message", "nearest"), MISTAKES.values(), ids=MISTAKES)
def test_a_mistake_is_told_with_its_place(tmp_path: Path, text: str, line: int, column: int, message: str, nearest: str) -> None:
    with pytest.raises(PlanErrors) as caught:
        read(tmp_path, text)
    told = [(e.line, e.column) for e in caught.value.errors if message in e.message and nearest in ("", e.nearest)]
    assert (line, column) in told
    assert all(e.file.startswith(str(tmp_path)) and e.text for e in caught.value.errors)


def test_all_mistakes_of_all_files_are_told_at_once(tmp_path: Path) -> None:
    with pytest.raises(PlanErrors) as caught:
        read(tmp_path, OWN.replace("advice", "advise"), TIGHTER.replace("level: a", "level: z"))
    assert len({e.file for e in caught.value.errors}) == 2


def test_one_place_holds_one_rule_and_one_name_one_rule(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    twice = [folder(tmp_path / "a", IN_PLACE), folder(tmp_path / "b", IN_PLACE)]
    with pytest.raises(PlanErrors) as caught:
        with_house_rules(tuple(KNOWN.values()), twice)
    assert [e.message.rpartition(" of ")[2][:9] for e in caught.value.errors] == ["this name", "held-star"]


@pytest.mark.parametrize("name", ["none", "empty"])
def test_a_folder_without_rules_is_a_mistake(tmp_path: Path, name: str) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(PlanErrors) as caught:
        house_rules([str(tmp_path / name)])
    assert caught.value.errors[0].file == str(tmp_path / name)


def test_a_rule_may_choose_a_kind_of_the_house(tmp_path: Path) -> None:
    text = OWN.replace("kind: lamp", "kind: beacon")
    with pytest.raises(PlanErrors):
        read(tmp_path, text)
    rules = with_house_rules(tuple(KNOWN.values()), [tmp_path], ["beacon"])
    assert own(rules)["lamps-are-green"].claim["of"] == {"kind": "beacon"}


def test_without_folders_nothing_changes() -> None:
    assert house_rules([]) is None


CLUB_RULES = own(with_house_rules(tuple(KNOWN.values()), [CLUB]))


def test_the_club_has_a_rule_of_each_sort() -> None:
    assert sorted((bool(rule.replaces), bool(rule.tightens)) for rule in CLUB_RULES.values()) == [
        (False, False), (False, True), (True, False),
    ]  # fmt: skip


@pytest.mark.parametrize("name", sorted(CLUB_RULES))
def test_a_rule_of_the_club_finds_its_bad_plans_and_is_quiet_on_its_good_ones(name: str) -> None:
    rule = CLUB_RULES[name]
    examples = examples_in(Path(rule.file))
    assert {bool(example.findings) for example in examples} == {True, False}
    assert [complaint for example in examples for complaint in complaints(rule, example)] == []
