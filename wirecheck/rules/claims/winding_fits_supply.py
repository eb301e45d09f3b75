"""Each winding gets within 10 % of what the plate says for its real connection; and the connection is a proper one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.motion import Fed
from wirecheck.circuit.elements import quantity, section
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.plan.model import Device, Quantity
from wirecheck.rules.record import Rule
from wirecheck.rules.showing import evidence

CONDITIONS = {"required": ["what"], "properties": {"what": {"enum": ["connection", "voltage"]}, "tolerance": {"type": "number"}}}
WORDS = frozenset({"motor", "connection", "gets", "plate", "share", "advice", "torque"})

TOLERANCE = 0.10


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each motor and each wrong connection or voltage."""
    states, reached = 0, False
    found: list[Finding | Proof] = []
    for motor in facts.of_kind("motor"):
        b = facts.view_of(motor.name)
        turning = b.moving(motor.name) & b.reached
        states += turning.bit_count()
        for fed in _distinct(b, motor, turning):
            reached = True
            kind = _connection if rule.claim["what"] == "connection" else _voltage
            found += list(kind(rule, b, motor, fed, turning))
    yield from found or [rule.proof(states, condition_reached=reached)]


def _distinct(b: Behaviour, motor: Device, turning: int) -> Iterator[Fed]:
    """Each connection in which the motor turns, once."""
    seen = set()
    for fed in b.motion(motor.name).fed:
        key = (fed.source.name, fed.windings.connection)
        if fed.states & turning and key not in seen:
            seen.add(key)
            yield fed


def _trace(b: Behaviour, fed: Fed, turning: int) -> Evidence:
    return evidence(b, b.reach.trace(fed.states & turning & b.model.supplies.live[fed.source.name]))


def _connection(rule: Rule, b: Behaviour, motor: Device, fed: Fed, turning: int) -> Iterator[Finding]:
    if not fed.windings.right:
        yield _finding(rule, b, motor, fed, _trace(b, fed, turning), {"connection": fed.windings.connection})


def line_voltage(fed: Fed) -> float:
    """The largest voltage between two poles of the source, V."""
    return max(volts for _, _, volts in fed.source.pairs())


def expected(motor: Device, fed: Fed) -> Quantity | None:
    """What the plate says for the connection that the motor really has."""
    plate = section(motor.values, "plate")
    return quantity(plate, fed.windings.connection)


def _voltage(rule: Rule, b: Behaviour, motor: Device, fed: Fed, turning: int) -> Iterator[Finding]:
    if not fed.windings.right:
        return
    plate, gets = expected(motor, fed), line_voltage(fed)
    tolerance = float(str(rule.claim.get("tolerance", TOLERANCE)))
    if (
        plate is None
        or (1 - tolerance <= gets / (plate.high or plate.value) and gets / plate.value <= 1 + tolerance)
        or _base_point_fits(b, motor, fed)
    ):
        return
    share = gets / plate.value
    low, high = plate.value * (1 - tolerance), (plate.high or plate.value) * (1 + tolerance)
    numbers = {"measured": f"{gets:.0f} V", "limit": f"{low:.0f}-{high:.0f} V"}
    if fed.windings.connection == "star":
        numbers |= {"each winding gets": f"{gets / 3**0.5:.0f} V", "each winding is made for": f"{plate.value / 3**0.5:.0f} V"}
    shown = _trace(b, fed, turning)
    words = {
        "connection": fed.windings.connection,
        "gets": f"{gets:.0f} V",
        "plate": plate.text,
        "share": f"{share * 100:.0f} %",
        "torque": f"{share * share * 100:.0f} %",
        "advice": _advice(motor, gets, tolerance),
    }
    yield _finding(rule, b, motor, fed, Evidence(shown.events, shown.steps, shown.walk, numbers), words)


def _base_point_fits(b: Behaviour, motor: Device, fed: Fed) -> bool:
    """Whether a drive's base voltage and frequency keep volts per hertz as on the plate: a delta motor at 400 V and 87 Hz."""
    drive = b.plan.devices[fed.source.device]
    settings: Mapping[str, object] = section(drive.values, "settings")
    base_v, base_f = quantity(settings, "base_voltage"), quantity(settings, "base_frequency")
    plate, plate_f = expected(motor, fed), quantity(motor.values, "frequency")
    if fed.source.role != "output" or not (base_v and base_f and plate and plate_f):
        return False
    return abs(base_v.value / base_f.value / (plate.value / plate_f.value) - 1) <= TOLERANCE


def _advice(motor: Device, gets: float, tolerance: float) -> str:
    fits = [
        name
        for name, q in section(motor.values, "plate").items()
        if isinstance(q, Quantity) and abs(gets / q.value - 1) <= tolerance
    ]
    if fits:
        return f"Connect the motor in {' or '.join(fits)}: that is what its plate gives for {gets:.0f} V."
    return f"The plate gives no connection for {gets:.0f} V: this motor and this supply do not belong together."


def _finding(rule: Rule, b: Behaviour, motor: Device, fed: Fed, shown: Evidence, words: Mapping[str, str]) -> Finding:
    defaults = dict.fromkeys(("connection", "gets", "plate", "share", "advice", "torque"), "")
    spot = motor.lines.get("links", motor.spot)
    wires = tuple(dict.fromkeys(w.number for w in b.plan.wires if motor.name in (w.a.device, w.b.device) and w.colour != "GNYE"))
    return rule.finding(
        spot,
        devices=(motor.name, fed.source.device),
        wires=wires,
        evidence=shown,
        **{**defaults, "motor": motor.label(), **words},
    )
