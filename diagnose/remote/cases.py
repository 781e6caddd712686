"""Cases as the desk handles them: as the plain data of a case file, read leniently, joined round by round.

A round is added on the data of the file, not on the record, so that what is joined is read and checked like any other file.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from diagnose.casebook import Case, case_from_bytes, case_text
from diagnose.errors import FileFaults, shown
from diagnose.knowledge import Knowledge
from diagnose.prose.text import clean
from diagnose.reasoning.answers import Answer

LISTS = ("symptoms", "symptoms_absent", "symptoms_unknown")
_ITEM = re.compile(r"'([^']*)'")


def plain_case(case: Case, knowledge: Knowledge) -> dict[str, Any]:
    """Return *case* as the data of its file: texts, lists and tables of texts."""
    import yaml

    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    found: dict[str, Any] = {"answers": {}, "about": {}, **yaml.load(case_text(case, knowledge), Loader=loader)}
    return {**found, "case": 1}


def usable_case(plain: Mapping[str, Any], file: str, knowledge: Knowledge, faults: list[str]) -> Case:
    """Read *plain* as a case; answers that can't be used are dropped, each with a line in *faults*."""
    answers = _known(plain.get("answers") or {}, knowledge, faults)
    while True:
        whole = {**plain, "case": 1, "answers": answers}
        try:
            return case_from_bytes(
                json.dumps({k: v for k, v in whole.items() if v or k == "answers"}).encode(), file, knowledge
            )
        except FileFaults as refused:
            fewer = _without(answers, refused, faults)
            if fewer == answers:  # none of the faults names an answer: nothing can be kept of them
                faults.append(f"{clean(refused.headline())}, so no answer was taken")
                fewer = {}
                if not answers:
                    return Case()
            answers = fewer


def _known(answers: Mapping[str, Any], knowledge: Knowledge, faults: list[str]) -> dict[str, Any]:
    """*answers* to questions that this knowledge asks, lists with the symptoms that it has."""
    found: dict[str, Any] = {}
    for name, told in answers.items():
        if name in LISTS and isinstance(told, list):
            faults += [
                f"{name}: no symptom '{_short(one)}' here, dropped" for one in told if one not in knowledge.symptoms
            ]
            kept = [one for one in told if one in knowledge.symptoms]
            if kept:
                found[name] = kept
        elif name in LISTS or knowledge.question_kind(name) is not None:
            found[name] = told
        else:
            faults.append(f"{_short(name)}: no such question here, dropped")
    return found


def _short(text: str) -> str:
    return shown(clean(str(text)[:400]), 40)


def _without(answers: Mapping[str, Any], refused: FileFaults, faults: list[str]) -> dict[str, Any]:
    """*answers* without what *refused* names: an answer, or one item of a list of symptoms."""
    kept = dict(answers)
    for fault in refused.faults:
        name = fault.message.split(":", 1)[0].split(".", 1)[0]
        if name not in kept:
            continue
        item = _ITEM.search(fault.message) if name in LISTS and isinstance(kept[name], list) else None
        items = [one for one in kept[name] if one != item[1]] if item else []
        if items and len(items) < len(kept[name]):
            kept[name] = items
        else:
            del kept[name]
        faults.append(f"{clean(fault.message)}, dropped")
    return kept


def joined(before: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, Any]:
    """Return the data of *before* with what *now* adds; the newer answer to a question counts, remarks follow one another."""
    answers = {name: told for name, told in before["answers"].items() if name not in LISTS}
    answers |= {name: told for name, told in now["answers"].items() if name not in LISTS}
    named = {one for key in LISTS for one in now["answers"].get(key, ())}
    for key in LISTS:
        old = [one for one in before["answers"].get(key, ()) if one not in named and one not in now["answers"]]
        all_of = [*old, *now["answers"].get(key, ())]
        if all_of:
            answers[key] = all_of
    about = {**before.get("about", {}), **now.get("about", {})}
    remarks = dict.fromkeys(
        str(one["about"]["remarks"]) for one in (before, now) if one.get("about", {}).get("remarks")
    )
    if remarks:
        about["remarks"] = " / ".join(remarks)
    return {**before, "title": before.get("title") or now.get("title", ""), "answers": answers, "about": about}


def with_client(case: Case, client: str, knowledge: Knowledge) -> Case:
    """Return *case* as one of *client*."""
    plain = plain_case(case, knowledge)
    return usable_case({**plain, "about": {**plain["about"], "client": client}}, "the case", knowledge, [])


def about_of(case: Case) -> Mapping[str, Any]:
    """Return what is told about the part beside its answers."""
    return case.about.told()


def values_of(case: Case) -> Mapping[str, Answer]:
    """Return the answers by question, in the order told."""
    return case.values


def written_of(case: Case) -> Mapping[str, str]:
    """Return the texts of the answers as they stood, by question."""
    return case.written
