"""A Pareto chart: bars by count, the most frequent first, with the line of what they come to together."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from diagnose.report.pictures.canvas import FAINT, GREY, INK, WIDTH, Sheet, wrapped
from diagnose.report.pictures.svg import Alternative

#: bars that are drawn; what is less frequent is put together
MOST = 10
_ROW, _LABEL, _TOP = 9.0, 62.0, 14.0
_BAR = WIDTH - _LABEL - 26.0


class ParetoBar(Struct, frozen=True):
    """One bar: its label, its count, and the share (0 to 1) of all counts up to and with it."""

    label: str
    count: int
    cumulative: float


def pareto_svg(name: str, title: str, bars: Sequence[ParetoBar], inline: bool = True) -> str:
    """Return *bars* as SVG; *name* keeps its parts apart from those of other pictures on a page."""
    drawn = _gathered(bars)
    sheet = Sheet(name, WIDTH, _TOP + _ROW * len(drawn) + 4.0)
    sheet.text(0.0, 5.0, title, size=10.0, bold=True)
    sheet.text(WIDTH, 5.0, "share so far", color=GREY, anchor="right")
    longest = max((bar.count for bar in drawn), default=1)
    for i, bar in enumerate(drawn):
        top = _TOP + i * _ROW
        sheet.lines(0.0, top, wrapped(bar.label, _LABEL - 3.0, 8.0, most=2))
        length = _BAR * bar.count / longest
        sheet.box(_LABEL, top, max(length, 0.3), _ROW - 3.0, fill=FAINT, line=0.6, name=f"bar-{i + 1}")
        sheet.text(_LABEL + length + 1.5, top + 4.4, str(bar.count))
        sheet.text(WIDTH, top + 4.4, f"{100 * bar.cumulative:.0f} %", anchor="right")
    sheet.line([(_LABEL, _TOP - 1.0), (_LABEL, _TOP + _ROW * len(drawn) - 2.0)], 0.8, INK)
    return sheet.svg(Alternative(title, _words(drawn)), inline)


def _gathered(bars: Sequence[ParetoBar]) -> list[ParetoBar]:
    if len(bars) <= MOST:
        return list(bars)
    rest = bars[MOST - 1 :]
    return [*bars[: MOST - 1], ParetoBar(f"{len(rest)} others", sum(bar.count for bar in rest), 1.0)]


def _words(bars: Sequence[ParetoBar]) -> str:
    return "; ".join(f"{bar.label}: {bar.count}, {100 * bar.cumulative:.0f} % so far" for bar in bars) + "."
