"""The answer on one card: what it is and how sure, what to do on the next pour, this part, the one check, when to think again.

At most twelve lines of eighty columns, dangers above it; it is what a caster reads and what goes into a mail.
"""

from __future__ import annotations

import re

from diagnose.assessment.records import NextCheck, Save
from diagnose.assessment.verdict import SHOWN
from diagnose.prose.chance import figure, how_sure
from diagnose.prose.quantity import minutes
from diagnose.prose.text import first_sentence, listed, lowered, shortened
from diagnose.report.document import Card, Row
from diagnose.report.text.shown import Shown

#: longest text of a row: two lines at eighty columns behind the label
_ROW = 128
#: a chance under which a remedy is not promised to work
_EVEN = 0.5
_SIDES = re.compile(r"\bB\b|\bA (or|and|to)\b|\b(of|in|the) A\b|\bA-")
SIDES = "A is the isocyanate (hard) side, B the polyol (soft) side."


def card_of(shown: Shown) -> Card:
    """Return the card of an assessment."""
    found = shown.assessment
    rows = [
        Row("It is", tuple(filter(None, [_verdict(shown), _measured(shown)]))),
        Row("Next pour", _lines(_change(shown))),
        Row("This part", _lines(_part(shown, found.save))),
        Row("Check first", _lines(_check(shown, found.checks))),
        Row("Think again", _lines(_again(shown))),
    ]
    told = " ".join(line for row in rows for line in row.lines)
    note = SIDES if _SIDES.search(told) else ""
    dangers = tuple(_danger(shown, danger.id) for danger in found.dangers)
    return Card(dangers, tuple(row for row in rows if row.lines), note)


def _lines(text: str) -> tuple[str, ...]:
    return (shortened(text, _ROW),) if text else ()


def _danger(shown: Shown, danger: str) -> str:
    entry = shown.knowledge.dangers[danger]
    return f"{entry.title}: {entry.say}"


def headline(shown: Shown) -> str:
    """Return the verdict in one sentence."""
    found = shown.assessment
    verdict, names = found.verdict, [shown.title(cause) for cause in found.verdict.causes]
    if verdict.kind == "nothing_seen":
        return (
            "Nothing is told as seen on the part, so there is nothing to explain yet. Say first what is wrong with it."
        )
    if verdict.kind == "none_fits":
        return f"None of the causes known here fits well; something else had a part ({how_sure(verdict.chance)})."
    if verdict.kind == "too_little":
        lead = f" The best lead is {names[0]} ({how_sure(verdict.chance)})." if names else ""
        return f"Too little is told yet to point at one cause.{lead}"
    if verdict.kind == "both":
        return f"{names[0]} and {names[1]}, both together ({how_sure(verdict.chance)})."
    if verdict.kind == "one":
        return f"{names[0]} ({how_sure(verdict.chance)})."
    chances = {suspect.id: suspect.probability for suspect in found.causes}
    told = [f"{shown.title(cause)} ({figure(chances[cause])})" for cause in verdict.causes]
    return f"Not settled: {listed(told, 'or')}." if len(told) > 1 else f"Not settled; first comes {told[0]}."


def _verdict(shown: Shown) -> str:
    return headline(shown)


def _measured(shown: Shown) -> str:
    outside = [shown.bound(item.name) for item in shown.assessment.out_of_bounds]
    return shortened(f"Out of bounds: {'; '.join(outside)}.", _ROW) if outside else ""


def _change(shown: Shown) -> str:
    change = shown.assessment.change
    if change is None:
        kind = shown.assessment.verdict.kind
        return (
            ""
            if kind == "nothing_seen"
            else "Change nothing yet; find out first. If you must pour, weigh and time it all."
        )
    remedies = [shown.remedy(use) for use in change.remedies]
    said = " And: ".join(f"{remedy.title} ({minutes(remedy.minutes + remedy.wait_minutes)})." for remedy in remedies)
    grams = shown.own_grams() if any(item.name == "ratio_error" for item in shown.assessment.out_of_bounds) else ""
    return f"{said} {grams or 'All else as it was.'}"


def _part(shown: Shown, save: Save | None) -> str:
    if save is None:
        return ""
    if save.verdict == "leave_alone":
        return "Leave it alone, as told above. It is not to be cut, boxed, wrapped or squeezed."
    if save.verdict == "no_fault":
        return "No fault: this is how such a part behaves. Give it its time."
    if save.verdict == "save":
        remedy = shown.remedy(save.remedies[0])
        how = "" if save.chance >= _EVEN else ", a gamble"
        return f"Try first: {lowered(remedy.title)} ({minutes(save.minutes)}{how}). {remedy.verify}"
    if save.offered:
        remedy = shown.remedy(save.offered[0])
        return f"Cast again. With many hours in it, {lowered(remedy.title)} ({minutes(save.minutes)}) may save it."
    return "Cast again; nothing known saves it. Keep it, the cup and the flash as evidence."


def _check(shown: Shown, checks: tuple[NextCheck, ...]) -> str:
    if not checks:
        return "Nothing more is worth its minutes." if shown.assessment.symptoms else ""
    check = checks[0]
    title, how = shown.question(check.questions[0])
    return f"{title} ({minutes(max(1.0, check.minutes))}) {first_sentence(how, 90)}"


def _again(shown: Shown) -> str:
    found = shown.assessment
    if found.change is None:
        return ""
    if found.change.parting is not None:
        parting = found.change.parting
        return f"A good part says {shown.title(parting.good)}; the same fault again says {shown.title(parting.bad)}."
    verify = shown.remedy(found.change.remedies[0]).verify
    sign = f"Good sign: {lowered(first_sentence(verify, 76))}" if verify else ""
    rival = next((s for s in found.causes if s.id not in found.change.causes and s.probability >= SHOWN), None)
    behind = (
        f"If it comes again, suspect {lowered(shown.knowledge.causes[rival.id].title)}." if rival is not None else ""
    )
    return " ".join(filter(None, [sign, behind]))
