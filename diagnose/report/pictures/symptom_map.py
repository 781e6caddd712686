"""The map of a symptom: a row for each cause, what mends it on its left, what tells it on its right.

Causes stand by how often they show as the symptom. Each gets its surest remedy for the pours to come, and of all that
can be checked or measured what parts it best from the other causes on the map. Lines run level within their row, so
none crosses a text; each is as wide as its link, and the word of the link stands in the box. What doesn't fit on one
sheet is counted.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from diagnose.knowledge import Cause, Knowledge
from diagnose.prose.answer import Teller, mends
from diagnose.prose.text import counted, held, shortened
from diagnose.prose.text import lowered as in_sentence
from diagnose.report.pictures.canvas import FAINT, GREY, INK, PAPER, SMALLEST, WIDTH, Sheet, height_of, wrapped
from diagnose.report.pictures.svg import Alternative

NAME = "map"
MOST_CAUSES = 14
#: a check tells a cause that shows in it at least so surely, a fact one that it makes so many times likelier
TELLS, SPEAKS = 0.4, 3.0
#: a fact that makes a cause so many times likelier points to it strongly
_STRONG = 8.0
#: a check is no better than so many times the odds, however rare its result is elsewhere
_BEST = 20.0
_THIS_PART = "this_part"


class Beside(Struct, frozen=True):
    """What stands beside a cause: a remedy, a check or a fact, its text, the link (0 to 1,
    of a fact 0.5 or 0.8) and its word.
    """

    kind: str
    id: str
    title: str
    p: float
    said: str
    soon: bool = True  # on the next pour, and not between pours


class MapRow(Struct, frozen=True):
    """A cause, how often it shows as the symptom, what mends it and what tells it (None where nothing does)."""

    cause: str
    title: str
    p: float
    word: str
    remedy: Beside | None
    check: Beside | None


class SymptomMap(Struct, frozen=True):
    """All that the map shows, the oftenest cause first; *more* causes did not fit."""

    title: str
    rows: tuple[MapRow, ...]
    more: int


def map_of(knowledge: Knowledge, symptom: str) -> SymptomMap:
    """Return the map of *symptom*. Raises KeyError where there is none of that id."""
    title = shortened(knowledge.symptoms[symptom].title, 80)
    found = [cause for cause in knowledge.causes.values() if symptom in cause.symptoms]
    order = sorted(found, key=lambda cause: (-cause.symptoms[symptom].p, -cause.base, cause.id))
    shown = order[:MOST_CAUSES]
    rows = []
    for cause in shown:
        link = cause.symptoms[symptom]
        rest = [other for other in shown if other.id != cause.id]
        check = _telling(knowledge, cause, rest)
        rows.append(MapRow(cause.id, shortened(cause.title, 80), link.p, link.word, _remedy(knowledge, cause), check))
    return SymptomMap(title, tuple(rows), len(order) - len(shown))


def _remedy(knowledge: Knowledge, cause: Cause) -> Beside | None:
    """The surest remedy for the pours to come, one for the next pour before work between pours."""
    fixes = [
        (remedy.when != "next_pour", -remedy.fixes[cause.id].p, remedy.minutes + remedy.wait_minutes, remedy.id)
        for remedy in knowledge.remedies.values()
        if cause.id in remedy.fixes and remedy.when != _THIS_PART
    ]
    if not fixes:
        return None
    later, _, _, name = min(fixes, key=lambda fix: (fix[1], *fix))
    remedy = knowledge.remedies[name]
    link = remedy.fixes[cause.id]
    said = mends(link.word) + (", between pours" if later else "")
    return Beside("remedy", name, shortened(remedy.title, 80), link.p, said, not later)


def _telling(knowledge: Knowledge, cause: Cause, rest: Sequence[Cause]) -> Beside | None:
    """What parts *cause* best from the *rest*: a result of a check that it shows in,
    or an answer that makes it likelier.
    """
    found = [*_checks(knowledge, cause, rest), *_facts(knowledge, cause)]
    if not found:
        return None
    return min(found, key=lambda pair: (-round(pair[0], 9), pair[1].kind, pair[1].id))[1]


def _checks(knowledge: Knowledge, cause: Cause, rest: Sequence[Cause]) -> list[tuple[float, Beside]]:
    found = []
    for name, results in cause.checks.items():
        check = knowledge.checks[name]
        for result, link in results.items():
            if link.p < TELLS or result == check.base:
                continue
            others = [other.checks[name][result].p for other in rest if result in other.checks.get(name, {})]
            elsewhere = sum(others) / max(len(rest), 1) + check.results[result].background
            text = f"{check.short}: {Teller(knowledge).value(name, result)}"
            worth = min(link.p / max(elsewhere, 0.01), _BEST)
            found.append((worth, Beside("check", name, shortened(text, 90), link.p, f"{link.word} shows")))
    return found


def _facts(knowledge: Knowledge, cause: Cause) -> list[tuple[float, Beside]]:
    found = []
    for name, evidence in cause.facts.items():
        fact = knowledge.facts[name]
        values: list[tuple[float, str | float]] = [(ratio, value) for value, ratio in evidence.choices.items()]
        values += [(ratio, value) for value, ratio in evidence.curve]
        ratio, value = max(values, key=lambda pair: pair[0])
        if ratio < SPEAKS:
            continue
        said = Teller(knowledge).value(name, value)
        text = f"{fact.short} near {said}" if isinstance(value, float) else f"{fact.short}: {said}"
        strong = ratio >= _STRONG
        words = "points to it strongly" if strong else "points to it"
        found.append((ratio, Beside("fact", name, shortened(text, 90), 0.8 if strong else 0.5, words)))
    return found


# -- in words ------------------------------------------------------------------------------------------------------


def map_words(made: SymptomMap) -> Alternative:
    """Return the map in words: each cause, how often it shows so, what mends it and what tells it."""
    parts = [
        f"Map of the symptom {in_sentence(made.title)}: its causes, the oftenest first, each with what mends it and "
        f"what tells it."
    ]
    parts += [_row_in_words(row) for row in made.rows]
    parts.append(_left_out(made))
    return Alternative(f"What may cause it, what mends it, what tells it: {made.title}", " ".join(filter(None, parts)))


def _row_in_words(row: MapRow) -> str:
    said = f"{row.title}: {row.word} shows so"
    if row.remedy is not None:
        said += f"; mended by {in_sentence(row.remedy.title)} ({row.remedy.said})"
    if row.check is not None:
        said += f"; told by {row.check.title} ({row.check.said})"
    return f"{said}."


def _left_out(made: SymptomMap) -> str:
    return f"Left out: {counted(made.more, 'cause')} that show so more seldom." if made.more else ""


# -- on the sheet --------------------------------------------------------------------------------------------------

#: left and width of the columns, mm
_REMEDIES, _CAUSES, _CHECKS = (1.0, 56.0), (66.0, 55.0), (130.0, 49.0)
_TYPE, _PAD, _GAP = 8.4, 1.4, 2.0
_BAR = 18.0
_CHECK_INK, _LATER_INK = "#00735c", "#0b5fa5"
_LATER = (5.0, 2.5)


def draw_map(made: SymptomMap) -> Sheet:
    """Return *made* laid out on a sheet."""
    title = wrapped(made.title, WIDTH - 4, 13, bold=True, most=2)
    top = 2.0 + height_of(title, 13) + height_of([""], 9) + 9.0
    heights = [_row_height(row) for row in made.rows]
    sheet = Sheet(NAME, WIDTH, round(top + sum(height + _GAP for height in heights) + 20.0, 1))
    below = sheet.lines(2.0, 2.0, title, 13, bold=True)
    sheet.lines(2.0, below, ["What may cause it, the oftenest first; what mends that, and what tells it"], 9, GREY)
    heads = (
        ("What mends it", _REMEDIES),
        ("What may have gone wrong", _CAUSES),
        ("What tells it from the others", _CHECKS),
    )
    for text, (left, _) in heads:
        sheet.text(left, top - 2.0, text, SMALLEST, GREY)
    y = top
    for row, height in zip(made.rows, heights, strict=True):
        _draw_row(sheet, row, y, height)
        y += height + _GAP
    _legend(sheet, made, y)
    return sheet


def _folded(text: str, column: tuple[float, float]) -> list[str]:
    return wrapped(held(text), column[1] - 2 * _PAD - 0.6, _TYPE, most=3)


def _row_height(row: MapRow) -> float:
    texts = [_folded(row.title, _CAUSES)]
    texts += [_folded(row.remedy.title, _REMEDIES)] if row.remedy is not None else []
    texts += [_folded(row.check.title, _CHECKS)] if row.check is not None else []
    return max(height_of(lines, _TYPE) for lines in texts) + height_of([""], SMALLEST) + 2 * _PAD


def _wide(p: float) -> float:
    """Points for a link."""
    return 0.4 + 3.4 * p


def _draw_row(sheet: Sheet, row: MapRow, top: float, height: float) -> None:
    middle = top + height / 2
    if row.remedy is not None:
        ink, dash = (INK, ()) if row.remedy.soon else (_LATER_INK, _LATER)
        ends = [(_REMEDIES[0] + _REMEDIES[1], middle), (_CAUSES[0], middle)]
        sheet.line(ends, _wide(row.remedy.p), ink, dash, f"mends-{row.cause}")
        _box(sheet, _REMEDIES, top, height, row.remedy.title, f"remedy-{row.cause}", ink)
        _said(sheet, _REMEDIES, top + height, row.remedy.said)
    if row.check is not None:
        ends = [(_CAUSES[0] + _CAUSES[1], middle), (_CHECKS[0], middle)]
        sheet.line(ends, _wide(row.check.p), _CHECK_INK, (), f"tells-{row.cause}")
        _box(sheet, _CHECKS, top, height, row.check.title, f"check-{row.cause}", _CHECK_INK)
        _said(sheet, _CHECKS, top + height, row.check.said)
    _box(sheet, _CAUSES, top, height, row.title, f"cause-{row.cause}", INK, 1.3)
    _bar(sheet, _CAUSES[0] + _PAD + 0.4, top + height - _PAD - 0.9, row.p, f"shows-{row.cause}")
    sheet.text(_CAUSES[0] + _PAD + _BAR + 2.4, top + height - _PAD, f"{row.word} shows so", SMALLEST, GREY)


def _box(
    sheet: Sheet,
    column: tuple[float, float],
    top: float,
    height: float,
    title: str,
    name: str,
    ink: str,
    line: float = 0.7,
) -> None:
    sheet.box(column[0], top, column[1], height, PAPER, ink, line, f"box-{name}")
    sheet.lines(column[0] + _PAD + 0.4, top + _PAD - 0.3, _folded(title, column), _TYPE, INK, name=f"label-{name}")


def _said(sheet: Sheet, column: tuple[float, float], bottom: float, text: str) -> None:
    sheet.text(column[0] + _PAD + 0.4, bottom - _PAD, text, SMALLEST, GREY)


def _bar(sheet: Sheet, x: float, y: float, p: float, name: str = "") -> None:
    """How often a cause shows so, as a bar on its track."""
    sheet.line([(x, y), (x + _BAR, y)], 0.5, FAINT)
    sheet.line([(x, y), (x + _BAR * p, y)], 4.0, INK, name=name)


def _legend(sheet: Sheet, made: SymptomMap, top: float) -> None:
    """Say what bars, widths and dashes mean, and what is left out."""
    sheet.line([(2.0, top), (WIDTH - 2.0, top)], 0.5, GREY)
    y = top + 4.4
    sheet.text(2.0, y, "Bar: how often the cause shows as this fault", SMALLEST, GREY)
    for x, p, word in ((82.0, 0.75, "usually"), (125.0, 0.25, "sometimes")):
        _bar(sheet, x, y - 1.0, p)
        sheet.text(x + _BAR + 1.5, y, word, SMALLEST, GREY)
    y += 4.8
    sheet.text(2.0, y, "Line: as wide as its link is sure;", SMALLEST, GREY)
    samples: list[tuple[str, str, tuple[float, ...]]] = [
        ("mends it on the next pour", INK, ()),
        ("tells it", _CHECK_INK, ()),
    ]
    if any(row.remedy is not None and not row.remedy.soon for row in made.rows):
        samples.insert(1, ("between pours", _LATER_INK, _LATER))
    x = 56.0
    for said, ink, dash in samples:
        sheet.line([(x, y - 1.0), (x + 8.0, y - 1.0)], 1.8, ink, dash)
        sheet.text(x + 9.5, y, said, SMALLEST, GREY)
        x += 53.0 if ink == INK else 36.0
    sheet.text(2.0, y + 4.8, _left_out(made), SMALLEST, GREY)
