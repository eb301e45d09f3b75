"""The device kinds as a list and one by one: every mark, position and key of a kind is on its page."""

from __future__ import annotations

import pytest

from wirecheck.findings import NOTICE
from wirecheck.kinds import Kind, Parameter, load_kind, load_kinds
from wirecheck.kinds.parameter import parameters_of
from wirecheck.outputs.kind_pages import GROUPS, render_kind, render_kinds

ALL = load_kinds()


def flat(text: str) -> str:
    return " ".join(text.split())


def every_key(parameters: dict[str, Parameter]) -> list[str]:
    found = []
    for name, parameter in parameters.items():
        inside = [parameter, *([parameter.of] if parameter.of else []), *parameter.choices]
        inside += [choice for each in inside for choice in each.choices]
        found += [name, *(key for each in inside for key in every_key(dict(each.keys)))]
    return found


def test_the_list_has_every_kind_once_in_its_group() -> None:
    rows = render_kinds(ALL).splitlines()
    for kind in ALL:
        (row,) = [i for i, line in enumerate(rows) if line.startswith(f"  {kind.name} ")]
        assert kind.title in rows[row]
        assert [line for line in rows[:row] if line in GROUPS.values()][-1] == GROUPS[kind.group]
    assert NOTICE in flat("\n".join(rows))


@pytest.mark.parametrize("kind", ALL, ids=lambda kind: kind.name)
def test_a_kind_whole(kind: Kind) -> None:
    text = render_kind(kind)
    words = flat(text)
    variants = [variant for by in kind.depends.values() for variant in by.values()]
    marks = [*kind.terminals, *kind.optional_terminals, *kind.late_terminals, *(t for v in variants for t in v.terminals)]
    positions = [*kind.positions, *kind.states, *kind.events, *(p for v in variants for p in v.positions)]
    head = words.partition("What can be said of it")[0].replace(",", " ").replace(";", " ").split()
    assert [word for word in [*marks, *positions] if word not in head] == []
    rows = [line.split()[0] for line in text.splitlines() if line.strip()]
    assert [key for key in [*every_key(dict(kind.parameters)), "title", "links"] if key not in rows] == []
    assert all(f"    {line}\n" in text for line in kind.fragment.splitlines())
    assert flat(kind.about) in words
    assert words.endswith(NOTICE)


def test_what_is_needed_and_what_is_assumed_is_said() -> None:
    assert "Needed." in flat(render_kind(load_kind("selector"))).partition(" role ")[0]
    assert "Not stated, the worst is assumed: false." in flat(render_kind(load_kind("emergency-stop")))
    assert "written like 230 V" in flat(render_kind(load_kind("relay")))


def test_a_kind_of_the_house_says_what_it_behaves_as() -> None:
    own = load_kind("push-button")._replace(house="club-stop", title="the club's stop button")
    assert render_kind(own).startswith("club-stop: the club's stop button (of the house; behaves as push-button)\n")
    assert "  club-stop " in render_kinds([own])


def test_a_name_cannot_drive_a_terminal() -> None:
    keys = parameters_of({"x\x1b[2J": {"type": "text", "help": "a\x1b[2J"}})
    own = Kind("e\x1b[2J", "t\x1b[2J", "about", "S", "wiring", "x\x1b[2J", parameters=keys)
    assert "\x1b" not in render_kind(own) + render_kinds([own])
