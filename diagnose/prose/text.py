"""Text as it is shown: cleaned, shortened, quoted, listed, counted.

Whatever comes from a knowledge file, a case or the keyboard passes through `clean` before it is shown: a control
character in a file must not move a cursor.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

#: longest text of a case that a report shows; a title beyond it is somebody's mistake
LONGEST = 160
#: where a sentence ends, and where its first clause does (not inside brackets);
#: words behind A where it is the side and no article; where a number meets its unit
_END = re.compile(r"([.?!])\s")
_AFTER_SIDE = frozenset({"and", "in", "is", "of", "or", "side", "to"})
_UNIT = re.compile(r"(?<=\d) (?=[%°]|(?:g|kg|h|s|min|mm|mL|oz|in|lb)\b)")
_CLAUSE = re.compile(r"[;:,](?= )(?![^(]*\))")


def clean(text: str) -> str:
    """Return *text* on one line without control, direction or unpaired characters,
    so that no terminal or page acts on it.

    What Unicode knows no character for stands as the mark for one that is missing.
    """
    if text.isascii() and text.isprintable():
        return " ".join(text.split())
    kept = "".join(
        {"Cc": " ", "Zl": " ", "Zp": " ", "Cn": "\ufffd"}.get(unicodedata.category(c), c)
        for c in text
        if unicodedata.category(c) not in ("Cf", "Cs", "Co")
    )
    return " ".join(kept.split())


def shortened(text: str, most: int = LONGEST) -> str:
    """Return *text* made plain and no longer than *most* characters, cut behind a word where one ends near there."""
    flat = clean(text[: 20 * most])
    if len(flat) <= most:
        return flat
    cut = flat[: most - 3]
    whole = cut.rsplit(" ", 1)[0] if flat[most - 3] != " " else cut
    return (whole if len(whole) >= len(cut) // 2 else cut).rstrip(" ,;:") + "..."


def lowered(text: str) -> str:
    """Return *text* with a small first letter, unless its first word is a name such as A, B or MDI;
    "A nail" is no name.
    """
    first, _, rest = text.partition(" ")
    article = first == "A" and rest[:1].islower() and rest.split(" ", 1)[0] not in _AFTER_SIDE
    return text[:1].lower() + text[1:] if article or (len(first) > 1 and first[1:].islower()) else text


def quoted(text: str) -> str:
    """Return a title as it stands in a sentence."""
    return f'"{text}"'


def listed(words: Sequence[str], joint: str = "and") -> str:
    """Return *words* as a list in a sentence: `a, b and c`."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joint} {words[-1]}"


def counted(count: int, one: str, many: str = "") -> str:
    """Return `1 cause`, `2 causes`, `no causes`."""
    return f"{count or 'no'} {one if count == 1 else many or one + 's'}"


def sentence(text: str) -> str:
    """Return the first sentence of *text*, whole."""
    flat = clean(text)
    end = _END.search(flat)
    return flat if end is None else flat[: end.end(1)]


def clause(text: str) -> str:
    """Return the first clause of the first sentence of *text* as a sentence."""
    first = sentence(text)
    end = _CLAUSE.search(first)
    return first if end is None else first[: end.start()] + "."


def first_sentence(text: str, most: int = LONGEST) -> str:
    """Return the first sentence of *text*, or as much of it as *most* characters hold."""
    return shortened(sentence(text), most)


def held(text: str) -> str:
    """Return *text* with each number held to its unit by a space that no line breaks at: `90 %`, `11 °C`, `8 h`."""
    return _UNIT.sub("\u00a0", text)


def capital(text: str) -> str:
    """Return *text* with a capital first letter."""
    return text[:1].upper() + text[1:]
