"""The answer on one card: what it is and how sure, what to do on the next pour, this part, the one check,
when to think again.

At most twelve lines of eighty columns, dangers above it; it is what a caster reads and what goes into a mail. Every row
has a sentence that always stands; what else there is to say joins it as whole sentences, the most useful first, while
there is room.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence

from msgspec import Struct

from diagnose.assessment.records import NextCheck, Save
from diagnose.assessment.verdict import SHOWN
from diagnose.prose.chance import figure, how_sure
from diagnose.prose.quantity import minutes
from diagnose.prose.text import clause, held, listed, lowered, sentence
from diagnose.report.document import Card, Row
from diagnose.report.text.shown import Shown

#: the card's lines with title and note, and the columns of a row behind its label
MOST_LINES, COLUMNS = 12, 68
#: lines that a sentence may take which only adds to its row
_ADDED_LINES = 2
#: a chance under which a remedy is not promised to work
_EVEN = 0.5
_SIDES = re.compile(r"\bB\b|\bA (or|and|to)\b|\b(of|in|the) A\b|\bA-")
SIDES = "A is the isocyanate (hard) side, B the polyol (soft) side."


class _Draft(Struct):
    """A row in the making: the sentences that stand, and what may be added, by rank (0 is added first):
    the first wording that fits.
    """

    label: str
    said: list[str]
    more: Sequence[tuple[int, tuple[str, ...]]] = ()
    ahead: bool = False  # what is added stands before the rest

    @property
    def lines(self) -> int:
        """Lines of the card that the row takes."""
        return _lines(" ".join(self.said))


def card_of(shown: Shown) -> Card:
    """Return the card of an assessment."""
    found = shown.assessment
    drafts = [
        _verdict(shown),
        _change(shown),
        _part(shown, found.save),
        _check(shown, found.checks),
        _again(shown),
    ]
    drafts = [draft for draft in drafts if draft.said]
    _filled(drafts)
    rows = tuple(Row(draft.label, (" ".join(draft.said),)) for draft in drafts)
    return Card(tuple(_danger(shown, danger.id) for danger in found.dangers), rows)


def sides_note(texts: Iterable[str]) -> str:
    """Return which side is A and which B, where one of *texts* names them."""
    return SIDES if any(_SIDES.search(text) for text in texts) else ""


def _filled(drafts: list[_Draft]) -> None:
    """Add what there is room for, rank by rank; a sentence that is too long gives way to the next."""
    room = MOST_LINES - 2 - sum(draft.lines for draft in drafts)  # title and note
    waiting = [(rank, place, wordings) for place, draft in enumerate(drafts) for rank, wordings in draft.more]
    for _, place, wordings in sorted(waiting, key=lambda entry: entry[:2]):
        draft = drafts[place]
        longer = {text: _lines(" ".join([*draft.said, text])) - draft.lines for text in wordings if text}
        fits = next((text for text, lines in longer.items() if lines <= min(room, _ADDED_LINES)), None)
        if fits is not None:
            draft.said.insert(0 if draft.ahead else len(draft.said), fits)
            room -= longer[fits]


def _lines(text: str) -> int:
    return len(textwrap.wrap(held(text), COLUMNS, break_on_hyphens=False))


def _danger(shown: Shown, danger: str) -> str:
    entry = shown.knowledge.dangers[danger]
    return f"{entry.title}: {entry.say}"


def _verdict(shown: Shown) -> _Draft:
    """The verdict, and what was measured out of bounds, unless the grams say so beside the change."""
    change = shown.assessment.change
    changed = set(change.causes) if change is not None else set()
    items = [item for item in shown.assessment.out_of_bounds if item.name != "ratio_error" or not _grams(shown)]
    outside = [shown.bound(item.name) for item in sorted(items, key=lambda item: not changed.intersection(item.causes))]
    more = [(1 if i == 0 else 6, (f"{'And' if i else 'Out of bounds:'} {bound}.",)) for i, bound in enumerate(outside)]
    said, last = _verdict_sentences(shown)
    return _Draft("It is", [said], [(0, (last,)), *more])


def headline(shown: Shown) -> str:
    """Return the verdict in words."""
    return " ".join(filter(None, _verdict_sentences(shown)))


def _verdict_sentences(shown: Shown) -> tuple[str, str]:
    """The verdict, and the third cause of one that is not settled."""
    verdict = shown.assessment.verdict
    names = [shown.title(cause) for cause in verdict.causes]
    if verdict.kind == "nothing_seen":
        said = (
            "Nothing is told as seen on the part, so there is nothing to explain yet. Say first what is wrong with it."
        )
    elif verdict.kind == "none_fits":
        none = "None" if shown.assessment.settled else "So far none"
        said = f"{none} of the causes known here fits well; something else had a part ({how_sure(verdict.chance)})."
    elif verdict.kind == "too_little":
        lead = f" The best lead is {names[0]} ({how_sure(verdict.chance)})." if names else ""
        said = f"Too little is told yet to point at one cause.{lead}"
    elif verdict.kind == "both":
        said = f"{names[0]} and {names[1]}, both together ({how_sure(verdict.chance)})."
    elif verdict.kind == "one":
        said = f"{shown.knowledge.causes[verdict.causes[0]].title} ({how_sure(verdict.chance)})."
    else:
        return _unsettled(shown)
    return said, ""


def _unsettled(shown: Shown) -> tuple[str, str]:
    chances = {suspect.id: suspect.probability for suspect in shown.assessment.causes}
    told = [f"{shown.title(cause)} ({figure(chances[cause])})" for cause in shown.assessment.verdict.causes]
    if len(told) == 1:
        return f"Not settled; first comes {told[0]}.", ""
    return f"Not settled: {listed(told[:2], 'or')}.", "".join(f"Or {more}." for more in told[2:])


def _change(shown: Shown) -> _Draft:
    change = shown.assessment.change
    if change is None:
        if shown.assessment.verdict.kind == "nothing_seen":
            return _Draft("Next pour", [])
        return _Draft("Next pour", ["Change nothing yet; find out first. If you must pour, weigh and time it all."])
    remedies = [shown.remedy(use) for use in change.remedies]
    said = [f"{remedy.title} ({minutes(remedy.minutes + remedy.wait_minutes)})." for remedy in remedies]
    more: list[tuple[int, tuple[str, ...]]] = [(0, (_grams(shown),)), (4, ("All else as it was.",))]
    return _Draft("Next pour", [" And: ".join(said)], more)


def _grams(shown: Shown) -> str:
    """The own grams against those needed, where the ratio speaks for what is changed."""
    change = shown.assessment.change
    causes = change.causes if change is not None else ()
    off = any("ratio_error" in suspect.names_for for suspect in shown.assessment.causes if suspect.id in causes)
    return shown.own_grams() if off else ""


def _part(shown: Shown, save: Save | None) -> _Draft:
    if save is None:
        return _Draft("This part", [])
    if save.verdict == "leave_alone":
        return _Draft("This part", ["Leave it alone, as told above. It is not to be cut, boxed, wrapped or squeezed."])
    if save.verdict == "no_fault":
        return _Draft("This part", ["No fault: this is how such a part behaves. Give it its time."])
    if save.verdict == "save":
        remedy = shown.remedy(save.remedies[0])
        how = "" if save.chance >= _EVEN else ", a gamble"
        said = f"Try first: {lowered(remedy.title)} ({minutes(save.minutes)}{how})."
        return _Draft("This part", [said], [(5, _shorter(remedy.verify))])
    if save.offered:
        remedy = shown.remedy(save.offered[0])
        more = f"If many hours are in it, try first: {lowered(remedy.title)} ({minutes(save.minutes)})."
        return _Draft("This part", ["Cast again."], [(1, (more,))])
    more = "Keep it, the cup and the flash as evidence."
    return _Draft("This part", ["Cast again; nothing known saves it."], [(7, (more,))])


def _check(shown: Shown, checks: tuple[NextCheck, ...]) -> _Draft:
    if not checks:
        settled = "Nothing more is worth its minutes." if shown.assessment.symptoms else ""
        return _Draft("Check first", [settled] if settled else [])
    title, how = shown.question(checks[0].questions[0])
    said = f"{title} ({minutes(max(1.0, checks[0].minutes))})"
    return _Draft("Check first", [said], [(3, _shorter(how))])


def _again(shown: Shown) -> _Draft:
    """What the outcome of the change will tell: between rivals which it was,
    else a good sign and whom to suspect after it.
    """
    found = shown.assessment
    if found.change is None:
        return _Draft("Think again", [])
    if found.change.parting is not None:
        parting = found.change.parting
        said = f"A good part says {shown.title(parting.good)}; the same fault again says {shown.title(parting.bad)}."
        return _Draft("Think again", [said])
    rival = next((s for s in found.causes if s.id not in found.change.causes and s.probability >= SHOWN), None)
    suspect = f"suspect {shown.title(rival.id)}" if rival is not None else "it was something else: tell the case anew"
    verify = shown.remedy(found.change.remedies[0]).verify
    more = [(2, tuple(f"Good sign: {lowered(text)}" for text in _shorter(verify)))]
    return _Draft("Think again", [f"If it comes again, {suspect}."], more, ahead=True)


def _shorter(text: str) -> tuple[str, ...]:
    """The wordings of a longer text that a card may take: its first sentence, or else the first clause of that."""
    whole = sentence(text)
    return (whole, clause(whole)) if whole else ()
