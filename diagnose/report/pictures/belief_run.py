"""The run of beliefs over the questions: how likely each leading cause was after each answer,
in the order in which they were given.

Time runs down the sheet, so that each answer stands in words beside its step. A line is told by its color, its dashes
and its mark, and ends in its name; the names go down in steps, so that no line crosses one. The case is thought through
anew after every answer, by the same reasoning as the whole, so the last row is the result of the report.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from diagnose.assessment.consultation import Consultation
from diagnose.assessment.verdict import SHOWN
from diagnose.prose.answer import Teller
from diagnose.prose.chance import figure, tens
from diagnose.prose.quantity import Units
from diagnose.prose.text import counted, held, shortened
from diagnose.prose.text import lowered as in_sentence
from diagnose.report.pictures.canvas import (
    FAINT,
    GREY,
    INK,
    PAPER,
    SMALLEST,
    WIDTH,
    Point,
    Sheet,
    height_of,
    width_of,
    wrapped,
)
from diagnose.report.pictures.svg import Alternative

NAME = "beliefs"
#: at most so many lines, so many of them for what leads at the end
MOST, MOST_LAST = 6, 4
#: rows that fit on a sheet; where there are more answers, those that moved no line much are left out
MOST_ROWS = 40
#: up to so many answers may take two lines each
TWO_LINES = 20
UNLISTED = "Something not on the list"
_LEFT, _RIGHT = 84.0, WIDTH - 7.0  # where 0 and 100 percent stand, mm
_TYPE = 8.4  # of the answers, points


class Run(Struct, frozen=True):
    """One line: the chance of having had a part after each answer; *id* is empty for what is not on the list."""

    id: str
    title: str
    chances: tuple[float, ...]

    @property
    def last(self) -> float:
        """The chance after all answers."""
        return self.chances[-1]


class BeliefRun(Struct, frozen=True):
    """All that the picture shows: *answers* in words, in the order given;
    *unknown* answers of "don't know" and *still* ones are left out.
    """

    title: str
    answers: tuple[str, ...]
    runs: tuple[Run, ...]
    unknown: int
    still: int


def beliefs_of(consultation: Consultation) -> BeliefRun:
    """Return the run of beliefs of a case, thought through after each answer.
    Raises TooManySeen and NoWayToBe as the beliefs do.
    """
    case, knowledge = consultation.case, consultation.knowledge
    known = [name for name, answer in case.values.items() if answer.known]
    steps = [_after(consultation, known[: i + 1]) for i in range(len(known))]
    runs = tuple(Run(name, _title(consultation, name), tuple(step[name] for step in steps)) for name in _leading(steps))
    told = Teller(knowledge, Units.of(case.written.values()))
    answers = tuple(
        shortened(told.said(name, answer.value, answer.source, case.written.get(name, "")), 140)
        for name, answer in ((name, case.values[name]) for name in known)
    )
    title = shortened(case.title, 90) or "A case without a title"
    return _fitting(BeliefRun(title, answers, runs, len(case.answers) - len(known), 0))


def _after(consultation: Consultation, told: Sequence[str]) -> dict[str, float]:
    """The chances after the answers *told*; the empty id is what is not on the list."""
    case = consultation.case
    part = Consultation(consultation.models, replace(case, answers={name: case.answers[name] for name in told}))
    if not part.symptoms_seen:
        return dict.fromkeys((*consultation.knowledge.causes, ""), 0.0)
    found = {belief.id: belief.probability for belief in part.situation.beliefs.causes}
    return {**dict.fromkeys(consultation.knowledge.causes, 0.0), **found, "": part.situation.beliefs.unexplained}


def _leading(steps: Sequence[dict[str, float]]) -> list[str]:
    """What gets a line: the causes that lead at the end, then those that once came first,
    likeliest at the end first.
    """
    last = {name: round(chance, 10) for name, chance in steps[-1].items()}
    order = sorted((name for name in last if name), key=lambda name: (-last[name], name))
    chosen = [name for i, name in enumerate(order) if i == 0 or last[name] >= SHOWN][:MOST_LAST]
    once = [
        min((name for name in step if name), key=lambda name: (-round(step[name], 10), name))
        for step in steps
        if any(step.values())
    ]
    chosen += [name for name in dict.fromkeys(once) if name not in chosen]
    if last[""] >= 2 * SHOWN:
        chosen.insert(MOST_LAST, "")
    return sorted(chosen[:MOST], key=lambda name: (-last[name], name))


def _title(consultation: Consultation, name: str) -> str:
    return shortened(consultation.knowledge.causes[name].title, 80) if name else UNLISTED


def _fitting(run: BeliefRun) -> BeliefRun:
    """Leave out the answers that moved least, if there are more than fit;
    the moves of those left out show in the next row.
    """
    rows = len(run.answers)
    if rows <= MOST_ROWS:
        return run
    moved = [max(abs(line.chances[i] - (line.chances[i - 1] if i else 0.0)) for line in run.runs) for i in range(rows)]
    most = sorted(range(rows - 1), key=lambda i: (-round(moved[i], 10), i))[: MOST_ROWS - 1]
    kept = [*sorted(most), rows - 1]
    runs = tuple(replace(line, chances=tuple(line.chances[i] for i in kept)) for line in run.runs)
    return replace(run, answers=tuple(run.answers[i] for i in kept), runs=runs, still=rows - len(kept))


# -- in words ------------------------------------------------------------------------------------------------------


def beliefs_words(run: BeliefRun) -> Alternative:
    """Return the picture in words: where each line ends, and what moved it most."""
    parts = [
        f"Run of beliefs over {counted(len(run.answers), 'answer')}, in the order given: the chance that each had a "
        f"part in what is seen."
    ]
    parts += [_line_in_words(run, line) for line in run.runs]
    parts.append(_left_out(run))
    return Alternative(f"How the beliefs ran: {run.title}", " ".join(filter(None, parts)))


def _line_in_words(run: BeliefRun, line: Run) -> str:
    before = (0.0, *line.chances[:-1])
    moves = [now - was for now, was in zip(line.chances, before, strict=True)]
    up = max(range(len(moves)), key=lambda i: (round(moves[i], 10), -i))
    down = min(range(len(moves)), key=lambda i: (round(moves[i], 10), i))
    said = (
        f"{line.title}: {figure(line.last)} at the end; most up by answer {up + 1}, {run.answers[up]}, to "
        f"{figure(line.chances[up])}"
    )
    if moves[down] <= -SHOWN:
        said += f"; most down by answer {down + 1}, {run.answers[down]}, to {figure(line.chances[down])}"
    return f"{said}."


def _left_out(run: BeliefRun) -> str:
    said = []
    if run.unknown:
        said.append(
            f"{counted(run.unknown, 'question')} answered by don't know changed nothing and "
            f"{'is' if run.unknown == 1 else 'are'} left out."
        )
    if run.still:
        said.append(f"{counted(run.still, 'answer')} that moved little {'is' if run.still == 1 else 'are'} left out.")
    return " ".join(said)


# -- on the sheet --------------------------------------------------------------------------------------------------


class Style(Struct, frozen=True):
    """How a line looks: its color, dashes in points, and the mark on it; no two share dashes or mark."""

    color: str
    dash: tuple[float, ...]
    mark: str


#: chosen to stay apart for eyes that miss red, green or blue, and dark enough for print in grey
STYLES = (
    Style("#111111", (), "disc"),
    Style("#0b5fa5", (7.0, 2.5), "square"),
    Style("#b34700", (2.0, 2.0), "triangle"),
    Style("#00735c", (9.0, 2.5, 2.0, 2.5), "diamond"),
    Style("#8b3f8f", (4.5, 4.5), "cross"),
    Style("#6b6b6b", (12.0, 3.0, 2.0, 3.0, 2.0, 3.0), "ring"),
)


def draw_beliefs(run: BeliefRun) -> Sheet:
    """Return *run* laid out on a sheet."""
    most = 2 if len(run.answers) <= TWO_LINES else 1
    texts = [
        wrapped(f"{i}. {in_sentence(answer)}", _LEFT - 8.0, _TYPE, most=most)
        for i, answer in enumerate(run.answers, start=1)
    ]
    pad = 1.1 if len(texts) <= 25 else 0.35
    heights = [height_of(lines, _TYPE) + 2 * pad for lines in texts]
    title = wrapped(run.title, WIDTH - 4, 13, bold=True, most=2)
    top = 2.0 + height_of(title, 13) + height_of([""], 9) + 9.0
    edges = [top]
    for height in heights:
        edges.append(edges[-1] + height)
    ends = _spread([_at(line.last) for line in run.runs])
    names = [
        wrapped(f"{line.title}, {held(figure(line.last))}", end - 9.0, 9, bold=True)
        for line, end in zip(run.runs, ends, strict=True)
    ]
    bottom = edges[-1] + 10.0 + sum(height_of(lines, 9) + 1.6 for lines in names)
    sheet = Sheet(NAME, WIDTH, round(bottom + 7.0, 1))
    below = sheet.lines(2.0, 2.0, title, 13, bold=True)
    sheet.lines(
        2.0, below, ["How the beliefs ran: chance of having had a part, after each answer in the order given"], 9, GREY
    )
    _rows(sheet, texts, edges, pad)
    _scale(sheet, edges[0], edges[-1])
    for line, style in reversed(list(zip(run.runs, STYLES, strict=False))):
        _draw_run(sheet, line, style, edges)
    _names(sheet, run, names, ends, edges[-1])
    sheet.lines(2.0, bottom + 1.5, [_left_out(run)], SMALLEST, GREY)
    return sheet


def _at(chance: float) -> float:
    return _LEFT + (_RIGHT - _LEFT) * chance


def _rows(sheet: Sheet, texts: list[list[str]], edges: list[float], pad: float) -> None:
    for i, lines in enumerate(texts):
        if i % 2 == 0:
            sheet.box(1.0, edges[i], WIDTH - 2.0, edges[i + 1] - edges[i], "#f1f1f1", "#f1f1f1", 0.1)
        sheet.lines(2.5, edges[i] + pad, lines, _TYPE, name=f"answer-{i + 1}")


def _scale(sheet: Sheet, top: float, bottom: float) -> None:
    for percent in (0, 25, 50, 75, 100):
        x = _at(percent / 100)
        sheet.line([(x, top), (x, bottom)], 0.8 if percent == 0 else 0.5, GREY if percent == 0 else FAINT)
        sheet.text(x, top - 1.5, f"{percent} %", SMALLEST, GREY, anchor="center")


def _draw_run(sheet: Sheet, line: Run, style: Style, edges: list[float]) -> None:
    """Draw a line down the rows, a step at each answer, with its mark wherever it is off the floor."""
    points: list[Point] = []
    for i, chance in enumerate(line.chances):
        points += [(_at(chance), edges[i]), (_at(chance), edges[i + 1])]
    name = line.id or "unlisted"
    sheet.line(points, 2.0, style.color, style.dash, f"run-{name}")
    for i, chance in enumerate(line.chances):
        if chance >= SHOWN / 2:
            _mark(sheet, (_at(chance), (edges[i] + edges[i + 1]) / 2), style)


def _mark(sheet: Sheet, at: Point, style: Style) -> None:
    x, y = at
    r = 1.25
    if style.mark == "cross":
        for sign in (-1, 1):
            sheet.line([(x - r, y - sign * r), (x + r, y + sign * r)], 1.6, style.color)
        return
    corners = {
        "disc": _round(r),
        "ring": _round(r),
        "square": ((-r, -r), (r, -r), (r, r), (-r, r)),
        "triangle": ((-1.2 * r, r), (1.2 * r, r), (0.0, -1.2 * r)),
        "diamond": ((0.0, -1.4 * r), (1.4 * r, 0.0), (0.0, 1.4 * r), (-1.4 * r, 0.0)),
    }[style.mark]
    fill = style.color if style.mark in ("disc", "triangle") else PAPER
    sheet.shape([(x + dx, y + dy) for dx, dy in corners], fill, style.color, 1.3)


def _round(r: float) -> tuple[Point, ...]:
    """Sixteen corners are round enough at this size."""
    c = (1.0, 0.9239, 0.7071, 0.3827, 0.0, -0.3827, -0.7071, -0.9239)
    circle = [*c, *(-value for value in c)]
    return tuple((r * circle[i], r * circle[i - 4]) for i in range(16))


def _spread(ends: list[float]) -> list[float]:
    """Return the places of the leaders: where the lines end, pushed apart to the right so that none covers another."""
    placed = dict.fromkeys(range(len(ends)), 0.0)
    last = -1.0e9
    for i in sorted(placed, key=lambda i: (ends[i], -i)):
        last = max(ends[i], last + 3.2)
        placed[i] = last
    over = max(0.0, last - (WIDTH - 3.0))
    return [placed[i] - over for i in range(len(ends))]


def _names(sheet: Sheet, run: BeliefRun, names: list[list[str]], ends: list[float], floor: float) -> None:
    """Write the names below the lines, the leftmost first, each left of its leader and below the one before."""
    sheet.text(2.5, floor + 4.2, "After all answers:", SMALLEST, GREY)
    y = floor + 8.0
    for i in sorted(range(len(ends)), key=lambda i: ends[i]):
        style, line = STYLES[i], run.runs[i]
        middle = y + height_of(names[i], 9) / 2
        sheet.line(
            [
                (_at(line.last), floor),
                (_at(line.last), floor + 1.5),
                (ends[i], floor + 6.0),
                (ends[i], middle),
                (ends[i] - 3.5, middle),
            ],
            2.0,
            style.color,
            style.dash,
        )
        _mark(sheet, (ends[i] - 4.6, middle), style)
        wide = max(width_of(text, 9, True) for text in names[i])
        sheet.lines(
            ends[i] - 7.0 - wide, y, names[i], 9, INK, True, name=f"name-{line.id or 'unlisted'}-{tens(line.last)}"
        )
        y += height_of(names[i], 9) + 1.6
