"""The report in words, the same for terminal and page: the card, then sections in their order.

Every section is a function from what is shown to blocks; `brief` sections are on the screen by default, the others
stand behind `--full` (and `--why`, `--sheet`) and are on the page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from msgspec import Struct
from msgspec.structs import replace

from diagnose.prose.text import capital, shortened
from diagnose.report.document import Block, Entry, Row, Section, Table, Words
from diagnose.report.text import actions, causes, numbers, sheet
from diagnose.report.text.card import card_of, headline, sides_note
from diagnose.report.text.shown import Shown

SAFETY = (
    "A harms lungs, eyes and skin and can make you allergic for good; attacks may come hours later, in the night. B "
    "gives off amines "
    "that haze the sight: don't drive with it. Gloves, goggles, moving air; no dust of half-cured foam or coats.",
    "The safety data sheets (SDS) of your materials, local rules and licensed practice come before anything said "
    "here. Tight chest, cough, "
    "rash or hazy sight: stop, go into fresh air and get medical advice. This tool judges parts, not people.",
)
SHORT_SAFETY = (
    "Gloves, goggles, moving air. The safety data sheets, local rules and licensed practice come before anything "
    "said here."
)


class Wanted(Struct, frozen=True):
    """Which parts are wanted: all of it, the bars of the evidence, the sums of the numbers."""

    full: bool = False
    why: bool = False
    sums: bool = False


def words_of(shown: Shown, wanted: Wanted) -> Words:
    """Return the report in words."""
    sections = []
    for key, title, told, when in _SECTIONS:
        if when(wanted):
            blocks = tuple(block for block in told(shown, wanted) if block)
            if blocks:
                sections.append(Section(key, title, blocks))
    foot = (
        SHORT_SAFETY
        if not wanted.full
        else "Figures are rounded: they rest on words such as usually and seldom, not on counts."
    )
    card = card_of(shown)
    note = sides_note(
        text for block in (*card.rows, *(b for s in sections for b in s.blocks)) for text in _texts(block)
    )
    title = shortened(shown.assessment.title) or "A case without a title"
    return Words(title, shown.part(), replace(card, note=note), tuple(sections), foot)


def _texts(block: Block | Row) -> Iterator[str]:
    """What a block says, line by line."""
    if isinstance(block, str):
        yield block
    elif isinstance(block, Row):
        yield from block.lines
    elif isinstance(block, Entry):
        yield block.head
        yield from (line for row in block.rows for line in row.lines)
    elif isinstance(block, Table):
        yield from (cell for row in block.rows for cell in row)
    else:
        yield from (bar.label for bar in block.bars)


def _causes(shown: Shown, wanted: Wanted) -> list[Block]:
    return causes.causes(shown, wanted.full)


def _bounds(shown: Shown, wanted: Wanted) -> list[Block]:
    """All that is out of bounds; on the screen in one line what the card above had no room for."""
    outside = [shown.bound(item.name) for item in shown.assessment.out_of_bounds]
    if not wanted.full:
        card = " ".join(line for row in card_of(shown).rows for line in row.lines)
        left = [bound for bound in outside if bound not in card]
        return [capital("; ".join(left)) + "."] if left else []
    grams = shown.own_grams() if outside else ""
    return [*(capital(bound) + "." for bound in outside), grams]


def _notes(shown: Shown, wanted: Wanted) -> list[Block]:
    found: list[Block] = []
    for warning in shown.assessment.warnings:
        if warning.code == "nothing_seen" and not shown.assessment.symptoms:
            continue
        rest = warning.text.removeprefix(f"{warning.about}: ") if warning.about else warning.text
        label = f"{shown.knowledge.label(warning.about)}: " if warning.about else ""
        found.append(capital(shortened(label + rest, 300)))
    return found


Told = Callable[[Shown, Wanted], list[Block]]
_SECTIONS: tuple[tuple[str, str, Told, Callable[[Wanted], bool]], ...] = (
    ("bounds", "Measured and out of bounds", _bounds, lambda w: True),
    ("causes", "Causes, likeliest first", _causes, lambda w: True),
    ("why", "Why the first cause", lambda s, w: numbers.weights(s), lambda w: w.full or w.why),
    ("change", "Next pour: what to do otherwise", lambda s, w: actions.change(s), lambda w: w.full),
    ("save", "This part", lambda s, w: actions.save(s), lambda w: w.full),
    ("checks", "Worth checking next", lambda s, w: actions.checks(s), lambda w: w.full),
    ("sheet", "Numbers for the next pour", lambda s, w: sheet.sheet(s, w.sums), lambda w: w.full or w.sums),
    ("plan", "If you can't afford another bad part", lambda s, w: actions.plan(s), lambda w: w.full),
    ("notes", "About this case", _notes, lambda w: w.full),
    ("cautions", "Safety", lambda s, w: [*SAFETY], lambda w: w.full),
)

__all__ = ["Wanted", "headline", "words_of"]
