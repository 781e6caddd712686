"""How firm the answer is, in words: what it hangs on, the nearest number that decides, and the answer that sits badly with the rest."""

from __future__ import annotations

from diagnose.assessment.evidence import Reading
from diagnose.prose import answer as wording
from diagnose.prose.answer import in_sentence, quoted
from diagnose.reasoning.answers import SEEN
from diagnose.reasoning.sensitivity import TippingPoint
from diagnose.report.text.writer import Writer

#: the odds need move by less than the first for the answer not to be firm, by less than the second for it to be fairly so
_SHAKY, _FAIR = 2.0, 10.0


class Doubting(Writer):
    """The lines that say how far the answer is to be trusted."""

    def disagreement(self) -> str:
        """The answer that sits badly with the others, asked the other way round."""
        doubt = self.report.doubt
        if doubt is None:
            return ""
        shown = f", which shows in {quoted(self.knowledge.label(doubt.derived))}" if doubt.derived else ""
        return (
            f"One answer sits badly with the others, about {wording.times(doubt.times)} less likely beside them than by itself{shown}. "
            f"You said {self._said(doubt.reading)}. {self.again(doubt.reading.question)}"
        )

    def _said(self, reading: Reading) -> str:
        """An answer as it goes on from `you said`."""
        if reading.question not in self.knowledge.symptoms:
            return self.reading(reading)
        return f"that {quoted(self.teller.value(reading.question, SEEN))} is {'there' if reading.answer.value == SEEN else 'not there'}"

    def sensitivity(self) -> list[str]:
        """The answers that it hangs on, and the nearest number that would turn it over."""
        firm = self.report.firm
        if firm is None:
            return []
        lines = []
        if firm.readings:
            soft = [r for r in firm.readings if r.answer.source in ("told", "remembered")]
            check = f" Make sure of the first: {self.again(soft[0].question)}" if soft else ""
            lines.append(
                f"Without {'this one' if len(firm.readings) == 1 else 'any one of these'} another cause is first: "
                f"{'; '.join(self._short(r) for r in firm.readings)}.{check}"
            )
        if not firm.tippings:
            return [*lines, "No single number that we may have wrong puts another cause first."]
        near = firm.tippings[0].factor
        lead = "Not firm" if near < _SHAKY else "Fairly firm" if near < _FAIR else "Firm"
        return [*lines, f"{lead}: {'; '.join(self._tipping(t) for t in firm.tippings)}."]

    def _short(self, reading: Reading) -> str:
        """An answer in a list: its name, and how it is known where that is not by looking."""
        mark = {"told": " (told)", "remembered": " (remembered)"}.get(reading.answer.source, "")
        return f"{self.knowledge.label(reading.question)}{mark}"

    def _tipping(self, tipping: TippingPoint) -> str:
        """What would have to be otherwise: `if "Mold cold" were 4 times rarer than we think, "Damp mold" would go ahead`."""
        more = tipping.value > tipping.now
        times = wording.times(tipping.value / tipping.now if more else tipping.now / tipping.value)
        name, rival = (
            quoted(self.knowledge.causes[tipping.name].title),
            quoted(self.knowledge.causes[tipping.rival].title),
        )
        ahead = "it would go ahead" if tipping.rival == tipping.name else f"{rival} would go ahead"
        if tipping.kind == "base":
            return f"if {name} were {times} {'commoner' if more else 'rarer'} than we think, {ahead}"
        effect = quoted(in_sentence(self._effect(tipping.effect)))
        return f"if {name} led to {effect} {times} {'more' if more else 'less'} often than we think, {ahead}"

    def _effect(self, finding: str) -> str:
        """The words of a finding: a symptom, or a result of a check."""
        if finding in self.knowledge.symptoms:
            return self.knowledge.symptoms[finding].title
        check, _, result = finding.partition(":")
        entry = self.knowledge.checks[check]
        return f"{entry.short}: {in_sentence(entry.results[result].title)}" if result in entry.results else entry.short
