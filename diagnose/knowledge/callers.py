"""What callers say: their phrases for each symptom, and the dialect in which they say them.

Kept apart from the `Knowledge`, because only `hear` and the list of symptoms need them. `diagnose/hearing` reads these.
"""

# no postponed annotations: the kinds are read from them

from collections.abc import Mapping
from typing import Annotated

from msgspec import Struct, field

from diagnose.knowledge.kinds import Number, Text
from diagnose.knowledge.records import ListOf, MapOf, Record

Words = tuple[str, ...]
_WORDS = ListOf(Text("a word, or words side by side", 80))


class Speech(Struct, frozen=True, kw_only=True):
    """Words without which a family of symptoms is hardly meant.

    The family's score is multiplied by *spoken* if one of *words* is there, by *hinted* if only one of *hints* is, by
    *silent* if none is; all other families' by *others* if one of *words* is.
    """

    words: Annotated[Words, _WORDS]
    hints: Annotated[Words, _WORDS]
    spoken: Annotated[float, Number(0, 10)]
    hinted: Annotated[float, Number(0, 10)]
    silent: Annotated[float, Number(0, 10)]
    others: Annotated[float, Number(0, 10)]


class Dialect(Struct, frozen=True, kw_only=True):
    """Words that mean the same at the bench, words that say nothing, and how callers spell them.

    An idea in capitals can't clash with a word; `!` before an idea says that the words deny it.
    """

    same: Annotated[Mapping[str, Words], MapOf(_WORDS, about="idea: the words for it")] = field(default_factory=dict)
    together: Annotated[Mapping[str, Words], MapOf(_WORDS, about="idea: words that only mean it side by side")] = field(
        default_factory=dict
    )
    stop: Annotated[Words, ListOf(Text("a word", 40), "words that say nothing")] = ()
    denials: Annotated[Words, ListOf(Text("a word", 40), "words that deny what follows")] = ()
    breaks: Annotated[Words, ListOf(Text("a word", 40), "words after which another thing is said")] = ()
    idle: Annotated[Words, ListOf(Text("words", 80), "said, but not of the part: taken out first")] = ()
    weak: Annotated[Words, ListOf(Text("a word or idea", 40), "weak alone: they support other words")] = ()
    spelling: Annotated[Mapping[str, str], MapOf(Text("the word meant", 40), about="as typed: as meant")] = field(
        default_factory=dict
    )
    plain: Annotated[Words, ListOf(Text("a word", 40), "everyday words that are no typing errors of ours")] = ()
    anchors: Annotated[
        Words, ListOf(Text("a word or idea", 40), "foam, mold, skin, paint: the trade is spoken of")
    ] = ()
    families: Annotated[Mapping[str, Speech], MapOf(Record(Speech), about="families that need a word of their own")] = (
        field(default_factory=dict)
    )


class Callers(Struct, frozen=True):
    """Phrases by symptom, and the dialect."""

    phrases: Annotated[
        Mapping[str, Words],
        MapOf(ListOf(Text("words of a caller", 160), least=1), "symptoms", about="what callers say, as they say it"),
    ]
    dialect: Annotated[Dialect, Record(Dialect, "How callers speak")] = Dialect()
