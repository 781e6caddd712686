"""How sure, in words and a rounded figure.

A figure is rounded to tens, because the likelihoods behind it are words; word and figure come from the same rounding,
so that they never disagree, on the screen or on paper.
"""

from __future__ import annotations

#: the rounded figure in percent -> how sure in words
_SURE = {
    0: "very unlikely",
    10: "unlikely",
    20: "possible",
    30: "quite possible",
    40: "quite possible",
    50: "as likely as not",
    60: "likely",
    70: "likely",
    80: "very likely",
    90: "very likely",
    100: "almost certain",
}


def tens(chance: float) -> int:
    """Return *chance* (0 to 1) as a percentage rounded to tens, halves up;
    ten digits decide, so no machine rounds otherwise.
    """
    return 10 * int(round(chance, 10) * 10 + 0.5 + 1e-9)


def figure(chance: float) -> str:
    """Return *chance* as a rounded figure: `about 80 %`, `under 5 %`, `over 95 %`."""
    percent = tens(chance)
    if percent == 0:
        return "under 5 %"
    return "over 95 %" if percent == 100 else f"about {percent} %"


def sure(chance: float) -> str:
    """Return how sure *chance* is, in words."""
    return _SURE[tens(chance)]


def how_sure(chance: float) -> str:
    """Return word and figure: `very likely, about 80 %`."""
    return f"{sure(chance)}, {figure(chance)}"
