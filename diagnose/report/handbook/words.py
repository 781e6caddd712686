"""Numbers of the knowledge back in its words: how common, how often, how strongly, how long.

The tables of `words.yaml` are read backwards, to the nearest word by ratio, so that the book says what is in use after
the reader has scaled it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from diagnose.knowledge import Evidence, Fact, Knowledge
from diagnose.prose.quantity import quantity
from diagnose.prose.text import lowered

#: words of a ratio as a verb between an answer and a cause
_SPEAKS = {
    "decisive for": "all but proves it",
    "strong for": "speaks strongly for it",
    "for": "speaks for it",
    "slightly for": "leans toward it",
    "neutral": "says nothing of it",
    "slightly against": "leans away from it",
    "against": "speaks against it",
    "strong against": "speaks strongly against it",
    "rules out": "all but rules it out",
}
_BUILDS = {"bare_foam": "bare foam", "skin_and_foam": "foam behind a rubber skin"}
_WHEN = {"next_pour": "on the next pour", "this_part": "on this part", "between_pours": "between pours"}
_MATERIAL = {
    "none": "nothing used up",
    "little": "a little material",
    "a pour": "the foam of a pour",
    "a mold": "a new mold",
}
_STAGES = {
    "material": "The cans",
    "mixing": "Weighing and mixing",
    "mold_design": "The mold's shape",
    "mold_preparation": "Getting the mold ready",
    "pouring": "The pour",
    "cure": "Cure and demold",
    "skin_coat": "The rubber skin",
    "painting": "Paint",
    "environment": "The room",
}
_ANSWERABLE = {
    "nearly always": "Nearly everybody can say.",
    "usually": "Most callers can say.",
    "half": "Half of all callers can say.",
    "sometimes": "Few callers can say.",
    "seldom": "Hardly anybody can say.",
}


def nearest_word(table: Mapping[str, float], value: float) -> str:
    """Return the word of *table* whose number is nearest to *value* by ratio; of two equally near the first."""
    if value <= 0.0:
        return min(table, key=lambda word: table[word])
    return min(table, key=lambda word: abs(round(math.log(table[word] / value), 10)))


def speaks(knowledge: Knowledge, ratio: float) -> str:
    """Return how an answer of likelihood ratio *ratio* speaks of a cause: `speaks strongly for it`."""
    word = nearest_word(knowledge.words["ratio"], ratio)
    return _SPEAKS.get(word, word)


def says_nothing(knowledge: Knowledge, ratio: float) -> bool:
    """Whether an answer of *ratio* is nearest to saying nothing."""
    return nearest_word(knowledge.words["ratio"], ratio) == "neutral"


def how_common(knowledge: Knowledge, base: float) -> str:
    """Return how common a cause of weight *base* is in bad parts."""
    return nearest_word(knowledge.words["share"], base)


def answerable(knowledge: Knowledge, chance: float) -> str:
    """Return who can answer, as a sentence; nothing for a fact that is worked out."""
    word = nearest_word(knowledge.words["answerable"], chance)
    return _ANSWERABLE.get(word, word) if chance > 0.0 else ""


def by_itself(knowledge: Knowledge, background: float) -> str:
    """Return how often an effect shows with none of the causes behind it, as words behind a title."""
    rare = nearest_word(knowledge.words["background"], background)
    return {"ordinary": "now and then shows by itself", "unusual": "hardly shows by itself"}.get(
        rare, "never shows by itself to speak of"
    )


def stage(name: str) -> str:
    """Return the stage of the work in which a cause starts."""
    return _STAGES.get(name, name.replace("_", " ").capitalize())


def stage_rank(name: str) -> int:
    """Return the place of a stage in the run of a job; an unknown one comes last."""
    return list(_STAGES).index(name) if name in _STAGES else len(_STAGES)


def when(name: str) -> str:
    """Return when a remedy is done."""
    return _WHEN.get(name, name.replace("_", " "))


def material(word: str) -> str:
    """Return what a remedy uses up."""
    return _MATERIAL.get(word, word)


def only_on(builds: tuple[str, ...], painted: bool | None) -> str:
    """Return on which parts an entry makes sense, or nothing where it does on all."""
    paint = {True: "painted", False: "unpainted", None: ""}[painted]
    named = " or ".join(_BUILDS.get(build, build.replace("_", " ")) for build in builds)
    if not (paint or named):
        return ""
    return f"Only on {paint + ' ' if paint else ''}parts{f' of {named}' if named else ''}."


def curve_words(knowledge: Knowledge, fact: Fact, evidence: Evidence) -> str:
    """Return a curve as a line: `10 °C speaks strongly for it;
    25 °C speaks strongly against it`, like values run together.
    """
    runs: list[tuple[str, list[str]]] = []
    for value, ratio in evidence.curve:
        said, shown = speaks(knowledge, ratio), quantity(value, fact.unit)
        if runs and runs[-1][0] == said:
            runs[-1][1].append(shown)
        else:
            runs.append((said, [shown]))
    return "; ".join(f"{_span(values)} {said}" for said, values in runs)


def _span(values: list[str]) -> str:
    return values[0] if len(values) == 1 else f"{values[0]} to {values[-1]}"


def answer_title(fact: Fact, answer: str) -> str:
    """Return an answer to a fact in words."""
    choice = fact.choices.get(answer)
    return lowered(choice.title) if choice is not None and choice.title else answer.replace("_", " ")
