"""What to do, in words: what to check, this part, the change for the next pour, and the rest of the plan."""

from __future__ import annotations

from diagnose.assessment.records import NextCheck, RemedyUse
from diagnose.prose.chance import figure
from diagnose.prose.quantity import minutes
from diagnose.prose.text import listed, lowered, quoted
from diagnose.report.document import Block, Entry, Row
from diagnose.report.text.shown import Shown


def checks(shown: Shown) -> list[Block]:
    """Return the checks worth doing next, with their minutes."""
    found = shown.assessment
    if not found.symptoms:
        return []
    if not found.checks:
        return ["No further check is worth its minutes: what could still be asked would hardly change what to do."]
    return [_check(shown, check) for check in found.checks]


def _check(shown: Shown, check: NextCheck) -> Entry:
    aside = minutes(max(1.0, check.minutes)) + ("" if check.in_hand else ", needs a fresh pour or a test piece")
    asked = [shown.question(name) for name in check.questions]
    moves = f"Bears most on {listed([shown.title(cause) for cause in check.parts])}." if check.parts else ""
    if not check.serves and len(asked) == 1:
        head, how = asked[0]
        return Entry(head, aside, (Row("", (" ".join(filter(None, (how, moves))),)),))
    labels = listed([shown.knowledge.label(name) for name in check.questions])
    lines = (*(" ".join(filter(None, pair)) for pair in asked), moves)
    head = f"To work out {quoted(shown.knowledge.label(check.serves))}: {labels}"
    return Entry(head, aside, (Row("", tuple(filter(None, lines))),))


def save(shown: Shown) -> list[Block]:
    """Return what to do with the part in hand."""
    found = shown.assessment.save
    if found is None:
        return []
    told = {
        "save": "Worth trying before anything is thrown away:",
        "cast_again": "Cast again." + (" With many hours in it, this is worth trying:" if found.offered else ""),
        "leave_alone": "Leave it alone. See the danger above; nothing is done to it before it is cold.",
        "no_fault": "This is no fault. Give it its time.",
    }[found.verdict]
    blocks: list[Block] = [told, *(action(shown, use) for use in (*found.remedies, *found.offered))]
    unsaved = [shown.title(cause) for cause in found.unsaved]
    if unsaved and found.verdict != "leave_alone":
        blocks.append(f"Nothing known saves the part if it was {listed(unsaved, 'or')}. Keep it as evidence.")
    return blocks


def change(shown: Shown) -> list[Block]:
    """Return the change for the next pour, why one, and what its outcome will tell."""
    found = shown.assessment
    if not found.symptoms:
        return []
    if found.change is None:
        return [
            "Change nothing yet: no cause stands out enough. If you must pour, pour it the same way, weigh and time "
            "everything, and write it down.",
            _lost() if found.verdict.kind == "none_fits" else "",
        ]
    blocks: list[Block] = [action(shown, use) for use in found.change.remedies]
    why = (
        "One change, all else as it was, or nobody will know which change did it. Write down what you changed."
        if len(found.change.remedies) == 1
        else "Both are plain to see, so both are put right at once; all else as it was. Write down what you changed."
    )
    parting = found.change.parting
    told = ""
    if parting is not None:
        told = (
            f"If the part comes good, it was {shown.title(parting.good)} ({figure(parting.good_chance)}); if the "
            f"same fault comes again, it was "
            f"{shown.title(parting.bad)} ({figure(parting.bad_chance)}). That holds if only one of the two had a part."
        )
    elif found.change.leaves:
        told = f"It leaves {shown.title(found.change.leaves)} alone, which is for the pour after."
    return [*blocks, " ".join(filter(None, [why, told, shown.own_grams()]))]


def _lost() -> str:
    return (
        "Write down what was done that nobody thinks matters: what was washed, moved, swapped, stored or new that "
        "week, who helped, and the "
        "weather. Keep the part, the cup, the plugs and the flash, and keep this case in the log as an unknown."
    )


def plan(shown: Shown) -> list[Block]:
    """Return the rest of the plan for somebody who can't afford another bad part."""
    found = shown.assessment
    if found.plan is None or found.change is None:
        return []
    changed = {use.remedy for use in found.change.remedies}
    rest = [use for use in found.plan.remedies if use.remedy not in changed]
    if not rest:
        return ["Nothing beside the change is worth its minutes."]
    return ["Do these as well; you won't learn which did it.", *(_step(shown, use) for use in rest)]


def _step(shown: Shown, use: RemedyUse) -> Entry:
    remedy = shown.remedy(use)
    mended = listed([shown.title(cause) for cause, _ in use.mends[:2]])
    rows = (Row("", (remedy.do,)), Row("Caution", (remedy.caution,) if remedy.caution else (), "caution"))
    aside = f"{shown.spent(remedy)}{_when(shown, use)}; for {mended}" if mended else shown.spent(remedy)
    return Entry(remedy.title, aside, tuple(row for row in rows if row.lines))


def _when(shown: Shown, use: RemedyUse) -> str:
    return ", between pours" if shown.remedy(use).when == "between_pours" else ""


def action(shown: Shown, use: RemedyUse) -> Entry:
    """Return a remedy in full: what to do, how surely it works, how to tell, and its caution."""
    remedy, works = shown.remedy(use), shown.works(use)
    rows = (
        Row("", (remedy.do,)),
        Row("How surely", (works,) if works else ()),
        Row("Worked if", (remedy.verify,) if remedy.verify else ()),
        Row("Caution", (remedy.caution,) if remedy.caution else (), "caution"),
    )
    return Entry(remedy.title, shown.spent(remedy) + _when(shown, use), tuple(row for row in rows if row.lines))


def spoken(use: RemedyUse, shown: Shown) -> str:
    """Return a remedy in half a sentence."""
    remedy = shown.remedy(use)
    return f"{lowered(remedy.title)} ({shown.spent(remedy)})"
