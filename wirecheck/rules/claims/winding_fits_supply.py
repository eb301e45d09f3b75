"""Each winding gets within 10 % of what the plate says for its real connection; and the connection is a proper one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from wirecheck.behaviour import Behaviour
from wirecheck.behaviour.motion import Fed
from wirecheck.circuit.elements import quantity, section, windings_of
from wirecheck.facts import Facts
from wirecheck.findings import Evidence, Finding, Proof
from wirecheck.plan.model import Device, Quantity, Terminal
from wirecheck.rules.record import Rule, join_words
from wirecheck.rules.showing import evidence

CONDITIONS = {"required": ["what"], "properties": {"what": {"enum": ["connection", "voltage"]}, "tolerance": {"type": "number"}}}
WORDS = frozenset({"motor", "connection", "gets", "plate", "share", "advice", "harm"})

TOLERANCE = 0.10


def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
    """One finding for each motor and each wrong connection or voltage."""
    states, reached = 0, False
    found: list[Finding | Proof] = []
    for motor in facts.of_kind("motor"):
        b = facts.view_of(motor.name)
        turning = b.moving(motor.name) & b.reached
        states += turning.bit_count()
        if not turning:
            turning = b.reached  # it never turns: then whatever reaches it is looked at
        for fed in _distinct(b, motor, turning):
            reached = True
            kind = _connection if rule.claim["what"] == "connection" else _voltage
            found += list(kind(rule, b, motor, fed, turning))
    yield from found or [rule.proof(states, condition_reached=reached)]


def _distinct(b: Behaviour, motor: Device, turning: int) -> Iterator[Fed]:
    """Each connection in which the motor turns, once; where it never turns, each in which poles reach it in vain."""
    seen = set()
    motion = b.motion(motor.name)
    for fed in motion.fed or [f for f in motion.idle if f.states & b.model.supplies.live[f.source.name] & turning]:
        key = (fed.source.name, fed.windings.connection)
        if fed.states & turning and key not in seen:
            seen.add(key)
            yield fed


def _trace(b: Behaviour, fed: Fed, turning: int) -> Evidence:
    return evidence(b, b.reach.trace(fed.states & turning & b.model.supplies.live[fed.source.name]))


def _connection(rule: Rule, b: Behaviour, motor: Device, fed: Fed, turning: int) -> Iterator[Finding]:
    wrong = "" if fed.windings.right else fed.windings.connection
    if not wrong and (earth := _earth_at_star_point(b, motor, fed, turning)):
        wrong = f"{fed.windings.connection}, with the star point joined to {earth}"
    if not wrong and (left_out := _without_a_phase(b, motor, fed, turning)):
        wrong = f"{fed.windings.connection}, but no phase reaches {join_words(left_out, last='or')}"
    if wrong:
        yield _finding(rule, b, motor, fed, _trace(b, fed, turning), {"connection": wrong})


def _earth_at_star_point(b: Behaviour, motor: Device, fed: Fed, turning: int) -> Terminal | None:
    """What the star point is joined to besides the windings: earth, or a pole of another source."""
    poles = (p for s in b.model.sources if s is not fed.source for p in s.poles)
    others = dict.fromkeys((motor.terminal("PE"), *poles))
    ends = _ends(motor)
    free = dict.fromkeys(ends, fed.states & turning)
    for end in ends:
        for pole in fed.source.poles:
            free[end] &= ~b.model.supplies.at(fed.source, pole, end)
    return next((other for other in others for end, states in free.items() if b.joined(end, other) & states), None)


def _without_a_phase(b: Behaviour, motor: Device, fed: Fed, turning: int) -> list[str]:
    """The ends that no phase ever reaches where the others are fed; a blown fuse is no wrong connection."""
    ways = [f for f in b.motion(motor.name).fed if f.source is fed.source and f.states & turning]
    if any(len(set(_fed_ends(b, motor, way).values())) > 2 for way in ways):
        return []
    capacitors = [d.terminal(mark) for d in b.plan.devices.values() if d.kind == "capacitor" for mark in d.marks]
    if any(b.joined(end, at) for end in _ends(motor) for at in capacitors):  # it makes the third phase of a single-phase supply
        return []
    reached = _fed_ends(b, motor, fed)
    return [
        f"{motor.name}:{p}{n}"
        for n in sorted({end.mark[1] for end in reached})
        for p in "UVW"
        if motor.terminal(f"{p}{n}") not in reached
    ]


def _ends(motor: Device) -> tuple[Terminal, ...]:
    """The ends of a motor's windings that are terminals."""
    return tuple(dict.fromkeys(motor.terminal(mark) for pair in windings_of(motor) for mark in pair if not mark.startswith("*")))


