"""The cause-and-effect chart: every cause a row, every effect a column. The page that a reviewer reads first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from wirecheck.behaviour.verdicts import SEEN, STOPS, UNSEEN, Held
from wirecheck.behaviour.verdicts import Effect as FaultEffect
from wirecheck.facts import Facts
from wirecheck.sheets.effects import Cause, Effect, causes_of, effects_of
from wirecheck.sheets.table import Row, Table, listed, natural

MOST_COLUMNS = 9
"""With more effects than this the coils stand in one column together, and the lamps and loads in another."""

NOT_WORKED_OUT = "·"

NOTES = (
    "Worked out from the wiring, in every state that it can get into. An empty cell: it never changes anything there.",
    "A word in capitals is what nobody would expect. With `, or not` it hangs on what else is pressed or open at that moment.",
    "In brackets the stop category (IEC 60204-1, 9.2.2): 0, power or torque is taken away and the motor runs down by itself.",
    "1, it is braked, then power or torque is taken away. 2, it is braked and power stays on.",
    "Put back: what the motor does when the device is let go, closed or switched on again and nothing else is touched.",
    "A broken wire is looked at for what its function must stop; · stands where it is not worked out.",
)


def cause_chart(facts: Facts) -> Table:
    """The chart of a plan; of a wire that breaks only what it does to what the function must stop."""
    effects, causes = effects_of(facts.plan), causes_of(facts)
    groups = _columns(effects)
    rows = [*(_row(cause, groups) for cause in causes), *_broken_wires(facts, groups)]
    columns = ("causes", "cause", "what", *(name for name, _ in groups), "put back")
    return Table("cause-and-effect", "Cause and effect", columns, tuple(rows), NOTES, landscape=True, group="causes")


def undecided(reasons: Iterable[str]) -> Table:
    """The chart of a plan of which not everything could be decided: it claims nothing."""
    notes = ("Not everything could be decided, so no chart is made.", *reasons)
    return Table("cause-and-effect", "Cause and effect", ("causes", "cause", "what", "put back"), (), notes, landscape=True)


def _columns(effects: Sequence[Effect]) -> list[tuple[str, list[Effect]]]:
    if len(effects) <= MOST_COLUMNS:
        return [(_head(effect), [effect]) for effect in effects]
    motors = [(_head(effect), [effect]) for effect in effects if effect.what == "motor"]
    rest = [("coils", [e for e in effects if e.what == "coil"]), ("lamps and loads", [e for e in effects if e.what == "load"])]
    return [*(motors if len(motors) <= MOST_COLUMNS else [("motors", [e for e in effects if e.what == "motor"])]), *rest]


def _head(effect: Effect) -> str:
    return f"{effect.device.label()}"


def _row(cause: Cause, groups: Sequence[tuple[str, list[Effect]]]) -> Row:
    cells = [
        _cell(cause, effects, many=len(effects) > 1 or name in ("coils", "lamps and loads", "motors")) for name, effects in groups
    ]
    return (
        cause.group,
        cause.event,
        cause.device.title or str(cause.device.values.get("guards") or cause.device.kind),
        *cells,
        cause.back,
    )


def _cell(cause: Cause, effects: Iterable[Effect], many: bool) -> str:
    found = []
    for effect in effects:
        words = listed((cell.words for cell in cause.cells.get(effect.name, ())), " / ")
        found.append(f"{effect.name} {words}" if many and words else words)
    return listed(found, "; ")


VERDICT_WORDS = {STOPS: "stops, or cannot start", SEEN: "LOST, the next start is prevented", UNSEEN: "LOST, and nobody sees it"}


def _broken_wires(facts: Facts, groups: Sequence[tuple[str, list[Effect]]]) -> Iterator[Row]:
    """The wires whose break stops what a function must stop, and those whose break takes the function away."""
    together: dict[tuple[str, str, str, str], list[str]] = {}
    for held, verdict, wires, starts in broken_wires(facts):
        together.setdefault((held.must[0], verdict, listed(wires), listed(starts)), []).append(held.name)
    for (must, verdict, numbers, started), names in together.items():
        cells = [VERDICT_WORDS[verdict] if must in [e.name for e in effects] else NOT_WORKED_OUT for _, effects in groups]
        yield ("broken wires", f"one of {numbers}", f"for {listed(names)}", *cells, f"STARTS {started}" if started else "")


def broken_wires(facts: Facts) -> Iterator[tuple[Held, str, dict[str, str], list[str]]]:
    """Each function with each verdict that broken wires bring about: the wires by number, each with the first that breaks so, and
    the motors that then start by themselves.
    """
    for functions, effects in facts.fault_effects:
        for i, held in enumerate(functions):
            for verdict in (UNSEEN, SEEN, STOPS):
                hit = [e for e in effects if e.verdicts[i] == verdict]
                faults = [f for e in hit for f in e.faults if f.kind == "wire open"]
                wires = {f.wires[0]: f.text.removesuffix(" open") for f in reversed(faults)}
                if wires:
                    yield held, verdict, dict(sorted(wires.items(), key=lambda pair: natural(pair[0]))), _starting(hit)


def _starting(effects: Iterable[FaultEffect]) -> list[str]:
    opens = (e for e in effects if any(f.kind == "wire open" for f in e.faults))
    return list(dict.fromkeys(motor for effect in opens for motor in effect.starts))
