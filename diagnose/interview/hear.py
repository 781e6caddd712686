"""Hears which symptoms a caller's words may mean.

A caller says "the ears came out like thumbs", "its stikcy" or "no skin on it"; the knowledge files hold many such phrases for
each symptom. Words are reduced to ideas (spelling, endings, synonyms, "not"), and each symptom is scored by how telling the
ideas are that it shares with the text, how well one whole phrase is covered, and whether paint or a rubber skin is spoken of.
Every clause is also scored by itself, so that two complaints in one breath both come out on top.

`build_index` makes plain data that can be cached as JSON; `hear` reads it. Both are deterministic, with no clock and no chance.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from typing import Any

from diagnose.interview.wordlists import ANCHORS, BREAKS, IDLE, NOT, PLAIN, SAME, SPELLING, STOP, THROUGH_NOT, TOGETHER, WEAK

__all__ = ["build_index", "hear", "ideas"]

Entry = tuple[str, str, str, Iterable[str], str]
"""Symptom id, title, help, what callers say, family."""

_WORD = re.compile(r"[a-z0-9']+|[^\sa-z0-9'-]")
_VOWEL = re.compile(r"[aeiouy]")
_FILLER = frozenset({"right", "straight", "clean", "easily", "completely", "it", "just", "cleanly", "away", "very"})

# Families that need a word of their own in the text: their score is multiplied by the first number with it, by the second
# without; all others by the third with it.
_CONTEXT = {
    "paint_peeling": (frozenset({"PAINT"}), 1.25, 0.45, 0.75),
    "delaminated_skin": (frozenset({"SKINCOAT", "RUBBER"}), 1.2, 0.45, 0.85),
}
_ONLY_SKIN = 0.75  # "skin" alone may be the rubber skin or the foam's own
_PHRASE = 1.0  # weight of the best covered phrase beside the single ideas
_PAIR = 0.5  # weight of two ideas side by side, beside each of them
_CLAUSE = 0.9  # weight of the best clause beside the whole text
_CLEAR = 0.5  # share of the best score at which a clause counts in full
_DENIED = 0.8  # how much of an idea's weight "not" takes away
_LEAST = 4.0  # score below which nothing was heard
_LEAST_ANCHORED = 2.0  # the same where foam, mold, skin or paint is named
_UNKNOWN = 2  # ideas that may be unknown where none of those is named
_SHARE = 0.3  # of the best score, below which a symptom is not worth naming


def build_index(entries: Iterable[Entry]) -> dict[str, Any]:
    """Index symptoms by what callers say of them, as plain data fit for JSON.

    *entries* are (symptom id, title, help, phrases, family); their order does not matter.
    """
    ids: list[str] = []
    families: list[str] = []
    phrases: list[tuple[int, list[str]]] = []
    words: set[str] = set()
    for number, (symptom, title, text, said, family) in enumerate(sorted(entries, key=lambda entry: entry[0])):
        ids.append(symptom)
        families.append(family)
        for phrase in (title, *said):
            clauses = _clauses(phrase, None)
            phrases.append((number, [idea for clause in clauses for idea in clause]))
            words.update(_words(phrase))
    words.update(SAME)
    idea_weight, links = _weigh(phrases, len(ids))
    return {
        "version": 1,
        "ids": ids,
        "families": families,
        "weight": idea_weight,
        "links": links,
        "phrases": [[number, round(sum(idea_weight[idea] for idea in set(found)), 6)] for number, found in phrases],
        "postings": _postings(found for _, found in phrases),
        "near": _near(words),
    }


def hear(index: dict[str, Any], text: str, limit: int = 8) -> list[str]:
    """Name the symptoms that *text* may mean, best first, at most *limit*; none when nothing fits."""
    clauses = [clause for clause in _clauses(text, index) if clause]
    everything = [idea for clause in clauses for idea in clause]
    if not _telling(index, everything):
        return []
    whole = _score(index, everything, everything)
    if max(whole, default=0.0) < (_LEAST_ANCHORED if ANCHORS.intersection(everything) else _LEAST):
        return []
    parts = [_score(index, clause, everything) for clause in clauses] if len(clauses) > 1 else [whole]
    total = _together(whole, parts)
    best = max(total)
    order = sorted((round(-score, 6), index["ids"][number]) for number, score in enumerate(total) if score >= _SHARE * best)
    return [symptom for _, symptom in order[:limit]]


def ideas(text: str) -> list[list[str]]:
    """Reduce *text* to ideas, a list for each clause; `!` before an idea means that it was denied."""
    return _clauses(text, None)


# From text to ideas


def _words(text: str) -> list[str]:
    found = _WORD.findall(text.lower().replace("\u2019", "'"))
    plain = (word.replace("'", "") if word[0].isalnum() or word[0] == "'" else "." for word in found)
    return [word for word in (SPELLING.get(word, word) for word in plain) if word]


def _chain(chains: dict[str, list[tuple[tuple[str, ...], str]]], words: list[str], at: int) -> tuple[str, int] | None:
    """Find the words that mean something together at this place: the idea and how many words it took."""
    for rest, name in chains.get(words[at], ()):
        place = at + 1
        for word in rest:
            if place + 1 < len(words) and words[place] != word and words[place] in _FILLER:
                place += 1
            if place >= len(words) or words[place] != word:
                break
            place += 1
        else:
            return name, place - at
    return None


def _spoken(text: str, index: dict[str, Any] | None) -> Iterator[str]:
    """Yield words and ideas in the order spoken, idle sayings left out and typing errors mended."""
    words = _words(text)
    if index is not None:
        words = [_mend(word, index["near"]) for word in words]
    at = 0
    while at < len(words):
        idle = _chain(IDLE, words, at)
        together = idle or _chain(TOGETHER, words, at)
        if together is None:
            yield words[at]
            at += 1
            continue
        name, used = together
        at += used
        if name:
            yield name


def _clauses(text: str, index: dict[str, Any] | None) -> list[list[str]]:
    clauses: list[list[str]] = [[]]
    denied = was_denied = False
    for word in _spoken(text, index):
        if word in BREAKS:
            denied = was_denied = False
            clauses.append([])
        elif word in NOT:
            denied = True
        elif word in ("or", "nor"):
            denied = was_denied
        elif word not in STOP and word not in THROUGH_NOT:
            idea = word if word.isupper() else SAME.get(word) or _stem(word)
            clauses[-1].append("!" + idea if denied else idea)
            was_denied, denied = denied, False
    return clauses


def _stem(word: str) -> str:
    """Strip the endings of a word: crumbling, crumbled and crumbly come out alike."""
    if len(word) < 4:
        return word
    for ending, stand_in in (("iness", ""), ("ness", ""), ("ies", ""), ("ing", ""), ("ed", ""), ("es", ""), ("s", ""), ("y", ""), ("e", "")):
        if word.endswith(ending) and len(word) - len(ending) >= 3 and _VOWEL.search(word[: -len(ending)]):
            if ending == "s" and word.endswith("ss"):
                continue
            word = word[: -len(ending)] + stand_in
            break
    word = word[:-1] if word.endswith("e") and len(word) > 3 else word
    return word[:-1] if len(word) > 3 and word[-1] == word[-2] else word


# Typing errors


def _near(words: set[str]) -> dict[str, list[str]]:
    """Map each word with one letter left out to the words it came from."""
    near: dict[str, list[str]] = {}
    for word in sorted(words):
        near.setdefault(word, []).append(word)
        if len(word) >= 4 and word.isalpha():
            for short in sorted({word[:at] + word[at + 1 :] for at in range(len(word))}):
                near.setdefault(short, []).append(word)
    return near


def _mend(word: str, near: dict[str, list[str]]) -> str:
    """Give the known word that *word* was meant to be, or *word* itself."""
    known = near.get(word, ())
    if word in known or len(word) < 4 or word in STOP or word in NOT or word in BREAKS or word in PLAIN or not word.isalpha():
        return word
    candidates = set(known)
    for at in range(len(word)):
        candidates.update(near.get(word[:at] + word[at + 1 :], ()))
    allowed = 1 if len(word) < 8 else 2
    if len(word) < 6:
        candidates = {other for other in candidates if len(other) != len(word) or sorted(other) == sorted(word)}
    graded = sorted((_distance(word, other), other) for other in candidates if other[0] == word[0] or other[:2] == word[1::-1])
    return graded[0][1] if graded and graded[0][0] <= allowed else word


def _distance(one: str, other: str) -> int:
    """Count letters to change, drop, add or swap between two words."""
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        older, before, row = before, row, [i]
        for j, meant in enumerate(other, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != meant))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == meant:
                cost = min(cost, older[j - 2] + 1)
            row.append(cost)
    return row[-1]


# Weights and scores


def _pairs(found: list[str]) -> list[str]:
    """Name each two ideas side by side, in either order."""
    near = (*zip(found, found[1:], strict=False), *zip(found, found[2:], strict=False))
    return [" ".join(sorted(two)) for two in near if two[0] != two[1]]


def _weigh(phrases: list[tuple[int, list[str]]], count: int) -> tuple[dict[str, float], dict[str, list[list[float]]]]:
    """Weigh each idea by how few symptoms share it, and link it to those symptoms by how often they are told with it."""
    often: dict[str, dict[int, int]] = {}
    for number, found in phrases:
        for idea in dict.fromkeys(found + _pairs(found)):
            told = often.setdefault(idea, {})
            told[number] = told.get(number, 0) + 1
    weight: dict[str, float] = {}
    links: dict[str, list[list[float]]] = {}
    for idea in sorted(often):
        full = {number: told / (told + 0.8) for number, told in sorted(often[idea].items())}
        spread = sum(full.values())
        weight[idea] = round(math.log(1 + count / (spread + 0.5)), 6)
        links[idea] = [[number, round(weight[idea] * share, 6)] for number, share in full.items()]
    return weight, links


def _together(whole: list[float], parts: list[list[float]]) -> list[float]:
    """Add to each symptom's share of the best score its share in the clause that speaks for it most."""
    best = max(whole)
    tops = [max(max(part), _CLEAR * best) for part in parts]
    return [
        score / best + _CLAUSE * max(part[number] / top for part, top in zip(parts, tops, strict=True))
        for number, score in enumerate(whole)
    ]


