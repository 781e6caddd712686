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
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from itertools import groupby, pairwise
from typing import Any

from diagnose.hearing.word_tables import ANCHORS, BREAKS, IDLE, NOT, PLAIN, SAME, SPELLING, STOP, TOGETHER
from diagnose.hearing.word_tables import WEAK as WEAK_WORDS

__all__ = ["build_index", "hear", "ideas"]

Entry = tuple[str, str, str, Iterable[str], str]
"""Symptom id, title, help, what callers say, family."""
Phrase = tuple[int, list[str]]
"""Number of the symptom and the ideas of one thing that callers say of it."""
Links = list[list[Any]]
"""Number of the symptom and weight, for each symptom that an idea speaks for."""

_BETWEEN = '.,;:!?()[]{}/\\"*&+=<>|~\u2026\u2013\u2014\u201c\u201d'
_MARKS = str.maketrans(
    {"'": "", "\u2019": "", "\u2018": "", "`": "", "-": " ", "_": " ", "\u00b0": " "} | dict.fromkeys(_BETWEEN, " . ")
)
_VOWEL = re.compile(r"[aeiouy]")
_FILLER = frozenset(
    {
        "right",
        "straight",
        "clean",
        "easily",
        "completely",
        "it",
        "just",
        "cleanly",
        "away",
        "very",
        "the",
        "them",
        "thing",
        "part",
    }
)

# Families that need a word of their own in the text. Their score is multiplied by the first number if one of the first words is
# there, by the second if only one of the other words hints at it, by the third if none is; all others by the fourth if one is.
_CONTEXT = {
    "paint_peeling": (
        frozenset({"PAINT", "TAPETEST"}),
        frozenset({"spray", "coat", "finish", "brush", "solvent"}),
        1.25,
        0.9,
        0.45,
        0.75,
    ),
    "delaminated_skin": (
        frozenset({"SKINCOAT", "RUBBER"}),
        frozenset({"skin", "LAYER", "coat"}),
        1.2,
        0.75,
        0.45,
        0.85,
    ),
}
_PHRASE = 1.0  # weight of the best covered phrase beside the single ideas
_PAIR = 0.5  # weight of two ideas side by side, beside each of them
_CLAUSE = 0.9  # weight of the best clause beside the whole text
_REACH = 5  # words after which "not" has lost its hold
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


def build_index(entries: Iterable[Entry]) -> dict[str, Any]:
    """Index symptoms by what callers say of them, as plain data fit for JSON.

    *entries* are (symptom id, title, help, phrases, family); their order does not matter.
    """
    ids: list[str] = []
    families: list[str] = []
    phrases: list[Phrase] = []
    helped: dict[str, list[int]] = {}
    words: set[str] = set()
    for number, (symptom, title, text, said, family) in enumerate(sorted(entries, key=lambda entry: entry[0])):
        ids.append(symptom)
        families.append(family)
        for idea in dict.fromkeys(idea for clause in _split(_words(text)) for idea in clause):
            helped.setdefault(idea, []).append(number)
        for phrase in (title, *said):
            spoken = _words(phrase)
            words.update(spoken)
            found = [idea for clause in _split(spoken) for idea in clause]
            if len(found) > 1 or (found and found[0] not in _WEAK):
                phrases.append((number, found))
    words.update(SAME)
    postings = _postings(phrases)
    weight, links = _weigh(phrases, postings, helped, len(ids))
    return {
        "version": 1,
        "ids": ids,
        "families": families,
        "weight": weight,
        "links": links,
        "phrases": [
            [number, round(sum(weight[idea] for idea in dict.fromkeys(found)), 6), found] for number, found in phrases
        ],
        "postings": postings,
        "known": {first: list(group) for first, group in groupby(sorted(words), key=lambda word: word[0])},
    }


