"""A control chart of a share: a point a week, the center, the limits that widen where parts are few,
and a ring around each signal.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from diagnose.report.pictures.canvas import FAINT, GREY, INK, PAPER, WIDTH, Sheet
from diagnose.report.pictures.svg import Alternative

#: weeks that are drawn, the last ones
MOST = 60
_LEFT, _TOP, _HEIGHT, _RIGHT = 12.0, 12.0, 62.0, WIDTH - 2.0
_DOT = 0.9


class ChartPoint(Struct, frozen=True):
    """One period: the share of bad parts and its limits (0 to 1), and the signals in words."""

    period: str
    share: float
    low: float
    high: float
    signals: tuple[str, ...]


def control_chart_svg(name: str, title: str, center: float, points: Sequence[ChartPoint], inline: bool = True) -> str:
    """Return the chart of *points* around *center* as SVG."""
    shown = points[-MOST:]
    sheet = Sheet(name, WIDTH, _TOP + _HEIGHT + 12.0)
    sheet.text(0.0, 5.0, title, size=10.0, bold=True)
    top = _ceiling(shown)
    _axis(sheet, top)
    if shown:
        _limits(sheet, shown, top)
        middle = _y(center, top)
        sheet.line([(_LEFT, middle), (_RIGHT, middle)], 0.8, INK, name="center")
        _points(sheet, shown, top)
    return sheet.svg(Alternative(title, _words(center, shown)), inline)


def _ceiling(points: Sequence[ChartPoint]) -> float:
    """The share at the top of the chart: whole tenths above all that is drawn."""
    highest = max((max(point.share, point.high) for point in points), default=0.1)
    return min(1.0, (int(highest * 10) + 1) / 10)


def _y(share: float, top: float) -> float:
    return _TOP + _HEIGHT * (1.0 - share / top)


def _x(i: float, count: int) -> float:
    return _LEFT + (_RIGHT - _LEFT) * (i + 0.5) / count


def _axis(sheet: Sheet, top: float) -> None:
    for tenth in range(0, round(top * 10) + 1, 1 if top <= 0.5 else 2):
        y = _y(tenth / 10, top)
        sheet.line([(_LEFT, y), (_RIGHT, y)], 0.3, FAINT)
        sheet.text(_LEFT - 1.5, y + 1.0, f"{10 * tenth} %", anchor="right")


def _limits(sheet: Sheet, points: Sequence[ChartPoint], top: float) -> None:
    for side in ("low", "high"):
        path = []
        for i, point in enumerate(points):
            y = _y(getattr(point, side), top)
            path += [(_x(i - 0.5, len(points)), y), (_x(i + 0.5, len(points)), y)]
        sheet.line(path, 0.6, GREY, dash=(3.0, 2.0), name=side)


def _points(sheet: Sheet, points: Sequence[ChartPoint], top: float) -> None:
    places = [(_x(i, len(points)), _y(point.share, top)) for i, point in enumerate(points)]
    if len(places) > 1:
        sheet.line(places, 0.8, INK, name="run")
    every = max(1, len(points) // 10)
    for i, ((x, y), point) in enumerate(zip(places, points, strict=True)):
        if point.signals:
            sheet.box(x - 2.0, y - 2.0, 4.0, 4.0, fill=PAPER, line=1.2, name=f"signal-{i + 1}")
        sheet.box(x - _DOT, y - _DOT, 2 * _DOT, 2 * _DOT, fill=INK, line=0.3)
        if i % every == 0:
            sheet.text(x, _TOP + _HEIGHT + 5.0, point.period[2:], anchor="center")


def _words(center: float, points: Sequence[ChartPoint]) -> str:
    signals = [
        f"{point.period} {100 * point.share:.0f} % ({', '.join(point.signals)})" for point in points if point.signals
    ]
    told = f"Signals: {'; '.join(signals)}." if signals else "No signal."
    return f"{len(points)} weeks around a center of {100 * center:.0f} % bad parts. {told}"
