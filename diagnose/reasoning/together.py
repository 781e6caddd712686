"""The chance that any of several causes had a part, as one event: the thickness of a bone that holds several causes.

Chances of single causes can't be added up, for several may hold at once and what explains a symptom makes the others less needed. The
same network is swept once more in which the named causes may hold but fire on no symptom seen; what is left of the evidence then is
the chance that none of them had a part. Exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from diagnose.reasoning.inference import Inference


def chance_of_any(engine: Inference, names: Iterable[str]) -> float:
    """Return the probability that at least one of the causes *names* had a part in a symptom seen, given the answers behind *engine*."""
    asked = {name for name in names if name in engine.index}
    as_is = engine.sweep(engine.rows(1)).z[0]
    silent = _silenced(engine, asked)
    return float(max(0.0, 1.0 - silent.sweep(silent.rows(1)).z[0] / as_is))


def _silenced(engine: Inference, names: set[str]) -> Inference:
    """The network in which *names* stay silent on every symptom seen: their links there are only factors on their holding."""
    quiet = dict.fromkeys(names, 1.0)
    findings = []
    for finding in engine.network.findings:
        if finding.symptom and finding.on > 0.0:
            for name in names & finding.links.keys():
                quiet[name] *= 1.0 - finding.links[name]
            finding = replace(finding, links=_without(finding.links, names))
        findings.append(finding)
    made = Inference(replace(engine.network, findings=tuple(findings)))
    for name, factor in quiet.items():
        made.factors[made.index[name]] *= factor
    return made


def _without(links: Mapping[str, float], names: set[str]) -> dict[str, float]:
    return {name: chance for name, chance in links.items() if name not in names}
