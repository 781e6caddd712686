"""How firm the answer is, in words: what could turn it, what it hangs on, the nearest number,
the answer that sits badly with the rest.
"""

from __future__ import annotations

from diagnose.assessment.records import Tipping
from diagnose.prose.chance import figure, sure
from diagnose.prose.quantity import times
from diagnose.prose.text import listed, lowered, quoted
from diagnose.report.document import Row
from diagnose.report.text.shown import Shown

#: the odds need move by less than the first for the answer not to be firm,
#: by less than the second for it to be fairly so
_SHAKY, _FAIR = 2.0, 10.0


def robustness_rows(shown: Shown) -> list[Row]:
    """Return the rows under the first cause of the full report."""
    return [
        Row("Could turn", tuple(_upsets(shown))),
        Row("How firm", tuple(_firm(shown))),
        Row("Sits badly", tuple(filter(None, [doubt(shown)]))),
    ]


def _upsets(shown: Shown) -> list[str]:
    upsets = shown.assessment.upsets
    if not upsets:
        return ["Nothing that can still be asked would change the order or move this much."]
    lines = []
    for upset in upsets:
        said = f"{shown.teller.outcome(upset.question, upset.value)}, which is {sure(upset.chance)}"
        if upset.ahead:
            lines.append(f"{said}, {shown.title(upset.ahead)} goes ahead.")
        else:
            lines.append(f"Nothing still open puts another cause first. {said}, this falls to {figure(upset.left)}.")
    return lines


def _firm(shown: Shown) -> list[str]:
    found = shown.assessment.robustness
    if found is None:
        return []
    lines = []
    if found.decisive:
        told = listed([shown.evidence(evidence) for evidence, _ in found.decisive], "and")
        lines.append(
            f"It hangs on: {told}. Without {'it' if len(found.decisive) == 1 else 'any one of them'} another cause "
            f"is first."
        )
    tipping = found.tipping
    if not tipping:
        return [*lines, "No single number here need be doubted: none within reason would put another cause first."]
    nearest = tipping[0].factor
    firm = "Not firm" if nearest < _SHAKY else "Fairly firm" if nearest < _FAIR else "Firm"
    return [*lines, f"{firm}: {'; or '.join(_tipping(shown, t) for t in tipping)}."]


def _tipping(shown: Shown, tipping: Tipping) -> str:
    ahead = f"{shown.title(tipping.rival)} would go ahead"
    name = shown.title(tipping.name)
    if not tipping.effect:
        how = "rarer" if tipping.value < tipping.now else "commoner"
        return f"if {name} were {times(tipping.factor)} {how} than we think, {ahead}"
    how = "seldomer" if tipping.value < tipping.now else "oftener"
    effect = shown.knowledge.label(tipping.effect.split(":")[0])
    return f"if {name} showed {quoted(lowered(effect))} {times(tipping.factor)} {how}, {ahead}"


def doubt(shown: Shown) -> str:
    """Return the answer that sits badly with the others, asked the other way round, or nothing."""
    found = shown.assessment.doubt
    if found is None:
        return ""
    where = f", which shows in {quoted(shown.knowledge.label(found.shows_in))}" if found.shows_in else ""
    return (
        f"{shown.evidence(found.evidence)}: about {times(found.times)} less likely beside the other answers than by "
        f"itself{where}. "
        f"{shown.again(found.evidence.question)}"
    )
