"""The numbers for the next pour, in words: short by default, with the sums each number also says how it was got."""

from __future__ import annotations

from diagnose.casebook.sheet import SheetLine
from diagnose.knowledge import Knowledge
from diagnose.prose.quantity import number, quantity
from diagnose.prose.text import lowered
from diagnose.report.document import Block, Table
from diagnose.report.text.shown import Shown


def sheet(shown: Shown, sums: bool) -> list[Block]:
    """Return the numbers for the next pour, and what is missing for the others."""
    if not shown.assessment.symptoms:
        return []
    lines = shown.assessment.sheet
    if sums:
        head = ("What", "Number", "Sum", "Takes for granted")
        rows = tuple((line.title, _ranged(line, shown.knowledge), line.sum, line.assumes) for line in lines)
        return [Table(head, rows)]
    got = tuple((line.title, _ranged(line, shown.knowledge)) for line in lines if line.worked_out)
    wanting = [f"{lowered(line.title)} ({_wants(line, shown.knowledge)})" for line in lines if not line.worked_out]
    blocks: list[Block] = [Table(("What", "Number"), got)] if got else []
    return [*blocks, f"Not worked out for want of an answer: {'; '.join(wanting)}." if wanting else ""]


def _wants(line: SheetLine, knowledge: Knowledge) -> str:
    """What a number can't be worked out without, or why it can't be worked out."""
    return ", ".join(knowledge.label(fact) for fact in line.missing) or line.sum


def _ranged(line: SheetLine, knowledge: Knowledge) -> str:
    """The number with its range behind it, unless it is told as a span."""
    if not line.worked_out:
        return f"needs: {_wants(line, knowledge)}"
    _, low, high = line.shown()
    told = line.told()
    if low is None or high is None or low == high or " to " in told:
        return told
    return f"{told} ({number(low)} to {quantity(high, line.unit)})"
