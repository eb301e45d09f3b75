"""Hand-made reports on a workshop of our own invention, for the tests of the outputs."""

from __future__ import annotations

from wirecheck.findings import Evidence, Finding, Proof, Report, Spot, Step

FILE = "bench-lathe.yaml"


def danger(**changes: object) -> Finding:
    """A danger with a trace and a fault."""
    values: dict[str, object] = {
        "rule": "guard-open-keeps-motion-stopped",
        "severity": "danger",
        "message": "M1 keeps running while the guard S2 is open.",
        "why": "A hand can reach the chuck while it turns.",
        "remedy": "Put a second contact of S2 into the torque-off channels.",
        "at": Spot(FILE, 41, 3),
        "devices": ("S2", "M1"),
        "wires": ("7",),
        "evidence": Evidence(
            events=("G0=on", "S4=pressed", "S2=open"),
            steps=(
                Step("G0=on", ("G1 gives 24 V",)),
                Step("S4=pressed", ("K1",), {"M1": "forward"}, ("start pressed",)),
                Step("S2=open", (), {"M1": "forward"}),
            ),
            fault="wire 7 [S1:22\u2013S2:21] open",
            fault_after=2,
        ),
        "sources": ("IEC 60204-1:2016, 9.4.3", "common practice"),
        "rests_on": ("T1 on_power_up_with_run is not stated",),
    }
    return Finding(**(values | changes))  # type: ignore[arg-type]  # the changes are the tests' own


def advice(**changes: object) -> Finding:
    """Advice with numbers and a walk."""
    values: dict[str, object] = {
        "rule": "coil-gets-its-voltage",
        "severity": "advice",
        "message": "K1 pulls in late.",
        "why": "A coil below its voltage chatters.",
        "remedy": "Use a thicker wire.",
        "at": Spot(FILE, 12, 5),
        "devices": ("K1",),
        "evidence": Evidence(walk=("G1:+", "F2:1", "F2:2", "K1:A1"), numbers={"measured": "20 V", "limit": "20.4 V"}),
        "sources": ("common practice",),
    }
    return Finding(**(values | changes))  # type: ignore[arg-type]  # the changes are the tests' own


def report(*findings: Finding, **changes: object) -> Report:
    """A report as the pipeline makes it."""
    values: dict[str, object] = {
        "plan": FILE,
        "findings": findings,
        "proved": (
            Proof("Motion starts only at a start event", 214, 63),
            Proof("A thermistor stops the motor", 214, 0, condition_reached=False),
        ),
        "assumed": ("T1 on_power_up_with_run: starts (not stated in the plan)",),
        "not_checked": ("workmanship",),
        "functions": ({"name": "chuck-guard", "when": "S2=open", "faults_tried": 63, "lost_by": [], "lost_unseen_by": []},),
        "statistics": {"devices": 14, "wires": 33, "states": 214, "faults": 63, "seconds": 0.04},
    }
    return Report(**(values | changes))  # type: ignore[arg-type]  # the changes are the tests' own