def hear(index: dict[str, Any], text: str, limit: int = 8) -> list[str]:
    """Name the symptoms that *text* may mean, best first, at most *limit*; none when nothing fits."""
    clauses = [clause for clause in _clauses(text, index) if clause]
    everything = [idea for clause in clauses for idea in clause]
    mended = clauses != [clause for clause in _clauses(text, None) if clause]
    if not _telling(index, everything, mended):
        return []
    whole = _score(index, everything, everything)
    if max(whole, default=0.0) < (_LEAST_ANCHORED if ANCHORS.intersection(everything) else _LEAST):
        return []
    parts = [_score(index, clause, everything) for clause in clauses] if len(clauses) > 1 else [whole]
    total = _together(whole, parts)
    best = max(total)
    order = sorted(
        (round(-score, 6), index["ids"][number]) for number, score in enumerate(total) if score >= _SHARE * best
    )
    return [symptom for _, symptom in order[:limit]]


def ideas(text: str) -> list[list[str]]:
    """Reduce *text* to ideas, a list for each clause; `!` before an idea means that it was denied."""
    return _clauses(text, None)


# From text to ideas


def _words(text: str) -> list[str]:
    return [SPELLING.get(word, word) for word in text.lower().translate(_MARKS).split()]


def _chain(chains: dict[str, list[tuple[tuple[str, ...], str]]], words: list[str], at: int) -> tuple[str, int] | None:
    """Find the words that mean something together at this place: the idea and how many words it took."""
    for rest, name in chains.get(words[at], ()):
        place = at + 1
        for word in rest:
            while place + 1 < len(words) and words[place] != word and words[place] in _FILLER:
                place += 1
            if place >= len(words) or words[place] != word:
                break
            place += 1
        else:
            return name, place - at
    return None


def _spoken(words: list[str]) -> Iterator[str]:
    """Yield words and ideas in the order spoken, idle sayings left out."""
    at = 0
    while at < len(words):
        word = words[at]
        together = _chain(IDLE, words, at) if word in IDLE else None
        if together is None and word in TOGETHER:
            together = _chain(TOGETHER, words, at)
        name, used = together or (word, 1)
        at += used
        if name:
            yield name


def _clauses(text: str, index: dict[str, Any] | None) -> list[list[str]]:
    words = _words(text)
    if index is not None:
        words = [_mend(word, index["known"]) for word in words]
    return _split(words)


def _split(words: list[str]) -> list[list[str]]:
    """Turn words into ideas, clause by clause."""
    clauses: list[list[str]] = [[]]
    denied = was_denied = False
    since = 0
    for word in _spoken(words):
        since += 1
        if denied and since > _REACH:
            denied = False
        if word in BREAKS:
            denied = was_denied = False
            clauses.append([])
        elif word in NOT:
            denied, since = True, 0
        elif word in ("or", "nor"):
            denied, since = was_denied, 0
        elif word not in STOP and not word[0].isdigit():
            idea = _idea(word)
            if idea in _NEVER_DENIED:
                clauses[-1].append(idea)  # "none of the ears filled" denies the filling
                continue
            clauses[-1].append("!" + idea if denied else idea)
            was_denied, denied = denied, False
    return clauses


@lru_cache(maxsize=8192)
def _idea(word: str) -> str:
    if word.isupper():
        return word
    return SAME.get(word) or (word.endswith("s") and SAME.get(word[:-1])) or _stem(word)


def _stem(word: str) -> str:
    """Strip the endings of a word: crumbling, crumbled and crumbly come out alike."""
    if len(word) < 4:
        return word
    for ending, stand_in in (
        ("iness", ""),
        ("ness", ""),
        ("ies", ""),
        ("ing", ""),
        ("ed", ""),
        ("es", ""),
        ("s", ""),
        ("y", ""),
        ("e", ""),
    ):
        if word.endswith(ending) and len(word) - len(ending) >= 3 and _VOWEL.search(word[: -len(ending)]):
            if ending == "s" and word.endswith("ss"):
                continue
            word = word[: -len(ending)] + stand_in
            break
    word = word[:-1] if word.endswith("e") and len(word) > 3 else word
    return word[:-1] if len(word) > 3 and word[-1] == word[-2] else word


