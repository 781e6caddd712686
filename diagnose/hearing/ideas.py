"""From a caller's text to ideas: spelling, endings, synonyms, words side by side, and "not".

The tables are the dialect of the knowledge (`knowledge/callers/_words.yaml`). An idea is a name in capitals or the stem
of a word; `!` before it means that it was denied. Deterministic, with no clock and no chance.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cache

from diagnose.knowledge.callers import Dialect

_BETWEEN = '.,;:!?()[]{}/\\"*&+=<>|~\u2026\u2013\u2014\u201c\u201d'
_MARKS = str.maketrans(
    {"'": "", "\u2019": "", "\u2018": "", "`": "", "-": " ", "_": " ", "\u00b0": " "} | dict.fromkeys(_BETWEEN, " . ")
)
_VOWEL = re.compile(r"[aeiouy]")
_ENDINGS = ("iness", "ness", "ies", "ing", "ed", "es", "s", "y", "e")
#: words that may stand between words that mean something together
_FILLER = frozenset(
    [
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
    ]
)
#: "none of the ears filled" denies the filling
_NEVER_DENIED = frozenset({"DETAIL", "PAINT", "MOLD"})
#: words after which "not" has lost its hold
_REACH = 5

Chains = dict[str, list[tuple[tuple[str, ...], str]]]
"""Words that mean something together: by the first, the rest and the idea, longest first."""
Clauses = list[list[str]]


class Ideas:
    """Turns words into ideas by one *dialect*."""

    def __init__(self, dialect: Dialect) -> None:
        self.same = {word: idea for idea, words in dialect.same.items() for word in words}
        self._together = _chains({words: idea for idea, said in dialect.together.items() for words in said})
        self._idle = _chains(dict.fromkeys(dialect.idle, ""))
        self._stop, self._denials = frozenset(dialect.stop), frozenset(dialect.denials)
        self._breaks = frozenset(dialect.breaks) | {"."}
        self._spelling = dialect.spelling
        self._left_alone = self._stop | self._denials | self._breaks | set(dialect.plain) | self._together.keys()
        self.idea = cache(self._idea)
        self.weak = frozenset(self.idea(word) for word in dialect.weak)
        self.anchors = frozenset(dialect.anchors)

    def words(self, text: str) -> list[str]:
        """Return the words of *text*, as they are spelled."""
        return [self._spelling.get(word, word) for word in text.lower().translate(_MARKS).split()]

    def clauses(self, words: list[str]) -> Clauses:
        """Return the ideas of *words*, a list for each clause."""
        clauses: Clauses = [[]]
        denied = was_denied = False
        since = 0
        for word in self._spoken(words):
            since += 1
            denied = denied and since <= _REACH
            if word in self._breaks:
                denied = was_denied = False
                clauses.append([])
            elif word in self._denials:
                denied, since = True, 0
            elif word in ("or", "nor"):
                denied, since = was_denied, 0
            elif word not in self._stop and not word[0].isdigit():
                idea = self.idea(word)
                if idea in _NEVER_DENIED:
                    clauses[-1].append(idea)
                    continue
                clauses[-1].append("!" + idea if denied else idea)
                was_denied, denied = denied, False
        return [clause for clause in clauses if clause]

    def mend(self, word: str, known: Mapping[str, list[str]]) -> str:
        """Return the known word that *word* was meant to be, or *word* itself;
        *known* are words by their first letter.
        """
        if len(word) < 4 or word in self._left_alone or word in known.get(word[0], ()) or not word.isalpha():
            return word
        others = (other for first in dict.fromkeys(word[:2]) for other in known.get(first, ()))
        return min((other for other in others if _meant(word, other)), default=word)

    def _spoken(self, words: list[str]) -> Iterator[str]:
        """Yield words and ideas in the order spoken, idle sayings left out."""
        at = 0
        while at < len(words):
            found = _chain(self._idle, words, at) or _chain(self._together, words, at)
            name, used = found or (words[at], 1)
            at += used
            if name:
                yield name

    def _idea(self, word: str) -> str:
        if word.isupper():
            return word
        return self.same.get(word) or (word.endswith("s") and self.same.get(word[:-1])) or _stem(word)


def _chains(table: Mapping[str, str]) -> Chains:
    chains: Chains = {}
    for words, name in table.items():
        first, *rest = words.split()
        chains.setdefault(first, []).append((tuple(rest), name))
    for found in chains.values():
        found.sort(key=lambda chain: -len(chain[0]))
    return chains


def _chain(chains: Chains, words: list[str], at: int) -> tuple[str, int] | None:
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


def _stem(word: str) -> str:
    """Strip the endings of a word: crumbling, crumbled and crumbly come out alike."""
    if len(word) < 4:
        return word
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3 and _VOWEL.search(word[: -len(ending)]):
            if ending == "s" and word.endswith("ss"):
                continue
            word = word[: -len(ending)]
            break
    word = word[:-1] if word.endswith("e") and len(word) > 3 else word
    return word[:-1] if len(word) > 3 and word[-1] == word[-2] else word


def _meant(word: str, other: str) -> bool:
    """Whether *word* may be *other* with one slip; one letter for another makes a short word a different word."""
    if abs(len(other) - len(word)) > 1 or len(set(word).symmetric_difference(other)) > 2 or not _one_slip(word, other):
        return False
    return len(word) >= 6 or len(other) != len(word) or sorted(other) == sorted(word)


def _one_slip(one: str, other: str) -> bool:
    """True if one letter was changed, dropped, added, or swapped with the next; the first may only be swapped."""
    at = 0
    while at < min(len(one), len(other)) and one[at] == other[at]:
        at += 1
    if one[at : at + 2] == other[at : at + 2][::-1] and one[at + 2 :] == other[at + 2 :]:
        return True
    return at > 0 and (one[at + 1 :] == other[at + 1 :] or one[at:] == other[at + 1 :] or one[at + 1 :] == other[at:])


def by_first_letter(words: Iterable[str]) -> dict[str, list[str]]:
    """Return *words* sorted, by their first letter."""
    found: dict[str, list[str]] = {}
    for word in sorted(words):
        found.setdefault(word[0], []).append(word)
    return found
