"""The sections of a plan beside the devices, a page each: every key is there, and what it shows to copy can be read."""

from __future__ import annotations

import pytest

from tests.outputs.test_kind_pages import every_key, flat
from wirecheck.findings import NOTICE
from wirecheck.kinds import load_kinds
from wirecheck.outputs.kind_pages import render_kinds
from wirecheck.outputs.section_pages import render_section
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Terminal
from wirecheck.plan.sections import ONE_OF, TOP_LEVEL, section_page, sections

DEVICES = """\
wirecheck: 1
devices:
  G1: {kind: dc-supply, voltage: 24 V DC}
  S1: {kind: emergency-stop, contacts: {11-12: NC}, place: pendant}
  S2: {kind: guard-switch, contacts: {11-12: guard-closed}}
  S4: {kind: push-button, role: jog, contacts: {13-14: NO}, place: panel}
  K1: {kind: relay, coil: 24 V DC, contacts: {13-14: NO}}
  P2: {kind: pump}
  M1: {kind: motor}
"""


def test_every_section_but_the_devices_has_a_page_and_the_list_of_kinds_names_them() -> None:
    assert set(ONE_OF) == set(TOP_LEVEL) - {"wirecheck", "devices"}
    assert set(ONE_OF.values()) == set(sections())
    listed = render_kinds(load_kinds())
    assert all(f"  {name} " in listed and TOP_LEVEL[name][1] in listed for name in ONE_OF)


@pytest.mark.parametrize("name", ONE_OF)
def test_a_page_has_every_key_the_fragment_and_the_caution(name: str) -> None:
    text = render_section(name)
    assert text.startswith(f"{name}: {TOP_LEVEL[name][1]}{' (needed)' if TOP_LEVEL[name][0] else ''}\n")
    words = [line.split(maxsplit=1)[0] for line in text.splitlines() if line.startswith("  ")]
    assert set(every_key(sections()[ONE_OF[name]])) <= set(words)
    assert section_page(name)[1].splitlines()[-1] in text
    assert NOTICE in flat(text)
    assert max(map(len, render_section(name, width=60).split("To copy:")[0].splitlines())) <= 60


def test_the_fragments_of_all_sections_make_a_plan() -> None:
    plan = read_plan_text(DEVICES + "".join(section_page(name)[1] for name in ONE_OF), "copied.yaml")
    assert plan.machine.name == "Bay 3 bench lathe"
    assert [wire.b for wire in plan.wires] == [Terminal("S2", "11"), Terminal("K1", "A2")]
    assert plan.wires[0].cable == "W2"
    assert [(f.name, f.level) for f in plan.functions] == [("emergency-stop", "c"), ("chuck-guard", "d")]
    assert [a.devices for a in plan.accepted] == [("S4",)]
