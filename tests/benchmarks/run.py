"""Measures that are run by hand: `python -m tests.benchmarks.run`. All in one run, as ratios where that can be."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter, process_time
from typing import NamedTuple

from tests.benchmarks.per_state import networkx_seconds_per_state, wirecheck_seconds_per_state
from tests.generators.zone_line import MOST_ZONES, zone_line
from wirecheck.behaviour.faults import single_faults
from wirecheck.behaviour.reach import explore
from wirecheck.plan import read_plan

PLAN = Path(__file__).parent / "plans" / "bench-lathe.yaml"

LARGE = Path(__file__).parent / "large" / "lathe-with-safety-relay.yaml"

ROUNDS = 15
"""How often each whole process is run; the median counts."""

LOADED = f"""
import sys, sysconfig
import wirecheck.cli as cli
try:
    cli.main(["check", {str(PLAN)!r}])
except SystemExit as end:
    assert not end.code
    packages = sysconfig.get_path("purelib")
    found = [n for n, m in sys.modules.items() if (getattr(m, "__file__", None) or "").startswith(packages)]
    print("\\n" + " ".join(n for n in found if not n.startswith("wirecheck")))
"""
"""Runs a check and prints the modules of other packages that it loaded, in their order."""


FAULTS = f"""
from time import process_time
from wirecheck.facts import Facts
from wirecheck.plan import read_plan
facts = Facts(read_plan({str(PLAN)!r}))
facts.views
began = process_time()
facts.fault_effects
print(process_time() - began)
"""
"""Works out the effects of all single faults, the plan without faults having been worked out before."""

SAT_FAULTS_EACH = 15
"""Each one of so many faults is put to the SAT solver: it takes more than a second for each."""


class Used(NamedTuple):
    """What a process took: on the clock, and of the processor (user and system time), which other processes disturb less."""

    seconds: float
    processor_s: float
    megabytes: float


def process(*arguments: str) -> Used:
    """Run Python with these arguments and throw its output away."""
    # With bytecode, as an installed wheel has it: without it Python would compile us anew each time, and the others not.
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    began = perf_counter()
    child = subprocess.Popen([sys.executable, *arguments], stdout=subprocess.DEVNULL, env=environment)
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise SystemExit(f"python {' '.join(arguments)}: exit status {child.returncode}, nothing is measured")
    kilobytes = usage.ru_maxrss / 1024 if sys.platform == "darwin" else usage.ru_maxrss
    return Used(perf_counter() - began, usage.ru_utime + usage.ru_stime, kilobytes / 1024)


def best(measure: Callable[[], float], times: int) -> float:
    """The least of several measures: the one that was disturbed least."""
    return min(measure() for _ in range(times))


def whole_process() -> str:
    """A check against a process that only imports, in the same Python, what that check imports of other packages."""
    done = subprocess.run([sys.executable, "-c", LOADED], capture_output=True, text=True, check=True)
    modules = done.stdout.splitlines()[-1].split()
    packages = sorted({name.partition(".")[0] for name in modules if not name.startswith("_")})
    commands = (
        ["-c", f"import {', '.join(modules)}"],
        ["-m", "tests.benchmarks.without_faults", "check", str(PLAN)],
        ["-m", "wirecheck", "check", str(PLAN)],
    )
    for command in commands:  # once for nothing: bytecode is written, as installing does, and files are in memory
        process(*command)
    # In turns, so that whatever else the machine does meets all of them.
    rounds = [[process(*command).processor_s for command in commands] for _ in range(ROUNDS)]
    bare = median(times[0] for times in rounds)
    plain, faults = (median(times[n] / times[0] for times in rounds) for n in (1, 2))
    return (
        f"{faults:.2f} times (target 2.0) what importing takes, {bare * 1000:.0f} ms, of {', '.join(packages)}; "
        f"{plain:.2f} times (target 1.5) without faults"
    )


def reach() -> str:
    """Reach of the lathe, computing alone."""
    plan = read_plan(str(PLAN))

    def once() -> float:
        began = perf_counter()
        explore(plan)
        return perf_counter() - began

    states = explore(plan).reached.bit_count()
    return f"{best(once, 10) * 1000:.1f} ms for {states} settled states (target 10 ms)"


def all_faults() -> str:
    """All single faults of the lathe with their effects, computing alone, each time in a process that has done nothing before."""

    def once() -> float:
        return float(subprocess.run([sys.executable, "-c", FAULTS], capture_output=True, text=True, check=True).stdout)

    faults = len(single_faults(read_plan(str(PLAN))))
    return f"{best(once, ROUNDS) * 1000:.0f} ms of the processor for {faults} faults (target 60 ms)"


def large_lathe() -> str:
    """A check of a lathe with many devices that all matter to its motor, with all faults."""
    used = process("-m", "wirecheck", "check", str(LARGE))
    return f"{used.processor_s:.0f} s, {used.megabytes:.0f} MB (target 60 s, 600 MB)"


def line_of_zones() -> str:
    """A check of the longest line, without faults and with all of them."""
    with tempfile.TemporaryDirectory() as folder:
        plan = Path(folder, "line.yaml")
        plan.write_text(zone_line(MOST_ZONES), encoding="utf-8")
        plain = process("-m", "tests.benchmarks.without_faults", "check", str(plan))
        faults = process("-m", "wirecheck", "check", str(plan))
    return (
        f"{faults.processor_s:.2f} s, {faults.megabytes:.0f} MB (target 10 s, 300 MB); "
        f"{plain.processor_s:.2f} s, {plain.megabytes:.0f} MB (target 3 s, 150 MB) without faults"
    )


def dead_test_of_the_lathe() -> str:
    """The choice of the readings of the dead test, computing alone."""
    from wirecheck.metering.choosing import dead_test

    plan = read_plan(str(PLAN))

    def once() -> float:
        began = process_time()
        dead_test(plan)
        return process_time() - began

    return f"{best(once, 5):.2f} s of the processor (target 2 s)"


def sat_solver() -> str:
    """The engine against a SAT solver on the faults of one zone."""
    from tests.benchmarks.against_sat import EVENTS, compare

    took = compare(each=SAT_FAULTS_EACH)
    times = took.encoded_s / took.engine_s
    return (
        f"{times:.0f} times faster (target 50) at telling after how many events {took.faults} faults of one "
        f"zone lose the emergency stop: {took.engine_s * 1000:.0f} ms for runs of any length, against {took.encoded_s:.1f} s for "
        f"runs of at most {EVENTS} events, {took.solved_s * 1000:.0f} ms of it in the solver, the rest in stating the question"
    )


def per_state() -> str:
    """One state of the engine against one state of the obvious way."""
    plan = read_plan(str(PLAN))
    ours, obvious = best(lambda: wirecheck_seconds_per_state(plan), 5), networkx_seconds_per_state(plan, 200)
    return (
        f"{ours * 1e6:.2f} µs a state; a networkx graph for each state and a path search for each coil "
        f"{obvious * 1e6:.0f} µs; {obvious / ours:.0f} times faster (target 500)"
    )


def main() -> None:
    """Print every measure."""
    for title, measure in (
        ("whole process of a check", whole_process),
        ("reach of the lathe", reach),
        ("all single faults of the lathe", all_faults),
        ("check of a lathe of 27 bits", large_lathe),
        (f"check of {MOST_ZONES} zones", line_of_zones),
        ("choosing the dead test of the lathe", dead_test_of_the_lathe),
        ("each state", per_state),
        ("SAT solver", sat_solver),
    ):
        print(f"{title}: {measure()}", flush=True)


if __name__ == "__main__":
    main()
