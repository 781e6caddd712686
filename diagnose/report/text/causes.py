"""The causes in order, with the mechanism of each and what speaks for and against it."""

from __future__ import annotations

from diagnose.assessment.accounts import ACCOUNTS
from diagnose.assessment.records import Evidence, Suspect
from diagnose.assessment.verdict import SHOWN
from diagnose.prose.chance import figure, how_sure, tens
from diagnose.prose.text import counted, first_sentence, listed, lowered
from diagnose.report.document import Block, Entry, Row
from diagnose.report.text.robustness import robustness_rows
from diagnose.report.text.shown import Shown

#: a cause from here on is shown with its answers, from the second on it is named; at most so many of each
FULL, MOST_FULL, MOST_NAMED = 0.15, 3, 6
#: answers shown for and against the first, second and third cause
_FOR, _AGAINST = (3, 2, 2), (2, 1, 1)
_ALL = 99


def causes_shown(suspects: tuple[Suspect, ...]) -> int:
    """Return how many causes are shown with their answers."""
    return max(sum(s.probability >= FULL for s in suspects[:MOST_FULL]), min(1, len(suspects)))


def causes(shown: Shown, full: bool) -> list[Block]:
    """Return the causes; *full* with all their answers and how firm the first place is."""
    found = shown.assessment
    if not found.symptoms:
        return []
    count = causes_shown(found.causes)
    blocks: list[Block] = [_suspect(shown, i, found.causes[i], full) for i in range(count)]
    rest = [s for s in found.causes[count:MOST_NAMED] if s.probability >= SHOWN]
    if rest:
        also = "; ".join(f"{shown.knowledge.causes[s.id].title} ({figure(s.probability)})" for s in rest)
        blocks.append(f"Also: {also}.")
    left = len(found.causes) - count - len(rest)
    if full and left:
        blocks.append(f"{counted(left, 'other cause')} left out, under 5 % each.")
    if found.unexplained >= FULL and found.verdict.kind != "none_fits":
        blocks.append(f"Something that is not on the list had a part: {how_sure(found.unexplained)}.")
    return [*blocks, _accounts(shown, full)]


def _accounts(shown: Shown, full: bool) -> str:
    """Which fault by what, where several are told; unless *full* only what no cause accounts for,
    as a second one may hide there.
    """
    accounts = shown.assessment.accounts
    certain = [a for a in accounts if a.probability >= ACCOUNTS]
    if len(accounts) < 2 or not certain:
        return ""
    open_ones = [a for a in accounts if a not in certain]
    left = "; ".join(
        f"{lowered(shown.knowledge.label(a.symptom))} (likeliest {shown.title(a.cause)}, {figure(a.probability)})"
        for a in open_ones
    )
    told = [f"No cause named accounts for: {left}. A second cause may hide there."] if left else []
    if full:
        by = {
            a.cause: [lowered(shown.knowledge.label(b.symptom)) for b in certain if b.cause == a.cause] for a in certain
        }
        told = [
            "; ".join(f"{shown.title(cause)} accounts for {listed(labels)}" for cause, labels in by.items()) + ".",
            *told,
        ]
    return " ".join(told)


def _suspect(shown: Shown, place: int, suspect: Suspect, full: bool) -> Entry:
    cause = shown.knowledge.causes[suspect.id]
    most_for, most_against = (_ALL, _ALL) if full else (_FOR[place], _AGAINST[place])
    rows = [
        Row("", (cause.mechanism if full or place == 0 else first_sentence(cause.mechanism, 170),)),
        _speaking(shown, "For", suspect.speaks_for, most_for, full or place == 0),
        _speaking(shown, "Against", [e for e in suspect.against if full or not e.indirect], most_against, full),
    ]
    if full and place == 0:
        rows += robustness_rows(shown)
    head = f"{place + 1}. {cause.title}"
    return Entry(head, how_sure(suspect.probability), tuple(r for r in rows if r.lines), tens(suspect.probability))


def _speaking(
    shown: Shown, label: str, evidence: tuple[Evidence, ...] | list[Evidence], most: int, reasons: bool
) -> Row:
    lines = [shown.evidence(e) + _because(label, e, reasons) for e in evidence[:most]]
    return Row(label, tuple(lines))


def _because(label: str, evidence: Evidence, reasons: bool) -> str:
    """The mechanism of an answer that bears on the cause itself; of one that bears on a rival that it does."""
    if evidence.indirect:
        return " - it speaks against a rival" if label == "For" else " - another cause explains it better"
    return f" - {evidence.mechanism}" if reasons and evidence.mechanism and label == "For" else ""
