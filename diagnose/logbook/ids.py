"""Short ids of cases: a running number in letters and digits that can be told over the phone,
with a letter that checks it.

The alphabet leaves out what is misread (0, 1, i, l, o) and has a prime number of signs, so that the check finds every
single wrong sign and every swap of two neighbors. Running numbers are spread, so that two cases of one day don't look
alike.
"""

from __future__ import annotations

SIGNS = "23456789abcdefghjkmnpqrstuvwxyz"
_BASE = len(SIGNS)
_SHORTEST = 4
#: spreads running numbers over the ids of one length; shares no factor with the base
_STRIDE = 398_581


def encode(number: int) -> str:
    """Return the id of running *number* (0 and up): four signs and a check up to 923,520,
    one sign more for each 31-fold.
    """
    if number < 0:
        raise ValueError(f"a running number of 0 or more, not {number}")
    length, first = _SHORTEST, 0
    while number - first >= _BASE**length:
        first += _BASE**length
        length += 1
    spread = (number - first) * _STRIDE % _BASE**length
    signs = []
    for _ in range(length):
        spread, sign = divmod(spread, _BASE)
        signs.append(SIGNS[sign])
    return "".join(signs) + _check("".join(signs))


def is_sound(text: str) -> bool:
    """Whether *text* is an id that this program could have given: its check fits."""
    return len(text) > _SHORTEST and all(sign in SIGNS for sign in text) and _check(text[:-1]) == text[-1]


def _check(signs: str) -> str:
    return SIGNS[sum((place + 2) * SIGNS.index(sign) for place, sign in enumerate(signs)) % _BASE]
