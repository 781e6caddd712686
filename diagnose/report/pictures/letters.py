"""How wide a text is, and how it folds: the advance widths of DejaVu Sans, in 2048ths of the type size.

A picture names DejaVu Sans first and faces of its width after it. Widths are those of its `hmtx` table (version 2.37),
kerning left out, which only ever draws letters closer; a letter that isn't listed counts as a wide one.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence

#: lines of type stand so many times their size apart; a point in millimetres
LEADING, MM = 1.22, 25.4 / 72.0
#: parts of the type size in which widths are counted
_EM = 2048
#: what a letter takes that is not listed, and one of a script whose letters are square
_OTHER, _SQUARE = 1400, 2048

_REGULAR = {
    563: "'",
    569: "ijlìíîï",
    604: "IJÌÍÎÏ",
    651: " ,.\u00a0·‘’",
    690: "/:;\\|¦",
    721: "f",
    739: "-",
    799: "()[]",
    803: "t",
    821: "!¡²³¹",
    842: "r",
    942: '"',
    965: "ªº",
    1024: "*_`§¨¯°´¸–",
    1061: "“”",
    1067: "s",
    1075: "z",
    1087: "?¿",
    1126: "cç",
    1141: "L",
    1178: "F",
    1186: "k",
    1212: "vxyýÿ",
    1235: "P",
    1239: "Þ",
    1251: "TYÝ",
    1253: "o«»ðòóôõöø",
    1255: "aàáâãäå",
    1260: "eèéêë",
    1290: "ß",
    1294: "EÈÉÊË",
    1298: "hnuñùúûü",
    1300: "Sbdgpqþ",
    1303: "$0123456789{}¢£¤¥µ¶€",
    1343: "K",
    1401: "AVÀÁÂÃÄÅ",
    1403: "XZ",
    1405: "B",
    1423: "R",
    1430: "CÇ",
    1499: "UÙÚÛÜ",
    1532: "NÑ",
    1540: "H",
    1577: "D",
    1587: "GÐ",
    1597: "&",
    1612: "OQÒÓÔÕÖØ",
    1675: "w",
    1716: "#+<=>^~¬±×÷≤≥",
    1767: "M",
    1946: "%",
    1985: "¼½¾",
    1995: "mÆ",
    2011: "æ",
    2025: "W",
    2048: "@©®—…",
}
_BOLD = {
    627: "'",
    702: "ijlìíîï",
    713: " \u00a0",
    748: "/\\|¦",
    762: "IJÌÍÎÏ",
    778: ",.·‘’",
    819: ":;",
    850: "-",
    891: "f",
    897: "²³¹",
    934: "!¡",
    936: "()[]",
    979: "t",
    1010: "r",
    1024: "_`§¨¯°´¸–",
    1067: '"',
    1071: "*",
    1155: "ªº",
    1188: "?¿",
    1192: "z",
    1214: "cç",
    1219: "s",
    1303: "¤¶",
    1305: "L",
    1321: "x",
    1323: "«»",
    1335: "vyýÿ",
    1346: "“”",
    1362: "k",
    1382: "aàáâãäå",
    1389: "eèéêë",
    1397: "T",
    1399: "EFÈÉÊË",
    1407: "oðòóôõöø",
    1425: "$0123456789¢£¥€",
    1458: "hnu{}ñùúûü",
    1466: "bdgpqþ",
    1473: "ß",
    1475: "S",
    1483: "YÝ",
    1485: "Z",
    1501: "P",
    1503: "CÇ",
    1507: "µ",
    1511: "Þ",
    1561: "B",
    1577: "R",
    1579: "X",
    1585: "AVÀÁÂÃÄÅ",
    1587: "K",
    1663: "UÙÚÛÜ",
    1681: "G",
    1700: "D",
    1714: "HNÑ",
    1716: "#+<=>^~¬±Ð×÷≤≥",
    1741: "OQÒÓÔÕÖØ",
    1786: "&",
    1892: "w",
    2038: "M",
    2048: "@©®—…",
    2052: "%",
    2120: "¼½¾",
    2134: "m",
    2146: "æ",
    2222: "Æ",
    2259: "W",
}


def _by_letter(table: dict[int, str]) -> dict[str, int]:
    return {letter: width for width, letters in table.items() for letter in letters}


_WIDTHS = {False: _by_letter(_REGULAR), True: _by_letter(_BOLD)}


def width_of(text: str, size: float, bold: bool = False) -> float:
    """Return the width of *text* in mm, *size* in points."""
    table = _WIDTHS[bold]
    return sum(table.get(letter) or _unlisted(letter) for letter in text) / _EM * size * MM


def _unlisted(letter: str) -> int:
    if unicodedata.combining(letter):
        return 0
    return _SQUARE if unicodedata.east_asian_width(letter) in ("W", "F") else _OTHER


def height_of(lines: Sequence[str], size: float) -> float:
    """Return the height of *lines* of type in mm."""
    return len(lines) * LEADING * size * MM


def wrapped(text: str, width: float, size: float, bold: bool = False, most: int = 0) -> list[str]:
    """Return *text* in lines no wider than *width* mm, at most *most* of them (0: as many as it takes);
    what is cut off ends in dots.
    """
    lines: list[str] = []
    for word in text.replace("-", "-\u200b").replace(" ", " \u200b").split("\u200b"):
        _take(lines, word, width, size, bold)
    lines = [line.rstrip() for line in lines]
    if most and len(lines) > most:
        lines = [*lines[: most - 1], _cut(" ".join(lines[most - 1 :]), width, size, bold)]
    return lines


def _take(lines: list[str], word: str, width: float, size: float, bold: bool) -> None:
    if lines and width_of((lines[-1] + word).rstrip(), size, bold) <= width:
        lines[-1] += word
        return
    while len(word) > 1 and width_of(word.rstrip(), size, bold) > width:  # a word wider than the column is broken
        length = next((n for n in range(len(word) - 1, 1, -1) if width_of(word[:n], size, bold) <= width), 1)
        lines.append(word[:length])
        word = word[length:]
    lines.append(word)


def _cut(text: str, width: float, size: float, bold: bool) -> str:
    while text and width_of(text + "...", size, bold) > width:
        text = text[:-1].rstrip()
    return text + "..."
