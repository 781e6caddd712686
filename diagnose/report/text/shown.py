"""What every section in words shares: the assessment, the case as it was written, titles,
and an answer told as a line.
"""

from __future__ import annotations

from msgspec import Struct

from diagnose.assessment.records import Assessment, Evidence, RemedyUse
from diagnose.casebook.case import Case
from diagnose.knowledge import Knowledge, Remedy
from diagnose.prose.answer import Teller, mends
from diagnose.prose.quantity import Units, minutes
from diagnose.prose.text import capital, counted, listed, lowered, quoted

#: what is about a case, before its value, where the key doesn't say it: `lot of A 114`
_ABOUT = {"lot_a": "lot of A", "lot_b": "lot of B"}
_COSTS = {"a pour": "costs a pour", "a mold": "costs a mold"}


class Shown(Struct, frozen=True):
    """One assessment with all that its words need."""

    assessment: Assessment
    case: Case
    knowledge: Knowledge
    teller: Teller

    @classmethod
    def of(cls, assessment: Assessment, case: Case, knowledge: Knowledge) -> Shown:
        """Return the assessment of *case* ready to be told in the units of the case."""
        return cls(assessment, case, knowledge, Teller(knowledge, Units.of(case.written.values())))

    def title(self, cause: str) -> str:
        """Return the title of a cause in quotes."""
        return quoted(self.knowledge.causes[cause].title)

    def remedy(self, use: RemedyUse) -> Remedy:
        """Return the remedy of a use."""
        return self.knowledge.remedies[use.remedy]

    def evidence(self, evidence: Evidence) -> str:
        """Return an answer as a line, with its sum where it was worked out,
        and the answers that stand in for it beside it.
        """
        lines = [self._one(evidence)]
        for name in evidence.with_answers:
            answer = self.case.values.get(name)
            if answer is not None:
                lines.append(self.teller.said(name, answer.value, answer.source, self.case.written.get(name, "")))
        return "; ".join(lines)

    def _one(self, evidence: Evidence) -> str:
        if evidence.computed:
            text = next(c.sum for c in self.assessment.computed if c.name == evidence.question)
            return self.teller.computed(evidence.question, text, evidence.source)
        sheet = self.knowledge.materials[evidence.sheet].title if evidence.sheet else ""
        return self.teller.said(evidence.question, evidence.value, evidence.source, evidence.written, sheet)

    def again(self, question: str) -> str:
        """How to make sure of an answer that much hangs on: asked the other way round where that is known,
        or looked at anew.
        """
        if question in self.knowledge.symptoms:
            return self.knowledge.symptoms[question].look
        entry = self.knowledge.facts.get(question) or self.knowledge.checks[question]
        return entry.doubt[1] if entry.doubt else entry.find_out

    def question(self, name: str) -> tuple[str, str]:
        """Return a question as a sentence, and how to find out."""
        if name in self.knowledge.symptoms:
            symptom = self.knowledge.symptoms[name]
            return f"Look: {lowered(symptom.title)}?", symptom.look
        entry = self.knowledge.facts.get(name) or self.knowledge.checks[name]
        return entry.title, entry.find_out

    def spent(self, remedy: Remedy) -> str:
        """Return what a remedy takes: `10 min of work, then 4 h of waiting, costs a pour`."""
        taken = [
            f"{minutes(remedy.minutes)} of work",
            f"then {minutes(remedy.wait_minutes)} of waiting" if remedy.wait_minutes else "",
            _COSTS.get(remedy.material, ""),
        ]
        return ", ".join(filter(None, taken))

    def works(self, use: RemedyUse, most: int = 2) -> str:
        """Return how surely a remedy mends, by cause: `usually works for "Mold face too cold"`."""
        return listed([f"{mends(word)} for {self.title(cause)}" for cause, word in use.mends[:most]])

    def bound(self, name: str) -> str:
        """Return one value out of bounds with what is allowed: `mold face temperature 11 °C, allowed 22 to 42 °C`."""
        item = next(o for o in self.assessment.out_of_bounds if o.name == name)
        units, label = self.teller.units, self.knowledge.label(name)
        value = units.quantity(item.value, item.unit)
        if item.low is not None and item.high is not None:
            return f"{label} {value}, allowed {units.span(item.low, item.high, item.unit)}"
        if item.low is not None:
            return f"{label} {value}, allowed at least {units.quantity(item.low, item.unit)}"
        return f"{label} {value}, allowed at most {units.quantity(item.high or 0.0, item.unit)}"

    def own_grams(self) -> str:
        """Return the grams that were weighed against those that the label asks for, where all three are told;
        else nothing.
        """
        values = {name: answer.value for name, answer in self.case.values.items()}
        a, b, target = (values.get(name) for name in ("a_mass", "b_mass", "ratio_target"))
        if not (isinstance(a, float) and isinstance(b, float) and isinstance(target, float)):
            return ""
        units = self.teller.units
        wanted = units.quantity(b * target / 100.0, "g")
        return f"For {units.quantity(b, 'g')} of B you needed {wanted} of A; you had {units.quantity(a, 'g')}."

    def part(self) -> tuple[str, ...]:
        """What part it is, what was seen on it, and how much was told."""
        found = self.assessment
        kind = [self.knowledge.facts["build"].choices[found.build].title] if found.build is not None else []
        if found.painted is not None:
            kind.append("painted" if found.painted else "no paint")
        told = counted(found.told, "answer") + (f", {found.unknown} not known" if found.unknown else "")
        about = [f"{_ABOUT.get(key, key)} {value}" for key, value in found.about if key != "id"]
        seen = [lowered(self.knowledge.symptoms[name].title) for name in found.symptoms]
        lines = [", ".join([*kind, *about, told]) + ".", f"Seen: {'; '.join(seen)}." if seen else ""]
        return tuple(capital(line) for line in lines if line)
