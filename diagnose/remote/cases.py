"""Cases as the desk handles them: as the plain data of a case file, read leniently, joined round by round.

A round is added on the data of the file, not on the record, so that what is joined is read and checked like any other file.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from diagnose import casebook
from diagnose.casebook import Case, case_text
from diagnose.knowledge import Knowledge
from diagnose.prose.text import clean

LISTS = ("symptoms", "symptoms_absent", "symptoms_unknown")


def plain_case(case: Case, knowledge: Knowledge) -> dict[str, Any]:
    """Return *case* as the data of its file: texts, lists and tables of texts."""
    import yaml

    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    found: dict[str, Any] = {"answers": {}, "about": {}, **yaml.load(case_text(case, knowledge), Loader=loader)}
    return {**found, "case": 1}


def usable_case(plain: Mapping[str, Any], file: str, knowledge: Knowledge, faults: list[str]) -> Case:
    """Read *plain* as a case; answers that can't be used are dropped, each with a line in *faults*."""
    whole = {name: told for name, told in {**plain, "case": 1}.items() if told or name == "answers"}
    case, found = casebook.usable_case(json.dumps(whole).encode(), file, knowledge)
    faults.extend(f"{clean(fault.message)}, dropped" for fault in found)
    return case


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
