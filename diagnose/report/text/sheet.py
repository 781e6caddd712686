"""The numbers for the next pour, in words: short by default, with the sums each number also says how it was got."""

from __future__ import annotations

from diagnose.casebook.sheet import Line, Sheet
from diagnose.prose.quantity import number, quantity
from diagnose.prose.text import lowered
from diagnose.report.document import Block, Table
from diagnose.report.text.shown import Shown


def sheet(shown: Shown, sums: bool) -> list[Block]:
    """Return the numbers for the next pour, and what is missing for the others."""
    if not shown.assessment.symptoms:
        return []
    lines = Sheet(shown.case, shown.knowledge).lines()
    if sums:
        head = ("What", "Number", "Sum", "Takes for granted")
        return [Table(head, tuple((line.title, _ranged(line), line.sum, line.assumes) for line in lines))]
    got = tuple((line.title, _ranged(line)) for line in lines if line.value is not None)
    wanting = [f"{lowered(line.title)} ({line.text.removeprefix('needs: ')})" for line in lines if line.value is None]
    blocks: list[Block] = [Table(("What", "Number"), got)] if got else []
    return [*blocks, f"Not worked out for want of an answer: {'; '.join(wanting)}." if wanting else ""]


def _ranged(line: Line) -> str:
    """The number with its range behind it, unless its words give both ends already."""
    if line.low is None or line.high is None or " to " in line.text or " and " in line.text:
        return line.text
    low, high = (round(end) if line.high >= 20 else round(end, 1) for end in (line.low, line.high))
    return line.text if low == high else f"{line.text} ({number(low)} to {quantity(high, line.unit)})"
