"""Numbers as people say them: about 400, 400-420, 1 lb 2 oz, 1 to 2, don't know. Turned into what a case file takes.

Nothing is guessed: what is not one of these forms goes on as it was typed, and the unit reader says what is wrong with
it. A number that is hedged ("about", a range) is known from memory at best.
"""

from __future__ import annotations

import re

from msgspec import Struct

from diagnose.knowledge import Check, Fact
from diagnose.units import QuantityError, parse_quantity

UNKNOWN = "unknown"
HEDGED = "remembered"
_RATIO = "parts_a_per_100_b"
_DONT_KNOW = {
    *("?", "??", "dk", "idk", "d/k", "n/a", "na", "unknown", "dont know", "don't know", "do not know", "i don't know"),
    *("i dont know", "no idea", "not sure", "no clue", "not known", "dunno", "unsure", "can't say", "cant say"),
}
_ABOUT = re.compile(
    r"^(?:about|around|roughly|approx(?:imately)?\.?|circa|ca\.?|some|maybe|nearly|almost|~|≈)\s*", re.I
)
_OR_SO = re.compile(r"\s*(?:or so|-ish|ish|or thereabouts|more or less)$", re.I)
_NUMBER = r"(?:\d+\s+\d+/\d+|\d+/\d+|\d+(?:[.,]\d+)?)"
_RANGE = re.compile(
    rf"^(?:between\s+)?(-?{_NUMBER})\s*([^\d\s-][^\d-]*?)?\s*(?:-|–|to|and|or)\s*(-?{_NUMBER})\s*(\D*)$", re.I
)
_PARTED = re.compile(r"^(\d+(?:\.\d+)?)\s*([A-Za-z\"'′″]+)\s*(?:and|,)?\s*(\d+(?:\.\d+)?)\s*([A-Za-z\"'′″]+)$")
_RATIO_SIDES = re.compile(
    rf"^({_NUMBER})\s*(?:parts?|g|grams)?\s*(?:of\s+)?a?\s*(?::|to|/)"
    rf"\s*({_NUMBER})\s*(?:parts?|g|grams)?\s*(?:of\s+)?b?$",
    re.I,
)


class Spoken(Struct, frozen=True):
    """A number as a case file takes it, and how it is known where the words say so (None: they don't)."""

    text: str
    source: str | None = None


def read_spoken(entry: Fact | Check, typed: str) -> Spoken:
    """Return what was *typed* for the number *entry* as a case file takes it;
    `unknown` for "don't know". Raises nothing.
    """
    text = " ".join(typed.replace("’", "'").split())
    if text.lower().rstrip(".!") in _DONT_KNOW or _is_nothing(entry, text):
        return Spoken(UNKNOWN)
    bare = _OR_SO.sub("", _ABOUT.sub("", text))
    source = HEDGED if bare != text else None
    if entry.unit == _RATIO:
        sides = _RATIO_SIDES.match(bare)
        return Spoken(f"{sides[1]}:{sides[2]}" if sides else re.sub(r"\s*parts?$", "", bare, flags=re.I), source)
    middle = _middle(entry.unit, bare)
    if middle is not None:
        return Spoken(middle, HEDGED)
    return Spoken(_summed(entry.unit, bare) or re.sub(r"(?<=\d)\s*parts?$", "", bare, flags=re.I), source)


def _is_nothing(entry: Fact | Check, text: str) -> bool:
    """Whether a 0 is meant as "don't know", as on every list: where no such number is believable."""
    return text == "0" and entry.plausible is not None and not entry.plausible[0] <= 0.0 <= entry.plausible[1]


def _middle(unit: str, text: str) -> str | None:
    """The middle of a range, in the unit typed; None where *text* is no range."""
    match = _RANGE.match(text)
    if match is None:
        return None
    spoken = (match[4] or match[2] or "").strip()
    try:
        low, high = (parse_quantity(f"{side} {spoken}".strip(), unit).value for side in (match[1], match[3]))
        plain = [parse_quantity(side, "1").value for side in (match[1], match[3])]
    except QuantityError:
        return None
    return f"{sum(plain) / 2:.6g} {spoken}".strip() if low <= high else None


def _summed(unit: str, text: str) -> str | None:
    """`1 lb 2 oz` in its smaller unit; None where *text* is no such sum."""
    match = _PARTED.match(text)
    if match is None:
        return None
    try:
        whole = parse_quantity(f"{match[1]} {match[2]}", unit).value
        small = parse_quantity(f"{match[3]} {match[4]}", unit).value
        one = parse_quantity(f"1 {match[4]}", unit).value
    except QuantityError:
        return None
    return f"{(whole + small) / one:.6g} {match[4]}" if small < whole else None


def is_round(text: str, value: float) -> bool:
    """Whether a number looks like a guess, as it was typed.

    One figure and noughts (under ten only 1, 2 and 5), or a multiple of 50.
    """
    match = re.match(r"\s*-?(\d+(?:[.,]\d+)?)", text)
    digits = match[1].replace(",", ".") if match else f"{abs(value):.12g}"
    number, figures = float(digits), digits.replace(".", "").strip("0")
    if number < 10:
        return figures in ("", "1", "2", "5")
    return len(figures) == 1 or number % 50 == 0