_LEFT_ALONE = STOP | NOT | BREAKS | PLAIN | TOGETHER.keys()
_NEVER_DENIED = frozenset({"DETAIL", "PAINT", "MOLD"})
_WEAK = frozenset(_idea(word) for word in WEAK_WORDS)


# Typing errors


def _mend(word: str, known: dict[str, list[str]]) -> str:
    """Give the known word that *word* was meant to be, or *word* itself; *known* are words by their first letter."""
    if len(word) < 4 or word in _LEFT_ALONE or word in known.get(word[0], ()) or not word.isalpha():
        return word
    letters = set(word)
    nearest = []
    for first in dict.fromkeys(word[:2]):
        for other in known.get(first, ()):
            if (
                abs(len(other) - len(word)) > 1
                or len(letters.symmetric_difference(other)) > 2
                or not _one_slip(word, other)
            ):
                continue
            if len(word) < 6 and len(other) == len(word) and sorted(other) != sorted(word):
                continue  # one letter for another makes a short word a different word
            nearest.append(other)
    return min(nearest) if nearest else word


def _one_slip(one: str, other: str) -> bool:
    """True if one letter was changed, dropped, added, or swapped with the next; the first may only be swapped."""
    at = 0
    while at < min(len(one), len(other)) and one[at] == other[at]:
        at += 1
    if one[at : at + 2] == other[at : at + 2][::-1] and one[at + 2 :] == other[at + 2 :]:
        return True
    return at > 0 and (one[at + 1 :] == other[at + 1 :] or one[at:] == other[at + 1 :] or one[at + 1 :] == other[at:])


# Weights and scores


def _near(found: list[str]) -> list[tuple[str, str]]:
    """Name each two ideas side by side, or with one between them, in the order of the alphabet."""
    near = (*pairwise(found), *zip(found, found[2:], strict=False))
    return list(dict.fromkeys((one, two) if one < two else (two, one) for one, two in near if one != two))


def _rare(told: Mapping[int, float], count: int) -> tuple[float, Links]:
    """Weigh an idea by how few of *count* symptoms share it, and link it to those symptoms by how often they are *told* with it."""
    full = {number: times / (times + 0.8) for number, times in told.items()}
    weight = round(math.log(1 + count / (sum(full.values()) + 0.5)), 6)
    return weight, [[number, weight * share] for number, share in full.items()]


def _weigh(
    phrases: list[Phrase], postings: dict[str, list[int]], helped: dict[str, list[int]], count: int
) -> tuple[dict[str, float], dict[str, Links]]:
    """Weigh each idea and link it to its symptoms."""
    weight: dict[str, float] = {}
    links: dict[str, Links] = {}
    for idea in dict.fromkeys((*postings, *helped)):
        places = postings.get(idea, ())
        told: dict[int, float] = dict.fromkeys(helped.get(idea, ()), _HELPED)
        for place in places:
            number = phrases[place][0]
            told[number] = told.get(number, 0) + 1
        weight[idea], links[idea] = _rare(told, count)
    return weight, links


def _paired(index: dict[str, Any], found: list[str]) -> list[tuple[float, Links]]:
    """Weigh and link each two ideas side by side in *found* that are told side by side in a phrase as well."""
    phrases, postings = index["phrases"], index["postings"]
    paired = []
    for pair in _near(found):
        if pair[0] not in postings or pair[1] not in postings:
            continue
        told: dict[int, int] = {}
        for place in sorted(set(postings[pair[0]]).intersection(postings[pair[1]])):
            number, _, ideas = phrases[place]
            if pair in _near(ideas):
                told[number] = told.get(number, 0) + 1
        if told:
            paired.append(_rare(told, len(index["ids"])))
    return paired


def _together(whole: list[float], parts: list[list[float]]) -> list[float]:
    """Add to each symptom's share of the best score its share in the clause that speaks for it most."""
    best = max(whole)
    tops = [max(max(part), _CLEAR * best) for part in parts]
    return [
        score / best + _CLAUSE * max(part[number] / top for part, top in zip(parts, tops, strict=True))
        for number, score in enumerate(whole)
    ]


