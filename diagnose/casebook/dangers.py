"""What must be said before everything else: the dangers that the answers of a case point to, and which answers say so.

They are worked out without any probability and before the ranking: a part that may smolder is told about even where
another cause leads. What is not known counts as dangerous only where the knowledge says so (a lump of unknown age
counts as fresh). The same answers say which remedies must not be offered: under a danger, on a part too old for them,
where their own text forbids it, or where the damage that they mend is not there.
"""

from __future__ import annotations

from collections.abc import Collection

from diagnose.knowledge import Danger, Knowledge, Lumps, Remedy
from diagnose.reasoning.answers import SEEN, Answers

#: what a lump weighs, the first that is told: the part, the mix that went in, what was mixed
MASS = (("part_mass",), ("charge_mass",), ("a_mass", "b_mass"))
SECTION, AGE, WARMTH = "section_thickness", "hours_since_demold", "core_warmth"


def dangers_of(knowledge: Knowledge, answers: Answers) -> list[str]:
    """Return the ids of the dangers that stand, in the order of the knowledge.

    *answers*: those given and what follows from them (`derive`).
    """
    return list(danger_evidence(knowledge, answers))


def danger_evidence(knowledge: Knowledge, answers: Answers) -> dict[str, tuple[str, ...]]:
    """Return the dangers that stand, each with the questions (or derived facts) whose answers say so."""
    found = {name: _evidence(danger, answers) for name, danger in knowledge.dangers.items()}
    return {name: evidence for name, evidence in found.items() if evidence}


def barred(remedy: Remedy, answers: Answers, dangers: Collection[str]) -> tuple[str, ...]:
    """Return what bars *remedy*: dangers, and questions whose answers do; empty where it may be offered.

    *dangers* are those that stand. One for this part is barred by `mends_damage` where none of its damage is seen. An
    unknown age bars nothing.
    """
    found = [danger for danger in remedy.never_with if danger in dangers]
    found += [question for question, values in remedy.not_when.items() if _said(answers, question, values)]
    age = _number(answers, AGE)
    if remedy.until is not None and age is not None and age * 60.0 > remedy.until:
        found.append(AGE)
    if remedy.when == "this_part" and not any(_said(answers, symptom, (SEEN,)) for symptom in remedy.mends_damage):
        found.append("mends_damage")
    return tuple(found)


def _evidence(danger: Danger, answers: Answers) -> tuple[str, ...]:
    seen = [name for name in danger.symptoms if _said(answers, name, (SEEN,))]
    seen += [question for question, values in danger.answers.items() if _said(answers, question, values)]
    for question, most in danger.over.items():
        value = _number(answers, question)
        if value is not None and value > most:
            seen.append(question)
    if danger.lumps is not None:
        seen += _lump(danger.lumps, answers)
    return tuple(dict.fromkeys(seen))


def _said(answers: Answers, question: str, values: tuple[str, ...]) -> bool:
    value = answers[question].value if question in answers else None
    told = value if isinstance(value, tuple) else (value,)
    return any(one in values for one in told)


def _number(answers: Answers, question: str) -> float | None:
    value = answers[question].value if question in answers else None
    return value if isinstance(value, float) else None


def _lump(lumps: Lumps, answers: Answers) -> list[str]:
    """What tells of a fresh lump that is not known to be cool."""
    age, warmth = _number(answers, AGE), _number(answers, WARMTH)
    if age is not None and age >= lumps.age_under:
        return []
    if warmth is not None and warmth < lumps.cool_under:
        return []
    big = list(_heavy(lumps.mass, answers))
    thick = _number(answers, SECTION)
    if thick is not None and thick > lumps.section:
        big.append(SECTION)
    return [*big, AGE] if big and age is not None else big


def _heavy(most: float, answers: Answers) -> tuple[str, ...]:
    for names in MASS:
        values = [_number(answers, name) for name in names]
        told = [value for value in values if value is not None]
        if len(told) == len(names):
            return names if sum(told) > most else ()
    return ()
