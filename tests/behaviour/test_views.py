"""A large plan looked at part by part: what is in a part, which relays of it are free, and which of these never go in."""

from __future__ import annotations

import pytest

from tests.circuit.networks import plan_text
from tests.generators.zone_line import zone_line
from wirecheck.behaviour import model as model_module
from wirecheck.behaviour import views as views_module
from wirecheck.behaviour import views_of
from wirecheck.behaviour.behaviour import Behaviour
from wirecheck.behaviour.views import part_around, parts_of, reduced
from wirecheck.errors import TooLarge
from wirecheck.facts import Facts
from wirecheck.plan import read_plan_text
from wirecheck.plan.model import Plan


def line() -> Plan:
    return read_plan_text(zone_line(2), "line of two zones")


def parts(
    monkeypatch: pytest.MonkeyPatch, plan: Plan, part_bits: int, real: frozenset[str] = frozenset()
) -> dict[str, Behaviour]:
    """For every subject the view that tells of it, with parts made so large at most."""
    monkeypatch.setattr(views_module, "WHOLE_BITS", 1)
    monkeypatch.setattr(views_module, "PART_BITS", part_bits)
    found = views_of(plan, Facts(plan).direct_influences, real)
    return {name: next(v for v in found if name in v.subjects) for name in ("M100", "M200", "K100", "Q102", "Q203", "K200")}


def test_a_small_plan_is_one_view() -> None:
    plan = read_plan_text(zone_line(1), "line of one zone")
    (view,) = views_of(plan, Facts(plan).direct_influences)
    assert (view.free, view.plan) == (frozenset(), plan)