def _fed_ends(b: Behaviour, motor: Device, fed: Fed) -> dict[Terminal, Terminal]:
    """The ends that a pole of the source reaches, each with the pole."""
    at = b.model.supplies.at
    return {end: pole for end in _ends(motor) for pole in fed.source.poles if at(fed.source, pole, end) & fed.states}


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
        or _starts_in_star(b, motor, fed, tolerance)
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
        "harm": _harm(share),
        "advice": _advice(motor, fed, tolerance),
    }
    yield _finding(rule, b, motor, fed, Evidence(shown.events, shown.steps, shown.walk, numbers), words)


def _starts_in_star(b: Behaviour, motor: Device, fed: Fed, tolerance: float) -> bool:
    """Whether it is the star of a star-delta starter: in delta the same supply gives what the plate says."""
    deltas = (f for f in b.motion(motor.name).fed if f.source is fed.source and f.windings.connection == "delta")
    plates = (expected(motor, f) for f in deltas if f.states & b.reached and fed.windings.connection == "star")
    return any(plate is not None and abs(line_voltage(fed) / plate.value - 1) <= tolerance for plate in plates)


def _base_point_fits(b: Behaviour, motor: Device, fed: Fed) -> bool:
    """Whether a drive's base voltage and frequency keep volts per hertz as on the plate: a delta motor at 400 V and 87 Hz."""
    drive = b.plan.devices[fed.source.device]
    settings: Mapping[str, object] = section(drive.values, "settings")
    base_v, base_f = quantity(settings, "base_voltage"), quantity(settings, "base_frequency")
    plate, plate_f = expected(motor, fed), quantity(motor.values, "frequency")
    if fed.source.role != "output" or not (base_v and base_f and plate and plate_f):
        return False
    return abs(base_v.value / base_f.value / (plate.value / plate_f.value) - 1) <= TOLERANCE


def _harm(share: float) -> str:
    if share < 1:
        torque = f"{share * share * 100:.0f} %"
        return f"With so little voltage it has about {torque} of its torque (that falls with the square), stalls and overheats."
    return "With so much voltage its iron saturates, the current soars, and the winding burns."


def _advice(motor: Device, fed: Fed, tolerance: float) -> str:
    gets, plate, plate_f = line_voltage(fed), expected(motor, fed), quantity(motor.values, "frequency")
    fits = [
        name
        for name, q in section(motor.values, "plate").items()
        if isinstance(q, Quantity) and abs(gets / q.value - 1) <= tolerance
    ]
    if fits:
        advice = f"Connect the motor in {' or '.join(fits)}: that is what its plate gives for {gets:.0f} V."
        if fed.source.role == "output" and plate and plate_f and gets > plate.value:
            full = f"{plate_f.value * gets / plate.value:.0f} Hz"
            advice += (
                f" Or set the base_frequency of {fed.source.device} to {full}: at {plate_f.text} it then gets its {plate.text}."
            )
        return advice
    return f"The plate gives no connection for {gets:.0f} V: this motor and this supply do not belong together."


def _finding(rule: Rule, b: Behaviour, motor: Device, fed: Fed, shown: Evidence, words: Mapping[str, str]) -> Finding:
    defaults = dict.fromkeys(("connection", "gets", "plate", "share", "advice", "harm"), "")
    spot = motor.lines.get("links", motor.spot)
    ends = {motor.terminal(mark) for pair in windings_of(motor) for mark in pair}
    wires = tuple(dict.fromkeys(w.number for w in b.plan.wires if {w.a, w.b} & ends))
    return rule.finding(
        spot,
        devices=(motor.name, fed.source.device),
        wires=wires,
        evidence=shown,
        **{**defaults, "motor": motor.label(), **words},
    )
