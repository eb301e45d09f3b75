"""How loudly what cannot be cut off is told: what the plan leaves out is advice, what it states is a danger."""

from __future__ import annotations

from pathlib import Path

import pytest

from wirecheck.pipeline import check_plan

LATHE = (Path(__file__).parents[2] / "examples" / "good" / "lathe.yaml").read_text(encoding="utf-8")
LAMP = """\
  - {number: L1, run: [Q1:1, P1:X1], size: 1.5 mm2COLOUR}
  - {number: N1, run: [Q1:3, P1:X2], size: 1.5 mm2, colour: BU}
"""


def severity(rule: str, *edits: tuple[str, str]) -> list[str]:
    text = LATHE
    for old, new in edits:
        assert text.count(old) == 1
        text = text.replace(old, new)
    return [f.severity for f in check_plan("lathe.yaml", text).findings if f.rule == rule]


@pytest.mark.parametrize(
    ("stated", "told"),
    [("lockable: true, ", []), ("lockable: false, ", ["danger"]), ("", ["advice"]), ("lockable: unknown, ", ["advice"])],
)
def test_an_isolator_that_does_not_lock(stated: str, told: list[str]) -> None:
    assert severity("isolator-can-be-locked-off", ("lockable: true, ", stated)) == told


@pytest.mark.parametrize(("earthing", "told"), [("TN", ["advice"]), ("TT", ["danger"])])
def test_a_neutral_that_goes_past_the_isolator(earthing: str, told: list[str]) -> None:
    edits = (
        ("earthing: TN", f"earthing: {earthing}"),
        ("rating: 20 A, lockable", "lockable"),
        ("poles: [1-2, 3-4], lockable", "poles: [1-2], lockable"),
        ("run: [G0:N, Q1:3]", "run: [G0:N, T1:N]"),
        ("  - {number: N2, run: [Q1:4, T1:N], size: 2.5 mm2, colour: BU}\n", ""),
    )
    assert severity("isolator-opens-the-neutral", *edits) == told


@pytest.mark.parametrize(("colour", "told"), [(", colour: OG", []), (", colour: BK", ["danger"]), ("", ["advice"])])
def test_a_lamp_ahead_of_the_isolator(colour: str, told: list[str]) -> None:
    lamp = "  P1: {kind: lamp, title: work lamp, voltage: 230 V AC}\n"
    edits = (("devices:\n", f"devices:\n{lamp}"), ("wires:\n", f"wires:\n{LAMP.replace('COLOUR', colour)}"))
    assert severity("circuits-ahead-of-the-isolator-are-marked", *edits) == told


def test_a_machine_on_a_plug_needs_no_lock() -> None:
    edits = (("lockable: true, ", "lockable: false, "), ("fault_loop: 0.5 ohm", "fault_loop: 0.5 ohm, plug: 13 A"))
    assert severity("isolator-can-be-locked-off", *edits) == []
