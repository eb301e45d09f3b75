"""Device kinds of the house's own: read from a folder, checked like a plan, used like the packaged ones."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.plan.texts import HEAD, errors_of, marked
from wirecheck.errors import PlanError, PlanErrors
from wirecheck.plan import read_plan_text
from wirecheck.plan.house import read_kinds

STOP = """\
kind: club-stop
is: push-button
title: the club's stop button
preset: {role: stop, colour: BK, contacts: {11-12: NC}}
"""

ROCKER = """\
kind: rocker
title: Rocker switch
about: Stays where it is put.
letter: S
group: operating
positions: [off, on]
contacts: {forms: {NO: [on], NC: [off]}}
optional_terminals: [PE]
parameters:
  lit: {type: boolean, help: "whether a lamp is in it"}
  rating:
    type: either
    help: "what it may switch"
    of: [{type: quantity, units: [A]}, {type: mapping, keys: {ac: {type: quantity, units: [A]}}}]
  legends: {type: list, of: text, least: 1, help: "what is printed on it"}
fragment: |
  S1: {kind: rocker, contacts: {13-14: NO}}
"""


def folder(path: Path, **files: str) -> Path:
    """A folder with files of these names."""
    for name, text in files.items():
        (path / f"{name}.yaml").write_text(text, encoding="utf-8")
    return path


def test_a_kind_that_behaves_as_another_gives_its_devices_what_it_presets(tmp_path: Path) -> None:
    kinds = read_kinds([folder(tmp_path, stop=STOP)])
    plan = read_plan_text(
        f"{HEAD}devices:\n  S1: {{kind: club-stop}}\n  S2: {{kind: club-stop, colour: RD}}\nwires: []\n", "x", kinds
    )
    first, second = plan.devices.values()
    assert (first.kind, first.house_kind, first.role) == ("push-button", "club-stop", "stop")
    assert first.contacts[0].closed_in == {"released"}
    assert first.contacts[0].spot.line == 4
    assert (first.values["colour"], second.values["colour"]) == ("BK", "RD")


def test_a_kind_described_whole_is_a_kind_like_any_other(tmp_path: Path) -> None:
    kinds = read_kinds([folder(tmp_path, rocker=ROCKER)])
    device = "{kind: rocker, lit: true, rating: {ac: 6 A}, legends: [I, O], contacts: {1-2-4: CO}}"
    plan = read_plan_text(f"{HEAD}devices:\n  S1: {device}\nwires: [{{number: PE, run: [S1:PE, S1:1]}}]\n", "x", kinds)
    found = plan.devices["S1"]
    assert (found.kind, found.house_kind, found.positions) == ("rocker", "", ("off", "on"))
    assert [c.closed_in for c in found.contacts] == [{"off"}, {"on"}]
    assert found.marks == ("1", "2", "4", "PE")
    assert errors_of(f"{HEAD}devices:\n  S1: {device}\nwires: []\n")[0].message == "S1: there is no kind `rocker`"


def errors_in(path: Path, *folders: Path) -> tuple[PlanError, ...]:
    """The errors of reading the kinds in some folders."""
    with pytest.raises(PlanErrors) as caught:
        read_kinds(folders or [path])
    return caught.value.errors


BAD = {
    "unknown base": ("is: push-button", "is: §push-buton", "`push-buton` is not known"),
    "unknown key": ("preset:", "§presets:", "a device kind has no key `presets`"),
    "name that is taken": ("kind: club-stop", "kind: §lamp", "there is a kind `lamp` already"),
    "no name": ("kind: club-stop\n", "", "a device kind lacks `kind`"),
    "preset that is none": (
        "preset: {role: stop, colour: BK, contacts: {11-12: NC}}",
        "preset: §[role]",
        "preset: a list stands here",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_kind_is_told_at_its_place(name: str, tmp_path: Path) -> None:
    old, new, phrase = BAD[name]
    text, line, column = marked(STOP.replace(old, new) if "§" in new else "§" + STOP.replace(old, new))
    (error,) = errors_in(folder(tmp_path, stop=text))
    assert phrase in error.message
    assert (error.file, error.line, error.column) == (str(tmp_path / "stop.yaml"), line, column)


BAD_PARAMETERS = {
    "type": ('{type: boolean, help: "whether', '{type: §bool, help: "whether', "type: `bool` is not known"),
    "unit": ("[{type: quantity, units: [A]}, ", "[{type: quantity, units: [§amp]}, ", "units: `amp` is not known"),
    "no unit": ("[{type: quantity, units: [A]}, ", "[§{type: quantity}, ", "parameter rating lacks `units`"),
    "of a list": ("of: text, least", "of: §[text], least", "`of` must say what stands in it"),
    "of an either": ("of: text, least", "of: §texts, least", "`texts` is not known"),
    "group": ("group: operating", "group: §lights", "group: `lights` is not known"),
    "state of a contact": ("contacts: {forms: {NO: [on]", "contacts: §{forms: {NO: [onn]", "contacts: there is no state `onn`"),
    "state of a pole": ("contacts: {forms", "poles: §{closed_in: [shut]}\ncontacts: {forms", "poles: there is no state `shut`"),
    "terminals from nowhere": ("letter: S", "letter: S\nterminals_from: §[lit, lot.x]", "there is no parameter `lot.x`"),
    "alias of nothing": ("letter: S", "letter: S\naliases: §{lit: lamp}", "aliases: there is no parameter `lamp`"),
    "no parameters": ("parameters:", "§parametres:", "a device kind has no key `parametres`"),
}


@pytest.mark.parametrize("name", BAD_PARAMETERS)
def test_a_bad_parameter_is_told_at_its_place(name: str, tmp_path: Path) -> None:
    old, new, phrase = BAD_PARAMETERS[name]
    assert old in ROCKER
    text, line, column = marked(ROCKER.replace(old, new))
    found = [e for e in errors_in(folder(tmp_path, rocker=text)) if (e.line, e.column) == (line, column)]
    assert found
    assert phrase in found[0].message


def test_all_errors_of_all_files_and_folders_are_told(tmp_path: Path) -> None:
    folder(tmp_path, a=STOP.replace("push-button", "push"), b="kind: [", c=STOP, d=STOP)
    found = errors_in(tmp_path, tmp_path, tmp_path / "none")
    assert [Path(e.file).name for e in found] == ["a.yaml", "b.yaml", "d.yaml", "none"]
    assert found[2].message == "there is a kind `club-stop` already"
    assert found[3].message == "there is no such folder"


def test_a_folder_without_kinds_is_a_mistake(tmp_path: Path) -> None:
    (tmp_path / "stop.yml").write_text(STOP, encoding="utf-8")
    (error,) = errors_in(tmp_path)
    assert (error.file, error.message) == (str(tmp_path), "there is no device kind in this folder")
    assert "NAME.yaml" in error.expected


def test_an_error_in_a_preset_is_told_at_the_device(tmp_path: Path) -> None:
    kinds = read_kinds([folder(tmp_path, stop=STOP.replace("colour: BK", "colour: black"))])
    with pytest.raises(PlanErrors) as caught:
        read_plan_text(f"{HEAD}devices:\n  S1: {{kind: club-stop}}\nwires: []\n", "x", kinds)
    (error,) = caught.value.errors
    assert (error.line, error.column) == (4, 3)
    assert "colour: `black` is not a colour code" in error.message