def test_where_one_part_has_all_that_moves_it_is_the_only_view(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(views_module, "WHOLE_BITS", 1)
    plan = read_plan_text(zone_line(1), "line of one zone")
    (view,) = views_of(plan, Facts(plan).direct_influences)
    assert view.plan is plan
    monkeypatch.setattr(views_module, "PART_BITS", 6)
    assert len(views_of(plan, Facts(plan).direct_influences)) > 1


def test_a_zone_with_all_that_stops_it_is_one_part(monkeypatch: pytest.MonkeyPatch) -> None:
    found = parts(monkeypatch, line(), 15)
    assert found["M100"] is found["K100"] is found["Q102"]
    assert found["M200"] is found["K200"] is found["Q203"]
    assert all(view.free == frozenset() for view in found.values())
    devices = found["M100"].plan.devices
    assert {name for name in devices if name[1:].startswith("20") and devices[name].kind != "inert"} == set()


def test_in_small_parts_the_relays_at_the_rim_are_free(monkeypatch: pytest.MonkeyPatch) -> None:
    found = parts(monkeypatch, line(), 6)
    assert {name: set(view.free) for name, view in found.items()} == {
        "M100": {"Q102", "Q103"},
        "M200": {"Q202", "Q203"},
        "K100": set(),
        "K200": set(),
        "Q102": {"K100", "Q103"},
        "Q203": {"K100", "K200", "Q202"},
    }
    motor = found["M100"]
    assert motor.subjects == {"F100", "G0", "M100", "Q1", "S101", "S102"}
    assert motor.plan.devices["Q102"].positions == ("out", "in")
    assert motor.plan.devices["Q202"].kind == "inert"


def test_a_relay_that_would_make_a_part_too_large_by_what_changes_it_is_free(monkeypatch: pytest.MonkeyPatch) -> None:
    """What M100's contactors bring along would make thirteen variables; those of a zone's own relay just fit."""
    found = parts(monkeypatch, line(), 10)
    assert {name: set(found[name].free) for name in ("M100", "Q102", "Q203")} == {
        "M100": {"Q102", "Q103"},
        "Q102": set(),
        "Q203": {"K100", "K200"},
    }


def test_what_happens_in_the_plan_happens_in_every_part(monkeypatch: pytest.MonkeyPatch) -> None:
    motor = parts(monkeypatch, line(), 6)["M100"]
    assert all(motor.moving("M100", way) & motor.reached for way in ("forward", "reverse"))


def test_a_relay_that_must_be_real_is_free_nowhere(monkeypatch: pytest.MonkeyPatch) -> None:
    found = parts(monkeypatch, line(), 6, frozenset({"K100", "Q103"}))
    assert {name: set(view.free) for name, view in found.items()} == {
        "M100": {"Q102"},
        "M200": {"Q202", "Q203"},
        "K100": {"Q102"},
        "K200": set(),
        "Q102": set(),
        "Q203": {"K200", "Q202"},
    }


def test_relays_that_can_never_go_in_are_free_nowhere_one_after_the_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """K1 waits for itself, K2 for K1, K3 for K2; each is free where the next one is looked at."""
    devices = [
        "G0: {kind: mains, phases: 1, voltage: 230 V}",
        *(f"K{n}: {{kind: relay, coil: 230 V AC, contacts: {{13-14: NO, 23-24: NO}}}}" for n in (1, 2, 3)),
        "P1: {kind: lamp, voltage: 230 V}",
    ]
    runs = ["G0:L K1:13 K1:23 K2:13 K3:13", "K1:14 K1:A1", "K1:24 K2:A1", "K2:14 K3:A1", "K3:14 P1:X1"]
    plan = read_plan_text(plan_text(devices, [*runs, "G0:N K1:A2 K2:A2 K3:A2 P1:X2"]), "waiting")
    monkeypatch.setattr(views_module, "WHOLE_BITS", 0)
    monkeypatch.setattr(views_module, "PART_BITS", 0)
    found = views_of(plan, Facts(plan).direct_influences)
    assert {name: view.plan.devices[name].positions for view in found for name in sorted(view.free)} == {
        "K1": ("out",),
        "K2": ("out",),
        "K3": ("out",),
    }


def test_a_part_that_is_too_large_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Mains, isolator, two breakers and a fuse; five things to press or open; a relay and two contactors."""
    monkeypatch.setattr(views_module, "MOST_BITS", 5)
    monkeypatch.setattr(model_module, "MOST_BITS", 5)
    with pytest.raises(TooLarge, match="what decides about M100 is too much to be tried in one") as told:
        parts(monkeypatch, line(), 15)
    assert "can stand in 8,192 ways, and up to 32 are tried" in str(told.value)
    assert "or write a plain wire in place of one of F" in str(told.value)


def test_what_needs_no_closer_look_goes_on_where_a_closer_look_is_too_much(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(views_module, "WHOLE_BITS", 0)
    monkeypatch.setattr(views_module, "PART_BITS", 6)
    monkeypatch.setattr(views_module, "MOST_BITS", 12)
    facts = Facts(line())
    whole = next(name for view in facts.views if not view.free for name in sorted(view.subjects))
    free = next(name for view in facts.views if view.free for name in sorted(view.subjects))
    for _ in range(2):
        with pytest.raises(TooLarge, match="what decides about"):
            facts.look_closer(frozenset({"K100", "K200", "Q102", "Q103"}))
        assert facts.ways_fed
        assert not facts.view_of(whole).free
        for asked in (lambda: facts.view_of(free), lambda: facts.views, lambda: facts.fault_trials):
            with pytest.raises(TooLarge, match="what decides about"):
                asked()


def test_what_turns_out_too_large_on_the_way_leaves_the_views_as_they_were(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sizes fit, and a source that dies of a short makes them too large while they are explored."""
    monkeypatch.setattr(views_module, "WHOLE_BITS", 0)
    monkeypatch.setattr(views_module, "PART_BITS", 6)
    facts = Facts(line())
    bits = max(view.space.bits for view in facts.views)
    monkeypatch.setattr(model_module, "MOST_BITS", bits)
    facts.look_closer(frozenset({"K100", "K200", "Q102", "Q103"}))
    with pytest.raises(TooLarge, match="is too much to be tried in one"):
        assert facts.views
    assert facts.ways_fed
    with pytest.raises(TooLarge, match="is too much to be tried in one"):
        assert facts.views


CHAIN = [
    "P1: {kind: lamp, voltage: 230 V}",
    "T9: {kind: drive, control: {mode: two-wire}, settings: {command_source: terminals}}",
    "K2: {kind: relay, coil: 230 V AC, contacts: {13-14: NO}}",
    "G0: {kind: mains, phases: 1, voltage: 230 V}",
    "G1: {kind: dc-supply, voltage: 24 V DC}",
    "X1: {kind: terminal-block}",
    *(f"S{n}: {{kind: push-button, contacts: {{13-14: NO}}}}" for n in (1, 2, 3, 9)),
    "Q1: {kind: contactor, coil: 230 V AC, poles: [1-2]}",
    "K1: {kind: relay, coil: 230 V AC, contacts: {13-14: NO}}",
    "M1: {kind: motor}",
]
NOTHING = frozenset[str]()
DIRECT = dict.fromkeys((d[:2] for d in CHAIN), NOTHING) | {
    "M1": frozenset({"G0", "Q1"}),
    "Q1": frozenset({"K1", "S1"}),
    "K1": frozenset({"K2", "S2"}),
    "K2": frozenset({"S3"}),
    "P1": frozenset({"K2"}),
}
"""What changes what, one step at a time, as it is given here and not as it would follow from wires."""


def chain(functions: str = "") -> Plan:
    return read_plan_text(plan_text(CHAIN, ["G0:L S1:13"]) + functions, "chain")


def names(words: str) -> frozenset[str]:
    return frozenset(words.split())


@pytest.mark.parametrize(
    ("bits", "real", "kept", "free"),
    [
        (3, "", "M1 G0 Q1", "Q1"),
        (4, "", "M1 G0 Q1 K1 S1", "K1"),
        (5, "", "M1 G0 Q1 K1 S1", "K1"),
        (6, "", "M1 G0 Q1 K1 S1 K2 S2", "K2"),
        (7, "", "M1 G0 Q1 K1 S1 K2 S2 S3", ""),
        (4, "K1", "M1 G0 Q1 K1 S1 K2 S2", "K2"),
        (3, "Q1 K1 K2", "M1 G0 Q1 K1 S1 K2 S2 S3", ""),
    ],
)
def test_a_part_grows_from_its_subject_as_long_as_it_stays_small(
    monkeypatch: pytest.MonkeyPatch, bits: int, real: str, kept: str, free: str
) -> None:
    monkeypatch.setattr(views_module, "PART_BITS", bits)
    assert part_around(chain(), "M1", DIRECT, names(real)) == (names(kept), names(free))


def test_what_must_stop_the_subject_is_in_its_part_with_all_that_changes_that(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(views_module, "PART_BITS", 3)
    stop = "functions:\n  off: {when: S9=pressed, must: M1 stopped}\n"
    direct = {**DIRECT, "S9": frozenset({"X1"})}
    assert part_around(chain(stop), "M1", direct) == (names("M1 S9 X1 G0 Q1"), names("Q1"))
    assert part_around(chain(stop), "P1", direct) == (names("P1 K2 S3"), names(""))


def test_a_part_just_small_enough_is_made_and_one_bit_more_is_too_much(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(views_module, "MOST_BITS", 7)
    everything = names("Q1 K1 K2")
    assert part_around(chain(), "M1", DIRECT, everything)[1] == NOTHING
    monkeypatch.setattr(views_module, "MOST_BITS", 6)
    wanted = "^what decides about M1 is too much .* check the circuit around M1 as a plan of its own"
    with pytest.raises(TooLarge, match=wanted) as told:
        part_around(chain(), "M1", DIRECT, everything)
    assert "can stand in 128 ways" in str(told.value)


def test_the_parts_tell_of_motors_then_coils_then_drives_then_loads(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each tells of its subject and of what has all its influences in it, none of them free."""
    monkeypatch.setattr(views_module, "PART_BITS", 4)
    assert parts_of(chain(), DIRECT, NOTHING) == [
        (names("M1 G0 S1"), names("M1 G0 Q1 K1 S1"), names("K1")),
        (names("K2 S3"), names("K2 S3"), NOTHING),
        (names("Q1 S1"), names("Q1 K1 S1"), names("K1")),
        (names("K1 K2 S2 S3"), names("K1 K2 S2 S3"), NOTHING),
        (names("T9"), names("T9"), NOTHING),
        (names("P1 K2 S3"), names("P1 K2 S3"), NOTHING),
    ]


def test_what_has_the_whole_part_as_its_influences_is_told_of_in_it_and_a_motor_in_its_own_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """S3 hangs on K2 and on itself; P1 on the motor, and on what that hangs on."""
    monkeypatch.setattr(views_module, "PART_BITS", 4)
    found = parts_of(chain(), {**DIRECT, "S3": names("K2 S3"), "P1": names("M1")}, NOTHING)
    assert found[1] == (names("K2 S3"), names("K2 S3"), NOTHING)
    assert found[-1] == (names("P1 G0 S1"), names("P1 M1 G0 Q1 K1 S1"), names("K1"))


def test_what_is_not_in_a_part_is_inert_but_for_sources_and_what_never_moves() -> None:
    plan = chain()
    found = reduced(plan, names("M1 G0 Q1 K1 S1"), names("K1"))
    changed = {name: d for name, d in found.devices.items() if d != plan.devices[name]}
    assert {name: (d.kind, d.positions, d.contacts) for name, d in changed.items() if name != "K1"} == {
        **dict.fromkeys(("P1", "K2", "S2", "S3", "S9"), ("inert", (), ())),
        "T9": ("supply of a drive", (), ()),
    }
    assert (changed["K1"].kind, changed["K1"].positions) == ("free", ("out", "in"))
    assert changed["K1"].contacts == plan.devices["K1"].contacts
    stuck = reduced(plan, names("M1 G0 Q1 K1 S1"), names("K1"), names("K1")).devices["K1"]
    assert (stuck.kind, stuck.positions) == ("free", ("out",))
    assert reduced(plan, names("Q1"), NOTHING).devices["M1"].kind == "inert"


def test_a_plan_of_just_so_many_bits_is_one_view(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = read_plan_text(zone_line(1), "line of one zone")
    bits = model_module.bits_of(plan)
    monkeypatch.setattr(views_module, "PART_BITS", 6)
    for whole, one in ((bits, True), (bits - 1, False)):
        monkeypatch.setattr(views_module, "WHOLE_BITS", whole)
        assert (len(views_of(plan, Facts(plan).direct_influences)) == 1) == one


TWO_DRIVES = """\
wirecheck: 1
machine: {name: two drives on one 0 V}
devices:
  G0: {kind: mains, phases: 1, voltage: 230 V}
  Q1: {kind: isolator, poles: [1-2, 3-4]}
  S1: {kind: push-button, role: start, contacts: {13-14: NO}}
  S2: {kind: push-button, role: start, contacts: {13-14: NO}}
  S3: {kind: emergency-stop, contacts: {11-12: NC, 21-22: NC}}
  T1: &drive
    kind: drive
    input: {terminals: [L, N], phases: 1, voltage: 200-240 V}
    output: {terminals: [U, V, W], voltage: 230 V}
    control: {mode: two-wire, logic: sourcing, supply: {plus: P24, common: COM, voltage: 24 V DC}, inputs: {DI1: run-forward}}
    settings: {command_source: terminals, on_power_up_with_run: waits}
  T2: *drive
  M1: {kind: motor, links: [[U2, V2], [V2, W2]]}
  M2: {kind: motor, links: [[U2, V2], [V2, W2]]}
cables:
  W1: {cores: 4}
wires:
  - {number: 1, run: [G0:L, Q1:1]}
  - {number: 2, run: [G0:N, Q1:3]}
  - {number: 3, run: [Q1:2, T1:L, T2:L]}
  - {number: 4, run: [Q1:4, T1:N, T2:N]}
  - {number: 5, run: [T1:U, M1:U1]}
  - {number: 6, run: [T1:V, M1:V1]}
  - {number: 7, run: [T1:W, M1:W1]}
  - {number: 8, run: [T2:U, M2:U1]}
  - {number: 9, run: [T2:V, M2:V1]}
  - {number: 10, run: [T2:W, M2:W1]}
  - {number: 11, run: [T1:COM, T2:COM]}
  - {number: 12, run: [T1:P24, S3:11]}
  - {number: 13, run: [S3:12, S1:13]}
  - {number: 14, run: [S1:14, T1:DI1], cable: W1}
  - {number: 15, run: [T2:P24, S3:21], cable: W1}
  - {number: 16, run: [S3:22, S2:13]}
  - {number: 17, run: [S2:14, T2:DI1]}
functions:
  emergency-stop: {when: S3=pressed, must: M1 stopped}
"""


def test_a_drive_that_shares_a_rail_alone_is_not_in_the_part(monkeypatch: pytest.MonkeyPatch) -> None:
    """T2 has its 0 V in common with T1, and nothing else: what it does says nothing of M1. Its plus can still get astray."""
    plan = read_plan_text(TWO_DRIVES, "two drives")
    assert Facts(plan).direct_influences["T1"] == {"G0", "Q1", "S1", "S3"}
    monkeypatch.setattr(views_module, "WHOLE_BITS", 1)
    facts = Facts(plan)
    view = facts.view_of("M1")
    assert "T2" not in view.subjects
    assert view.is_inert("T2")
    assert not view.is_inert("T1")
    assert view.plan.devices["T2"].kind == "supply of a drive"
    assert {s.name for s in view.model.sources} == {"G0", "T1 control supply", "T1 output", "T2 control supply"}
    assert view.model.supplies.live["T2 control supply"] == view.model.supplies.live["T1 control supply"] != 0
    ((functions, effects), *_) = facts.fault_effects
    shorted = next(e for e in effects if any(f.text.startswith("W1: 14 shorted to 15") for f in e.faults))
    assert set(shorted.starts) == {"M1"}
    place = next(i for i, held in enumerate(functions) if held.must[0] == "M1" and held.name == "emergency-stop")
    assert shorted.verdicts[place] == "lost unseen"
