"""What every part of the report in words shares: the records, the titles, and an answer told as a line."""

from __future__ import annotations

from diagnose.assessment.content import Report
from diagnose.assessment.evidence import Reading
from diagnose.knowledge import Remedy
from diagnose.prose import answer as wording
from diagnose.prose.answer import Teller


class Writer:
    """Puts one report into words; the parts of the report are made by its children."""

    def __init__(self, report: Report, teller: Teller) -> None:
        self.report = report
        self.teller = teller
        self.knowledge = teller.knowledge

    def reading(self, reading: Reading) -> str:
        """Return an answer as a line, with its sum where it was worked out and the material whose sheet gave it."""
        if reading.computed is not None:
            return self.teller.computed(reading.question, reading.computed.text, reading.answer.source)
        sheet = self.knowledge.materials[reading.sheet].title if reading.sheet else ""
        return self.teller.answer(reading.question, reading.answer, reading.written, sheet)

    def again(self, question: str) -> str:
        """How to make sure of an answer that much hangs on: asked the other way round where that is known, or looked at anew."""
        if question in self.knowledge.symptoms:
            return self.knowledge.symptoms[question].look
        entry = self.knowledge.question(question)
        return entry.doubt[1] if entry.doubt else entry.find_out

    def spent(self, remedy: Remedy) -> str:
        """Return what a remedy takes: `10 min of work, then 4 h of waiting, costs a pour`."""
        taken = [
            f"{wording.minutes(remedy.minutes)} of work",
            f"then {wording.minutes(remedy.wait_minutes)} of waiting" if remedy.wait_minutes else "",
            {"a pour": "costs a pour", "a mold": "costs a mold"}.get(remedy.material, ""),
        ]
        return ", ".join(filter(None, taken))
