"""The JSON Schema of plans: it is what the kinds say, it takes every sound plan, and it refuses what the reader refuses."""

from __future__ import annotations

from functools import cache
from typing import Any

import jsonschema
import pytest

from tests.plan.core_schema import core_data
from tests.plan.test_devices import CONDUCTS, MARKS, POSITIONS
from tests.plan.test_errors import CASES, ELSEWHERE, FUNCTIONS, KINDS
from tests.plan.texts import HEAD, MARK, SAW, saw
from wirecheck.kinds import load_kinds
from wirecheck.plan import read_plan
from wirecheck.plan.schema import plan_schema, schema_text
from wirecheck.resources import data_folder, read_text

EXAMPLES = sorted(data_folder("rules").parent.glob("examples/[bg]*/*.yaml"))


@cache
def validator() -> Any:
    """The schema, compiled once."""
    jsonschema.Draft202012Validator.check_schema(plan_schema())
    return jsonschema.Draft202012Validator(plan_schema())


def complaints(text: str) -> list[str]:
    """What the schema says against a plan."""
    return [f"{e.json_path}: {e.message[:200]}" for e in validator().iter_errors(core_data(text))]


def test_the_file_is_what_the_kinds_say() -> None:
    assert read_text(data_folder("schemas") / "plan.schema.json") == schema_text()


def test_the_sound_plan_fits() -> None:
    assert complaints(SAW) == []


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_fits_and_is_read(path: Any) -> None:
    assert complaints(read_text(path)) == []
    assert read_plan(path).devices


@pytest.mark.parametrize("kind", load_kinds(), ids=lambda kind: kind.name)
def test_the_fragment_of_every_kind_fits(kind: Any) -> None:
    device = "".join(f"  {line}\n" for line in kind.fragment.splitlines())
    assert complaints(f"{HEAD}devices:\n{device}wires: []\n") == []


@pytest.mark.parametrize("described", sorted({case[0] for case in (*CONDUCTS, *MARKS, *POSITIONS)}))
def test_every_device_that_is_read_fits(described: str) -> None:
    assert complaints(f"{HEAD}devices:\n  D1: {described}\nwires: []\n") == []


# what only the reader can see: names that must exist, marks, counts, and quoted or leading-zero numbers that YAML itself blurs
BEYOND = {
    "wire gauge outside NA", "range the wrong way", "nothing", "number with a leading zero",
    "place", "link on a foreign mark", "interlock with nobody", "interlock with a lamp", "interlock with itself",
    "contact from a mark to itself", "change-over with two marks", "NO with three marks", "a contact used twice",
    "a contact on the coil", "a pole used twice", "neither form nor positions", "form and positions", "unknown position",
    "number with a blank", "the same terminal twice in a row", "unknown device", "unknown terminal", "unknown cable",
    "core without a cable", "more conductors than cores", "one number on two potentials",
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(set(CASES) - BEYOND))
def test_what_the_reader_refuses_by_its_form_the_schema_refuses(name: str) -> None:
    old, new, *_ = CASES[name]
    assert complaints(saw(old, new).replace(MARK, "")) != []


@pytest.mark.parametrize("name", sorted(BEYOND))
def test_what_only_the_reader_can_see_the_schema_lets_pass(name: str) -> None:
    old, new, *_ = CASES[name]
    assert complaints((ELSEWHERE.get(name) or saw(old, new)).replace(MARK, "")) == []


BEYOND_KINDS = {
    "position twice", "run position", "change-over of a drive", "relay of a drive", "odd poles", "custom element that is two",
    "custom element that is nothing", "custom resistor with a voltage", "custom contact in no position", "custom position",
    "custom with two coils", "custom with coil and positions",
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(set(KINDS) - BEYOND_KINDS))
def test_a_device_that_the_reader_refuses_by_its_form_the_schema_refuses(name: str) -> None:
    assert complaints(f"{HEAD}devices:\n  D1: {KINDS[name][0]}\nwires: []\n".replace(MARK, "")) != []


BEYOND_FUNCTIONS = {"no such device", "no such position", "one of several", "a lamp stopped", "a button off", "a motor off"}


@pytest.mark.parametrize("name", sorted(set(FUNCTIONS) - BEYOND_FUNCTIONS))
def test_a_function_that_the_reader_refuses_by_its_form_the_schema_refuses(name: str) -> None:
    assert complaints(f"{SAW}functions:\n  f: {FUNCTIONS[name][0]}\n".replace(MARK, "")) != []


def test_an_editor_can_explain_every_key() -> None:
    schema = plan_schema()
    kinds = schema["$defs"]["device"]["properties"]["kind"]["anyOf"]
    assert [k["const"] for k in kinds] == [k.name for k in load_kinds()]
    assert all(k["description"] for k in kinds)
    for kind in load_kinds():
        properties = schema["$defs"][f"kind-{kind.name}"]["properties"]
        assert list(properties) == list(kind.keys)
        assert all(p.get("description") for p in properties.values())
