"""Hears which symptoms a caller's words may mean.

A caller says "the ears came out like thumbs", "its stikcy" or "no skin on it"; the knowledge holds many such phrases
for each symptom. Both are reduced to ideas (`ideas.py`), and each symptom is scored by how telling the ideas are that
it shares with the text, how well one whole phrase is covered, and whether paint or a rubber skin is spoken of. Every
clause is also scored by itself, so that two complaints in one breath both come out on top.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import NamedTuple

from msgspec import Struct

from diagnose.hearing.ideas import Clauses, Ideas, by_first_letter
from diagnose.knowledge import Knowledge, Symptom, load_callers
from diagnose.knowledge.callers import Callers, Speech

_PHRASE = 1.0  # weight of the best covered phrase beside the single ideas
_PAIR = 0.5  # weight of two ideas side by side, beside each of them
_CLAUSE = 0.9  # weight of the best clause beside the whole text
_CLEAR = 0.5  # share of the best score at which a clause counts in full
_HELPED = 0.5  # how often an idea of the help text counts as told
_SUPPORT = 0.75  # how much of a weak idea's weight counts
_DENIED = 1.0  # how much of an idea's weight "not" takes away
_LEAST = 1.5  # score below which nothing was heard
_LEAST_ANCHORED = 0.7  # the same where foam, mold, skin or paint is named
_UNKNOWN = 2.5  # weight of a word that no symptom knows, where none of those is named
_FAIR = 0.28  # share of the text that one symptom must be behind there
_FAIR_MENDED = 0.5  # the same if the spelling was mended
_SHARE = 0.3  # of the best score, below which a symptom is not worth naming


class Phrase(NamedTuple):
    """One thing that callers say: the number of its symptom, its ideas, and what these weigh together."""

    number: int
    ideas: list[str]
    weight: float = 0.0


class Telling(NamedTuple):
    """How telling an idea is, and the numbers of the symptoms that it speaks for, each with its part of that."""

    weight: float
    links: list[tuple[int, float]]


class Index(Struct, frozen=True):
    """Symptoms by what callers say of them: *postings* are the places in *phrases* by idea,
    *known* all words by first letter.
    """

    ideas: Ideas
    speech: Mapping[str, Speech]
    ids: list[str]
    families: list[str]
    phrases: list[Phrase]
    postings: dict[str, list[int]]
    telling: dict[str, Telling]
    known: dict[str, list[str]]


_INDEXES: dict[str, Index] = {}


def index_of(knowledge: Knowledge) -> Index:
    """Return the index of *knowledge*, made when it is first asked for. Raises FileFaults."""
    if knowledge.cache_key not in _INDEXES:
        _INDEXES[knowledge.cache_key] = build_index(knowledge.symptoms.values(), load_callers(knowledge.folder))
    return _INDEXES[knowledge.cache_key]


def build_index(symptoms: Iterable[Symptom], callers: Callers) -> Index:
    """Index *symptoms* by what callers say of them, and by their titles and help; their order does not matter."""
    ideas = Ideas(callers.dialect)
    ordered = sorted(symptoms, key=lambda symptom: symptom.id)
    phrases: list[Phrase] = []
    helped: dict[str, list[int]] = {}
    words = set(ideas.same)
    for number, symptom in enumerate(ordered):
        for idea in dict.fromkeys(_flat(ideas.clauses(ideas.words(symptom.help)))):
            helped.setdefault(idea, []).append(number)
        for phrase in (symptom.title, *callers.phrases.get(symptom.id, ())):
            spoken = ideas.words(phrase)
            words.update(spoken)
            found = _flat(ideas.clauses(spoken))
            if len(found) > 1 or (found and found[0] not in ideas.weak):
                phrases.append(Phrase(number, found))
    postings: dict[str, list[int]] = {}
    for place, phrase_told in enumerate(phrases):
        for idea in dict.fromkeys(phrase_told.ideas):
            postings.setdefault(idea, []).append(place)
    telling = _weigh(phrases, postings, helped, len(ordered))
    weighed = [p._replace(weight=round(sum(telling[i].weight for i in dict.fromkeys(p.ideas)), 6)) for p in phrases]
    ids, families = [symptom.id for symptom in ordered], [symptom.family for symptom in ordered]
    return Index(ideas, callers.dialect.families, ids, families, weighed, postings, telling, by_first_letter(words))


def hear(index: Index, text: str, limit: int = 8) -> list[str]:
    """Name the symptoms that *text* may mean, best first, at most *limit*; none when nothing fits."""
    ideas = index.ideas
    words = ideas.words(text)
    clauses = ideas.clauses([ideas.mend(word, index.known) for word in words])
    everything = _flat(clauses)
    if not _is_telling(index, everything, mended=clauses != ideas.clauses(words)):
        return []
    whole = _score(index, everything, everything)
    if max(whole, default=0.0) < (_LEAST_ANCHORED if ideas.anchors.intersection(everything) else _LEAST):
        return []
    parts = [_score(index, clause, everything) for clause in clauses] if len(clauses) > 1 else [whole]
    total = _with_clauses(whole, parts)
    best = max(total)
    order = sorted(
        (round(-score, 6), index.ids[number]) for number, score in enumerate(total) if score >= _SHARE * best
    )
    return [symptom for _, symptom in order[:limit]]


def _flat(clauses: Clauses) -> list[str]:
    return [idea for clause in clauses for idea in clause]


# Weights


def _near(found: list[str]) -> list[tuple[str, str]]:
    """Name each two ideas side by side, or with one between them, in the order of the alphabet."""
    near = (*pairwise(found), *zip(found, found[2:], strict=False))
    return list(dict.fromkeys((one, two) if one < two else (two, one) for one, two in near if one != two))


def _rare(told: Mapping[int, float], count: int) -> Telling:
    """Weigh an idea by how few of *count* symptoms share it,
    and link it to those symptoms by how often they are *told* with it.
    """
    full = {number: times / (times + 0.8) for number, times in told.items()}
    weight = round(math.log(1 + count / (sum(full.values()) + 0.5)), 6)
    return Telling(weight, [(number, weight * share) for number, share in full.items()])


def _weigh(
    phrases: list[Phrase], postings: dict[str, list[int]], helped: dict[str, list[int]], count: int
) -> dict[str, Telling]:
    """Weigh each idea and link it to its symptoms."""
    found: dict[str, Telling] = {}
    for idea in dict.fromkeys((*postings, *helped)):
        told: dict[int, float] = dict.fromkeys(helped.get(idea, ()), _HELPED)
        for place in postings.get(idea, ()):
            number = phrases[place].number
            told[number] = told.get(number, 0) + 1
        found[idea] = _rare(told, count)
    return found


def _paired(index: Index, found: list[str]) -> list[Telling]:
    """Weigh and link each two ideas side by side in *found* that are told side by side in a phrase as well."""
    paired = []
    for pair in _near(found):
        if pair[0] not in index.postings or pair[1] not in index.postings:
            continue
        told: dict[int, float] = {}
        for place in sorted(set(index.postings[pair[0]]).intersection(index.postings[pair[1]])):
            phrase = index.phrases[place]
            if pair in _near(phrase.ideas):
                told[phrase.number] = told.get(phrase.number, 0) + 1
        if told:
            paired.append(_rare(told, len(index.ids)))
    return paired


# Scores


def _is_telling(index: Index, found: list[str], mended: bool) -> bool:
    """True if the text speaks of a fault; *mended*: some of its words were spelled otherwise.

    Where foam, mold, skin or paint is named, one telling word will do, or two weak ones told side by side. Where none
    is, one symptom must be behind a fair share of what is said, by an idea of the trade or by two other words.
    """
    ideas = index.ideas
    telling = [idea for idea in dict.fromkeys(found) if idea in index.telling and idea not in ideas.weak]
    paired = _paired(index, found)
    if ideas.anchors.intersection(found):
        return bool(telling or paired) or _whole(index, found)
    if len(found) > 1 and all(idea in index.telling for idea in found) and _whole(index, found):
        return True
    said = [index.telling.get(idea) for idea in dict.fromkeys(found) if idea not in ideas.weak]
    fair = (_FAIR_MENDED if mended else _FAIR) * sum(_UNKNOWN if one is None else one.weight for one in said)
    behind: dict[int, float] = {}
    shared: dict[int, int] = {}
    for told in [index.telling[idea] for idea in telling] + paired:
        for number, _ in told.links:
            behind[number] = behind.get(number, 0.0) + told.weight
            shared[number] = shared.get(number, 0) + 1
    strong = [idea for idea in telling if idea.lstrip("!").isupper() or len(found) == 1]
    by_itself = {number for idea in strong for number, _ in index.telling[idea].links}
    return any(worth >= fair and (shared[number] > 1 or number in by_itself) for number, worth in behind.items())


def _whole(index: Index, found: list[str]) -> bool:
    """True if one thing that callers say is said in full."""
    return any(cover >= 0.999 for cover in _covers(index, found).values())


def _score(index: Index, found: list[str], everything: list[str]) -> list[float]:
    """Score each symptom by the ideas *found*, in the light of *everything* said:
    a sum of named terms, set in its context.
    """
    scores = [0.0] * len(index.ids)
    _add_ideas(index, found, scores)
    _add_pairs(index, found, scores)
    _take_denied(index, everything, scores)
    _add_best_phrase(index, found, scores)
    return _in_context(index, scores, everything)


def _add_ideas(index: Index, found: list[str], scores: list[float]) -> None:
    """Each idea speaks for its symptoms, a weak one a little less."""
    for idea in dict.fromkeys(found):
        trust = _SUPPORT if idea in index.ideas.weak else 1.0
        for number, weight in index.telling[idea].links if idea in index.telling else ():
            scores[number] += trust * weight


def _add_pairs(index: Index, found: list[str], scores: list[float]) -> None:
    """Two ideas side by side say more than both alone."""
    for told in _paired(index, found):
        for number, weight in told.links:
            scores[number] += _PAIR * weight


def _take_denied(index: Index, everything: list[str], scores: list[float]) -> None:
    """What is denied speaks against what it would have spoken for."""
    for idea in dict.fromkeys(everything):
        if idea.startswith("!") and idea[1:] not in everything:
            for number, weight in index.telling[idea[1:]].links if idea[1:] in index.telling else ():
                scores[number] -= _DENIED * weight


def _add_best_phrase(index: Index, found: list[str], scores: list[float]) -> None:
    """The phrase of each symptom that is covered best counts by
    its weight times the square of the share that is covered.
    """
    best = [0.0] * len(index.ids)
    for place, cover in _covers(index, found).items():
        phrase = index.phrases[place]
        best[phrase.number] = max(best[phrase.number], phrase.weight * cover * cover)
    for number, weight in enumerate(best):
        scores[number] += _PHRASE * weight


def _covers(index: Index, found: list[str]) -> dict[int, float]:
    """For each phrase that shares an idea with the text, the share of its weight that is covered."""
    covered: dict[int, float] = {}
    for idea in dict.fromkeys(found):
        for place in index.postings.get(idea, ()):
            covered[place] = covered.get(place, 0.0) + index.telling[idea].weight
    return {place: weight / index.phrases[place].weight for place, weight in covered.items()}


def _with_clauses(whole: list[float], parts: list[list[float]]) -> list[float]:
    """Add to each symptom's share of the best score its share in the clause that speaks for it most."""
    best = max(whole)
    tops = [max(max(part), _CLEAR * best) for part in parts]
    return [
        score / best + _CLAUSE * max(part[number] / top for part, top in zip(parts, tops, strict=True))
        for number, score in enumerate(whole)
    ]


def _in_context(index: Index, scores: list[float], everything: list[str]) -> list[float]:
    """Multiply the scores of families that need a word of their own by whether it is there, and those of all others."""
    said = set(everything)
    factors = dict.fromkeys(index.families, 1.0)
    for family, speech in index.speech.items():
        spoken, hinted = not said.isdisjoint(speech.words), not said.isdisjoint(speech.hints)
        for other in factors:
            if other == family:
                factors[other] *= speech.spoken if spoken else speech.hinted if hinted else speech.silent
            elif spoken:
                factors[other] *= speech.others
    return [score * factors[family] for score, family in zip(scores, index.families, strict=True)]