def _postings(phrases: list[Phrase]) -> dict[str, list[int]]:
    postings: dict[str, list[int]] = {}
    for place, (_, found) in enumerate(phrases):
        for idea in dict.fromkeys(found):
            postings.setdefault(idea, []).append(place)
    return postings


def _telling(index: dict[str, Any], found: list[str], mended: bool) -> bool:
    """True if the text speaks of a fault; *mended*: some of its words were spelled otherwise.

    Where foam, mold, skin or paint is named, one telling word will do, or two weak ones told side by side. Where none is, one
    symptom must be behind a fair share of what is said, by an idea of the trade or by two other words.
    """
    links, weight = index["links"], index["weight"]
    telling = [idea for idea in dict.fromkeys(found) if idea in links and idea not in _WEAK]
    paired = _paired(index, found)
    if ANCHORS.intersection(found):
        return bool(telling or paired) or _whole(index, found)
    if len(found) > 1 and all(idea in links for idea in found) and _whole(index, found):
        return True
    full = sum(weight.get(idea, _UNKNOWN) for idea in dict.fromkeys(found) if idea not in _WEAK)
    fair = (_FAIR_MENDED if mended else _FAIR) * full
    behind: dict[int, float] = {}
    shared: dict[int, int] = {}
    by_itself = {
        number for idea in telling if idea.lstrip("!").isupper() or len(found) == 1 for number, _ in links[idea]
    }
    for worth, linked in [(weight[idea], links[idea]) for idea in telling] + paired:
        for number, _ in linked:
            behind[number] = behind.get(number, 0.0) + worth
            shared[number] = shared.get(number, 0) + 1
    return any(worth >= fair and (shared[number] > 1 or number in by_itself) for number, worth in behind.items())


def _whole(index: dict[str, Any], found: list[str]) -> bool:
    """True if one thing that callers say is said in full."""
    return any(cover >= 0.999 for cover in _covers(index, found).values())


def _score(index: dict[str, Any], found: list[str], everything: list[str]) -> list[float]:
    """Score each symptom by the ideas *found*, in the light of *everything* said."""
    links = index["links"]
    scores = [0.0] * len(index["ids"])
    for idea in dict.fromkeys(found):
        trust = _SUPPORT if idea in _WEAK else 1.0
        for number, weight in links.get(idea, ()):
            scores[number] += trust * weight
    for _, linked in _paired(index, found):
        for number, weight in linked:
            scores[number] += _PAIR * weight
    for idea in dict.fromkeys(everything):
        if idea.startswith("!") and idea[1:] not in everything:
            for number, weight in links.get(idea[1:], ()):
                scores[number] -= _DENIED * weight
    for number, weight in enumerate(_best_phrases(index, found)):
        scores[number] += _PHRASE * weight
    return _in_context(index, scores, everything)


def _covers(index: dict[str, Any], found: list[str]) -> dict[int, float]:
    """For each phrase that shares an idea with the text, the share of its weight that is covered."""
    covered: dict[int, float] = {}
    for idea in dict.fromkeys(found):
        for place in index["postings"].get(idea, ()):
            covered[place] = covered.get(place, 0.0) + index["weight"][idea]
    return {place: weight / index["phrases"][place][1] for place, weight in covered.items()}


def _best_phrases(index: dict[str, Any], found: list[str]) -> list[float]:
    """For each symptom, the weight of its best covered phrase times the square of the share that is covered."""
    best = [0.0] * len(index["ids"])
    for place, cover in _covers(index, found).items():
        number, full, _ = index["phrases"][place]
        best[number] = max(best[number], full * cover * cover)
    return best


def _in_context(index: dict[str, Any], scores: list[float], everything: list[str]) -> list[float]:
    said = set(everything)
    factors = dict.fromkeys(index["families"], 1.0)
    for family, (words, hints, with_it, hinted, without, others) in _CONTEXT.items():
        spoken = bool(words & said)
        for other in factors:
            if other == family:
                factors[other] *= with_it if spoken else hinted if hints & said else without
            elif spoken:
                factors[other] *= others
    return [score * factors[family] for score, family in zip(scores, index["families"], strict=True)]
