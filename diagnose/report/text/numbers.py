"""The report's numbers: the weight of each answer as bars that add up, and the sheet for the next pour.

The sheet is short by default, each number with its range; with the sums each number also says how it was got and what it takes for
granted, and what is missing is shown by an example.
"""

from __future__ import annotations

from diagnose.assessment.weight_of_evidence import Step
from diagnose.casebook.sheet import SheetLine
from diagnose.prose import answer as wording
from diagnose.prose.answer import counted, how_sure, in_sentence, quoted
from diagnose.report.document import Bar, Bars, Block, Table
from diagnose.report.text.writer import Writer

#: longest label of a bar
_LABEL = 68


class Numbers(Writer):
    """The sections of bars and numbers."""

    sums = False

    def why(self) -> list[Block]:
        """The weight of evidence of each answer on the first cause, in the order given."""
        why = self.report.why
        if why is None:
            return []
        bars = [Bar(self._told(step), step.points) for step in why.steps]
        if why.few:
            bars.append(
                Bar(
                    f"{counted(why.few, 'answer')} that {'says' if why.few == 1 else 'say'} next to nothing",
                    why.few_points,
                )
            )
        bars.append(Bar(f"all together: that it held is {how_sure(why.held)}", why.total, True))
        return [
            "Points in the order the answers were given: 3 double the odds, 10 make them tenfold, 0 in all is even.",
            Bars(f"What speaks for and against {quoted(why.cause.title)}", tuple(bars)),
        ]

    def _told(self, step: Step) -> str:
        if step.reading is None:
            return "before any answer: how often it is behind a bad part"
        reading = step.reading
        if reading.computed is not None:
            return wording.shortened(f"{self.knowledge.label(reading.question)}: {reading.computed.text}", _LABEL)
        return wording.shortened(self.reading(reading), _LABEL)

    def sheet(self) -> list[Block]:
        """The numbers for the next pour, and what is missing for the others."""
        lines = self.report.sheet
        if not lines:
            return []
        if self.sums:
            return [Table(("What", "Number", "Sum", "Takes for granted"), tuple(self._full(line) for line in lines))]
        got = [(line.title, _ranged(line)) for line in lines if line.value is not None]
        wanting = [f"{in_sentence(line.title)} (needs: {self._wants(line)})" for line in lines if line.value is None]
        blocks: list[Block] = [Table(("What", "Number"), tuple(got))]
        if wanting:
            blocks.append(f"Not worked out for want of an answer: {'; '.join(wanting)}.")
        return [*blocks, "The sums behind these: diagnose read CASE --sheet. The weight of each answer: --why."]

    def _full(self, line: SheetLine) -> tuple[str, ...]:
        number = _ranged(line) if line.value is not None else f"needs: {self._wants(line)}"
        return (line.title, number, line.sum, line.assumes)

    def _wants(self, line: SheetLine) -> str:
        """What a number can't be worked out without, or why it can't be worked out."""
        return ", ".join(self.knowledge.label(fact) for fact in line.missing) or line.sum


def _ranged(line: SheetLine) -> str:
    """The number with its range behind it, unless it is told as a span."""
    _, low, high = line.shown()
    told = line.told()
    if low is None or high is None or low == high or " to " in told:
        return told
    return f"{told} ({wording.number(low)} to {wording.quantity(high, line.unit)})"
