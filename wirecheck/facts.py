"""All that a rule may ask of a plan, computed when first asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cached_property
from typing import TYPE_CHECKING, Any

from wirecheck.errors import TooLarge
from wirecheck.plan.model import Contact, Device, Plan, Terminal

if TYPE_CHECKING:
    import networkx as nx

    from wirecheck.behaviour import Behaviour
    from wirecheck.behaviour.feeding import Touched, Way
    from wirecheck.behaviour.lost import FaultSneaks
    from wirecheck.behaviour.sneaks import Sneak
    from wirecheck.behaviour.verdicts import Effect, FaultTrial, Held
    from wirecheck.circuit import Source
    from wirecheck.circuit.impedances import Impedance
    from wirecheck.circuit.metal import Metal
    from wirecheck.circuit.paths import Paths
    from wirecheck.electrics import Number


Progress = Callable[[int, int, str], None]

FROM_VIEWS = ("sneaks", "races", "fault_trials", "fault_effects", "fault_sneaks", "numbers", "touched", "ways_fed")
"""The facts that are worked out from the views, and anew when these change."""


class Facts:
    """The facts of one plan. `behaviour` raises TooLarge, the same each time, where there are too many states to explore.

    `progress` is told how many single faults have been tried of how many, and which comes next.
    """

    def __init__(self, plan: Plan, progress: Progress | None = None) -> None:
        self.plan, self.progress = plan, progress
        self._too_large: dict[frozenset[str], TooLarge] = {}
        self._views: tuple[Behaviour, ...] | None = None
        self._slow: tuple[Behaviour, Behaviour] | None = None
        self._real: frozenset[str] = frozenset()
        self._decided: frozenset[str] = frozenset()
        self._undecided: TooLarge | None = None

    @cached_property
    def circuit(self) -> nx.MultiGraph[Any]:
        """The plan as a multigraph of terminals."""
        from wirecheck.circuit import build_circuit

        return build_circuit(self.plan)

    @property
    def views(self) -> tuple[Behaviour, ...]:
        """The behaviour of the plan: one view of the whole, or for a large plan several that together cover it.

        Each has `subjects`, the devices of which it tells; a claim about a device is judged in the view that has it.
        """
        if self._undecided is not None and any(view.free for view in self._known_views()):
            raise self._undecided
        return self._known_views()

    def _known_views(self) -> tuple[Behaviour, ...]:
        """The views, though a closer look that was asked for was too much: with free relays they take in more than can happen."""
        from wirecheck.behaviour import views_of

        if self._views is None:
            tried = self._real
            if tried in self._too_large:
                raise self._too_large[tried]
            try:
                self._views = views_of(self.plan, self.direct_influences, tried)
            except TooLarge as large:
                self._too_large[tried] = large
                if tried != self._decided:  # what needs no closer look goes on with the views that there were
                    self._real, self._undecided = self._decided, large
                raise
            self._decided = tried
        return self._views

    def with_slow_contacts(self, view: Behaviour) -> Behaviour:
        """A view with contacts that are slower than the ideal. Only the last one is kept: many would take much memory."""
        from wirecheck.behaviour.variants import with_slow_contacts

        if self._slow is None or self._slow[0] is not view:
            self._slow = None  # let go of the one before first
            self._slow = (view, with_slow_contacts(view))
        return self._slow[1]

    @cached_property
    def sneaks(self) -> tuple[tuple[Sneak, ...], ...]:
        """For each view its sneak paths."""
        from wirecheck.behaviour.sneaks import sneaks_of

        return tuple(sneaks_of(view, self.plan) for view in self.views)

    @cached_property
    def races(self) -> tuple[tuple[tuple[int, int], ...], ...]:
        """For each view the variable bits whose value at rest hangs on the order of moving, with the states where that begins."""
        return tuple(tuple(view.reach.races()) for view in self.views)

    def free_in(self, events: Iterable[str]) -> frozenset[str]:
        """The relays that a trace moves as it likes, for a view leaves them free: it proves nothing until they are looked at."""
        kinds = {name: self.plan.devices[name].kind for event in events if (name := event.partition("=")[0]) in self.plan.devices}
        moved = {event.partition("=")[0] for event in events if event.endswith(("=in", "=out"))}
        return frozenset(name for name in moved if kinds.get(name) in ("relay", "contactor"))

    def look_closer(self, relays: frozenset[str]) -> None:
        """Make the views anew with these relays as they are in the plan; where that is too much, they stay as they are.

        Raises
        ------
        TooLarge
            A part would have too many states; whoever asked cannot be answered, but others can.
        """
        from wirecheck.behaviour.views import parts_of

        wanted = self._real | relays
        if wanted in self._too_large:
            raise self._too_large[wanted]
        try:
            parts_of(self.plan, self.direct_influences, wanted)
        except TooLarge as large:
            self._too_large[wanted] = self._undecided = large
            raise
        self._real = wanted
        self._views = self._slow = None
        for known in FROM_VIEWS:
            self.__dict__.pop(known, None)

    @cached_property
    def metal(self) -> Metal:
        """What wires, links and bars alone join."""
        from wirecheck.circuit.metal import Metal

        return Metal(self.plan)

    @cached_property
    def touched(self) -> Touched:
        """Which poles of live sources each terminal is ever joined to."""
        from wirecheck.behaviour.feeding import Touched

        return Touched(self._known_views())

    @cached_property
    def ways_fed(self) -> tuple[Way, ...]:
        """Each way in which a coil, lamp, load or sensor gets voltage."""
        from wirecheck.behaviour.feeding import ways_fed

        return tuple(way for view in self._known_views() for way in ways_fed(view))

    @cached_property
    def paths(self) -> Paths:
        """Which contacts lie on the paths between two terminals."""
        from wirecheck.circuit.influence import paths_of

        return paths_of(self.plan)

    @cached_property
    def direct_influences(self) -> dict[str, frozenset[str]]:
        """For every device, those that can change directly what it does."""
        from wirecheck.circuit.influence import direct_influences

        return direct_influences(self.plan, self.paths)

    @cached_property
    def influences(self) -> dict[str, frozenset[str]]:
        """For every device, all that can change what it does."""
        from wirecheck.circuit.influence import all_influences

        return all_influences(self.direct_influences)

    @cached_property
    def sources(self) -> tuple[Source, ...]:
        """All sources, in the plan's order."""
        from wirecheck.circuit import sources_of

        return sources_of(self.plan)

    @cached_property
    def poles(self) -> tuple[Terminal, ...]:
        """The poles of all sources."""
        return tuple(pole for source in self.sources for pole in source.poles)

    def decides(self, contact: Contact, device: Device) -> bool:
        """Whether a contact lies on a path that decides what a device does."""
        from wirecheck.circuit.influence import ends_of

        ends = Terminal(contact.device, contact.a), Terminal(contact.device, contact.b)
        goals = [Terminal(device.name, mark) for mark in ends_of(device)]
        return any(self.paths.on_path(start, ends, goal) for goal in goals for start in (*self.poles, *goals) if start != goal)

    def view_of(self, device: str, *needed: str) -> Behaviour:
        """The view that tells of a device, made so large that what is `needed` and can influence the device is in it."""
        while True:
            view = next(view for view in self._known_views() if device in view.subjects)
            if self._undecided is not None and view.free:
                raise self._undecided
            missing = [n for n in needed if n in self.influences[device] and view.is_inert(n)]
            behind = frozenset(relay for relay in view.free for n in missing if n in self.influences[relay])
            if not behind:
                return view
            self.look_closer(behind)

    @cached_property
    def held_functions(self) -> tuple[Held, ...]:
        """All that must stop something, as it is tried under faults: safety functions, stops, selector positions, plugs."""
        from wirecheck.behaviour.causes import causes
        from wirecheck.behaviour.verdicts import Held

        groups = ("emergency-stops", "guards", "functions", "stops", "selectors", "plugs")
        each = (cause for group in groups for cause in causes(self, group))
        return tuple(Held(c.function.name if c.function else str(c.event), c, must) for c in each for must in c.must)

    @cached_property
    def fault_trials(self) -> tuple[FaultTrial, ...]:
        """For each view, the trial of all single faults on the functions that the view tells of."""
        from wirecheck.behaviour.verdicts import FaultTrial

        real: frozenset[str] | None = None
        while real != self._real:  # a function that needs a larger view changes all views
            real = self._real
            views = [self.view_of(held.must[0], held.cause.device.name) for held in self.held_functions]
        by_view: dict[int, list[Held]] = {}
        for held, view in zip(self.held_functions, views, strict=True):
            by_view.setdefault(self.views.index(view), []).append(held)
        return tuple(FaultTrial(self.views[i], functions, lambda: self.loads) for i, functions in sorted(by_view.items()))

    @cached_property
    def fault_effects(self) -> tuple[tuple[tuple[Held, ...], tuple[Effect, ...]], ...]:
        """For each view, the functions tried in it and what every group of single faults does to them."""
        trials = self.fault_trials
        counted = (_counted(self.progress, i, len(trials)) for i in range(len(trials)))
        return tuple((trial.functions, tuple(trial.effects(told))) for trial, told in zip(trials, counted, strict=True))

    @cached_property
    def fault_sneaks(self) -> tuple[tuple[FaultTrial, tuple[FaultSneaks, ...]], ...]:
        """For each view its trial, and what every single fault lets act or glow there through other loads."""
        from wirecheck.behaviour.followed import sort_of
        from wirecheck.behaviour.lost import fault_sneaks
        from wirecheck.behaviour.verdicts import FaultTrial

        tried = {id(t.healthy): (t, effects) for t, (_, effects) in zip(self.fault_trials, self.fault_effects, strict=True)}
        found = []
        for view, sneaks in zip(self.views, self.sneaks, strict=True):
            trial, effects = tried.get(id(view)) or (FaultTrial(view, (), lambda: self.loads), ())
            known = frozenset(map(sort_of, sneaks))
            found.append((trial, tuple(fault_sneaks(trial, effects, self.loads, known))))
        return tuple(found)

    @cached_property
    def loads(self) -> tuple[Impedance, ...]:
        """All that takes current in the plan."""
        from wirecheck.circuit.impedances import impedances_of

        return impedances_of(self.plan)

    @cached_property
    def numbers(self) -> tuple[Number, ...]:
        """What was computed of windings, currents, conductors and protection, known and unknown."""
        from wirecheck.answers import Answers
        from wirecheck.electrics import numbers_of

        return numbers_of(self.plan, Answers(self.plan, self.view_of, self._known_views(), self.ways_fed, self.touched))

    def of_kind(self, *kinds: str) -> tuple[Device, ...]:
        """The devices of these kinds, in the plan's order."""
        return tuple(d for d in self.plan.devices.values() if d.kind in kinds)


def _counted(progress: Progress | None, part: int, parts: int) -> Progress | None:
    """The progress of one part of several, each of about the same size."""
    if progress is None:
        return None
    return lambda done, total, what: progress(part * total + done, parts * total, what)
