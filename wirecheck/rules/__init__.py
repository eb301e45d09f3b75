"""Rules: what must hold of a plan, read from `rules/NAME.yaml`, judged by claim kinds.

A rule is data: title, severity, claim, why, remedy, sources, since, examples. Its `claim` names one of the claim kinds and
gives that kind's conditions. A claim kind is one module in `wirecheck/rules/claims/`, named like the kind with underscores
for hyphens (`motion-starts-only-at` is `motion_starts_only_at.py`). It holds::

    CONDITIONS = {"required": ["of"], "properties": {"of": {...}}}   # JSON Schema of the keys of the claim besides `kind`
    WORDS = frozenset({"device"})                                    # the {words} that the rule's texts may use with it

    def judge(rule: Rule, facts: Facts) -> Iterable[Finding | Proof]:
        wrong = [device for device in facts.of_kind("lamp") if is_wrong(device, rule.claim)]
        for device in wrong:
            yield rule.finding(device.spot, f"{device.name} does ...", devices=[device.name], device=device.label())
        if not wrong:
            yield rule.proof(states=1)

- `rule.claim` is the mapping of conditions (without `kind`) exactly as the file has it, defaults not filled in.
- `rule.finding(spot, message, devices=, wires=, evidence=, severity=, rests_on=, **words)` makes a finding with the rule's
  severity, why, remedy and sources; the `{words}` in why, remedy and message are filled from `words`. `{devices}` and
  `{wires}` are always there. Without a message the rule's own `message` is used. The message says the consequence first, in
  plain words.
- `rule.proof(states, faults=0, condition_reached=True)` says that the title held; yield it only when nothing was found.
- Findings with equal rule and message are folded into one, so let the message name the cause.
- A module may have `known(condition)`, the words that a condition may have where only the program knows them.
- `TooLarge` may pass through: the runner reports the rule as undecided. So may any other exception: a rule that crashes is
  a finding of its own, and the report incomplete.
- Modules are imported by name when the first rule of their kind is judged, so a kind costs nothing where it is not used.

`loader` reads rule files, `examples` reads and tries their examples, `checker` holds a rule against its claim kind,
`conditions` holds its conditions against those of the kind, `house` reads the rules of a house, `registry` finds the claim kinds,
`runner` judges, `assembly` makes the report, `explaining` shows a rule by its examples, `page` and `schema` tell of the language.
"""
