"""What is told of kinds of the house's own is true: the page, the example folder, and the schemas for editors."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest

from tests.plan.core_schema import core_data
from tests.plan.texts import HEAD
from wirecheck import cli
from wirecheck.kinds.parameter import TYPES
from wirecheck.nodes import compose, plain_data
from wirecheck.outputs.kind_pages import render_kind
from wirecheck.plan import read_plan_text
from wirecheck.plan.house import GROUPS, LIKE, WHOLE, read_kinds
from wirecheck.plan.schema import plan_schema

ROOT = Path(__file__).parents[2]
CLUB = ROOT / "examples" / "house-kinds"
PAGE = (ROOT / "docs" / "kinds.md").read_text(encoding="utf-8")
YAML = re.findall(r"^```yaml\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
OF_A_KIND = jsonschema.Draft202012Validator(json.loads((ROOT / "schemas" / "kind.schema.json").read_text(encoding="utf-8")))
NAMES = [path.stem for path in sorted(CLUB.glob("*.yaml"))]


@pytest.mark.parametrize("text", [*YAML, *(path.read_text(encoding="utf-8") for path in sorted(CLUB.glob("*.yaml")))])
def test_a_kind_that_is_shown_is_one(tmp_path: Path, text: str) -> None:
    (tmp_path / "kind.yaml").write_text(text, encoding="utf-8")
    (name,) = re.findall(r"^kind: (.*)$", text, re.MULTILINE)
    kind = read_kinds([tmp_path]).get(name)
    OF_A_KIND.validate(plain_data(compose(text, "kind.yaml")))
    devices = "".join(f"  {line}\n" for line in kind.fragment.splitlines())
    plan = f"{HEAD}places: {{panel: {{}}}}\ndevices:\n{devices}wires: []\n"
    (device,) = read_plan_text(plan, "x.yaml", read_kinds([tmp_path])).devices.values()
    assert name in (device.kind, device.house_kind)
    assert f"kind: {name}" in render_kind(kind)


def test_the_club_has_a_kind_of_each_sort() -> None:
    kinds = read_kinds([CLUB])
    assert {bool(kinds.get(name).house) for name in NAMES} == {True, False}


def test_what_a_kind_has_of_itself_is_printed() -> None:
    text = " ".join(render_kind(read_kinds([CLUB]).get("club-stop")).split())
    assert "has of itself role: stop, colour: BK, contacts: {11-12: {form: NC, direct_opening: true}}, part: push-button" in text


def test_the_page_tells_of_every_key_group_and_type() -> None:
    words = set(re.findall(r"`([\w-]+)", PAGE))
    assert {*LIKE, *WHOLE, *GROUPS, *TYPES} - words == set()


@pytest.mark.parametrize(
    "spoilt", ["kind: x\n", "kind: x\nis: lamp\nletter: P\n", "is: lamp\n", "kind: x\nis: lamp\npreset: [role]\n", "preset: {}\n"]
)
def test_an_editor_refuses_what_the_reader_refuses(tmp_path: Path, spoilt: str) -> None:
    assert not OF_A_KIND.is_valid(plain_data(compose(spoilt, "kind.yaml")))


def test_the_schema_of_plans_knows_the_kinds_of_the_house(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        cli.main(["kinds", "--kinds", str(CLUB), "--schema"])
    assert not left.value.code
    schema = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    for name in NAMES:
        assert validator.is_valid(core_data(f"{HEAD}devices:\n  S1: {{kind: {name}}}\nwires: []\n"))
        assert not validator.is_valid(core_data(f"{HEAD}devices:\n  S1: {{kind: {name}, kolour: RD}}\nwires: []\n"))
    assert not validator.is_valid(core_data(f"{HEAD}devices:\n  S1: {{kind: club-stopp}}\nwires: []\n"))


def test_the_schema_is_about_no_single_kind(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        cli.main(["kinds", "lamp", "--schema"])
    assert left.value.code == 2
    assert "--schema" in capsys.readouterr().err


def test_what_a_preset_states_need_not_be_stated_again(tmp_path: Path) -> None:
    text = "kind: club-selector\nis: selector\npreset: {positions: [off, on], contacts: {1-2: {closed_in: [on]}}}\n"
    (tmp_path / "kind.yaml").write_text(text, encoding="utf-8")
    plan = f"{HEAD}devices:\n  S1: {{kind: club-selector}}\nwires: []\n"
    kinds = read_kinds([tmp_path])
    assert read_plan_text(plan, "x.yaml", kinds).devices["S1"].positions == ("off", "on")
    jsonschema.Draft202012Validator(plan_schema([kinds.get(name) for name in kinds.names])).validate(core_data(plan))