def _postings(phrases: Iterable[list[str]]) -> dict[str, list[int]]:
    postings: dict[str, list[int]] = {}
    for place, found in enumerate(phrases):
        for idea in dict.fromkeys(found):
            postings.setdefault(idea, []).append(place)
    return postings


def _telling(index: dict[str, Any], found: list[str]) -> bool:
    """True if the text speaks of a fault.

    One idea that is telling by itself is needed. Where foam, mold, skin or paint is named, two weak ones told side by side will
    do; where none is, most of the text must be known, or two ideas be told side by side.
    """
    links = index["links"]
    paired = any(pair in links for pair in _pairs(found))
    if ANCHORS.intersection(found):
        return paired or any(idea in links and idea not in WEAK for idea in found)
    known = sum(idea in links for idea in found)
    return any(idea in links and idea not in WEAK for idea in found) and (paired or len(found) - known <= _UNKNOWN)


def _score(index: dict[str, Any], found: list[str], everything: list[str]) -> list[float]:
    """Score each symptom by the ideas *found*, in the light of *everything* said."""
    links = index["links"]
    scores = [0.0] * len(index["ids"])
    for idea in dict.fromkeys(found):
        for number, weight in links.get(idea, ()):
            scores[number] += weight
        if idea.startswith("!") and idea[1:] not in everything:
            for number, weight in links.get(idea[1:], ()):
                scores[number] -= _DENIED * weight
    for pair in dict.fromkeys(_pairs(found)):
        for number, weight in links.get(pair, ()):
            scores[number] += _PAIR * weight
    for number, weight in enumerate(_best_phrases(index, found)):
        scores[number] += _PHRASE * weight
    return _in_context(index, scores, everything)


def _best_phrases(index: dict[str, Any], found: list[str]) -> list[float]:
    """For each symptom, the weight of its best covered phrase times the share that is covered."""
    covered: dict[int, float] = {}
    for idea in dict.fromkeys(found):
        for place in index["postings"].get(idea, ()):
            covered[place] = covered.get(place, 0.0) + index["weight"][idea]
    best = [0.0] * len(index["ids"])
    for place, weight in covered.items():
        number, full = index["phrases"][place]
        best[number] = max(best[number], weight * weight / full)
    return best


def _in_context(index: dict[str, Any], scores: list[float], everything: list[str]) -> list[float]:
    said = set(everything)
    factors = dict.fromkeys(index["families"], 1.0)
    for family, (words, with_it, without, others) in _CONTEXT.items():
        spoken = bool(words & said)
        for other in factors:
            if other == family:
                only_skin = family == "delaminated_skin" and "skin" in said and not spoken
                factors[other] *= with_it if spoken else _ONLY_SKIN if only_skin else without
            elif spoken:
                factors[other] *= others
    return [score * factors[family] for score, family in zip(scores, index["families"], strict=True)]
