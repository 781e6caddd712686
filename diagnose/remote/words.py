"""What the desk shows the support person: what a round brought, and which cases wait."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.knowledge import Knowledge
from diagnose.prose.chance import figure, how_sure
from diagnose.prose.text import counted, quoted, shortened
from diagnose.remote.desk import Move, Taken, Waiting

#: causes that are named
MOST_CAUSES = 3


def taken_lines(taken: Taken, knowledge: Knowledge, client: str, warned: Sequence[str] = ()) -> list[str]:
    """Return what a round brought: dangers first, the ranking, what it moved, what was dropped, whether another round pays."""
    found = taken.assessment
    lines = [f"{client}, case {taken.id}, round {taken.round}: {shortened(taken.case.title) or 'without a title'}"]
    for name in dict.fromkeys([*(danger.id for danger in found.dangers), *warned]):
        danger = knowledge.dangers[name]
        lines += [f"!! {danger.title}: {danger.say}"]
    seen = [knowledge.symptoms[name].title for name in found.symptoms]
    lines.append(
        f"Seen: {'; '.join(seen)}." if seen else "No fault is told that is known here. Read the remarks, then call."
    )
    remarks = taken.case.about.remarks
    lines += [f"They say: {shortened(remarks, 600)}"] if remarks else []
    for cause in found.causes[:MOST_CAUSES] if seen else ():
        lines.append(f"  {knowledge.causes[cause.id].title}: {how_sure(cause.probability)}")
    lines += [_move(move, knowledge) for move in taken.moves]
    if taken.photos:
        lines.append(f"{counted(taken.photos, 'photo')} kept.")
    lines += [f"Dropped: {fault}" for fault in taken.faults]
    return [*lines, *_next(taken, knowledge, client)]


def _move(move: Move, knowledge: Knowledge) -> str:
    way = "rose" if move.now > move.before else "fell"
    return f"  this round: {quoted(knowledge.label(move.cause))} {way} from {figure(move.before)} to {figure(move.now)}"


def _next(taken: Taken, knowledge: Knowledge, client: str) -> list[str]:
    reply = f"diagnose client reply {taken.id}"
    if not taken.assessment.symptoms:
        page = f"diagnose client page --client {_shell(client)} --case {taken.id} -o page.html"
        return [f"Call them, or send a first page under this id: {page}"]
    if not taken.ask:
        return [f"Another round would not pay. Now: {reply}"]
    labels = "; ".join(knowledge.label(name) for name in taken.ask)
    page = f"diagnose client page --client {_shell(client)} --case {taken.id} -o page.html"
    return [f"Another round pays ({labels}): {page}", f"Or answer as it stands: {reply}"]


def _shell(text: str) -> str:
    import shlex

    return shlex.quote(text)


def waiting_lines(found: Sequence[Waiting], knowledge: Knowledge) -> list[str]:
    """Return the open cases, a heading for each client."""
    lines: list[str] = []
    client = None
    for one in found:
        if one.client != client:
            client = one.client
            lines.append(client)
        days = "no day known" if one.days is None else "today" if one.days == 0 else counted(one.days, "day")
        first = f", first {quoted(knowledge.label(one.first))}" if one.first else ""
        lines.append(
            f"  {one.id}  {days}, {counted(one.rounds, 'round')}: {shortened(one.title) or 'without a title'}{first}"
        )
    return lines or ["No client is waiting."]
