"""How the cause-and-effect diagram is laid out: rows, room along the spine, labels, and the lines themselves.

Everything is measured before it is drawn: each bone gets what its name takes, and what is left of the spine goes to the
bone with the tallest labels. Where even that breaks words, smaller type and longer bones are tried.
"""

from __future__ import annotations

from itertools import accumulate

from msgspec import Struct
from msgspec.structs import replace

from diagnose.assessment.verdict import LEADING
from diagnose.prose.chance import figure, tens
from diagnose.prose.text import held, listed
from diagnose.prose.text import lowered as in_sentence
from diagnose.report.pictures.canvas import (
    GREY,
    INK,
    MM,
    SMALLEST,
    WIDTH,
    Point,
    Sheet,
    height_of,
    width_of,
    wrapped,
)
from diagnose.report.pictures.fishbone import NAME, Bone, Fishbone, Twig

_TOP = ("material", "mixing", "pouring", "cure")
#: the longest that a bone may become, mm
_LONGEST = 92.0
_HEAD = 36.0  # width of the head, mm
_LEFT, _LEAN = 3.0, 11.0  # where the spine begins, and how far the tip of a bone leans back
_THIN, _ROOM = 4.5, 3.0  # room for the fine twigs beside a bone, and between one label and the next bone
#: most symptoms in the head
_MOST_SEEN = 7
#: type of a bone's name, points
_NAME = 9.5
#: millimetres handed out at a time
_STEP = 1.0
_SMALL = 0.5  # width of a fine twig in points


def short_figure(chance: float) -> str:
    """Return *chance* as a picture writes it: `70 %`, `under 5 %`, `over 95 %`."""
    return figure(chance).removeprefix("about ")


def tone(chance: float) -> str:
    """Return the grey of a label: the likelier the blacker, never too pale to read."""
    level = int(0x55 * (1.0 - min(1.0, chance / 0.5)))
    return f"#{level:02x}{level:02x}{level:02x}"


class _Written(Struct, frozen=True):
    """The label of a cause, wrapped; *broken* where a word had to be cut."""

    twig: Twig
    lines: tuple[str, ...]
    size: float
    bold: bool
    broken: bool

    @property
    def height(self) -> float:
        """What label and twig take of the bone, mm."""
        return height_of(self.lines, self.size) + _thickness(self.twig.chance) * MM + 3.0


class _Column(Struct, frozen=True):
    """Where a bone stands: it meets the spine at *foot* (x, mm), its labels are *room* mm wide,
    it is *shortest* mm long or more.
    """

    bone: Bone
    foot: float
    room: float
    shortest: float
    labels: tuple[_Written, ...] = ()

    @property
    def rest(self) -> int:
        """Causes without a label."""
        return self.bone.rest + len(self.bone.twigs) - len(self.labels)

    @property
    def stack(self) -> float:
        """The height of all labels, mm."""
        return sum(label.height for label in self.labels) + 5.0

    @property
    def broken(self) -> bool:
        """Whether a word had to be cut."""
        return any(label.broken for label in self.labels)


def draw_fishbone(fish: Fishbone) -> Sheet:
    """Return *fish* laid out on a sheet."""
    columns = [_columns(row, above) for row, above in zip(_rows(fish), (True, False), strict=True)]
    lengths = [max([_TYPES[0].shortest, *(max(column.stack, column.shortest) for column in row)]) for row in columns]
    names = [max(_name_height(column) for column in row) for row in columns]
    head = _head_lines(fish)
    half = max(height_of(head, 10) / 2 + 7.0, 13.0)
    title = wrapped(fish.title, WIDTH - 4, 13, bold=True, most=2)
    top = 2.0 + height_of(title, 13) + height_of([""], 9) + 4.0
    spine = top + max(names[0] + lengths[0], half)
    bottom = spine + max(names[1] + lengths[1], half)
    sheet = Sheet(NAME, WIDTH, round(bottom + 18.5, 1))
    _title(sheet, title)
    for row, above, length in zip(columns, (True, False), lengths, strict=True):
        for column in row:
            _draw_bone(sheet, column, spine, -length if above else length)
    _draw_head(sheet, head, spine, half)
    _legend(sheet, fish, bottom + 3.0)
    return sheet


def _title(sheet: Sheet, title: list[str]) -> None:
    below = sheet.lines(2.0, 2.0, title, 13, bold=True)
    sheet.lines(2.0, below, ["Cause and effect: what may have had a part"], 9, GREY)


def _rows(fish: Fishbone) -> tuple[list[Bone], list[Bone]]:
    """Return the bones above and below the spine: five above only where all nine belong to the part."""
    acting = [bone for bone in fish.bones if bone.applies]
    above = [bone for bone in acting if bone.stage in _TOP or (bone.stage == "environment" and len(acting) > 8)]
    return above, [bone for bone in acting if bone not in above]


class _Type(Struct, frozen=True):
    """Type of the labels: *base* points, so much more for a sure cause, bold for the leading ones or not,
    on bones *shortest* mm long or more.
    """

    base: float
    more: float
    bold: bool
    shortest: float

    def size(self, twig: Twig) -> float:
        return round(self.base + self.more * twig.chance, 1)

    def heavy(self, twig: Twig) -> bool:
        return self.bold and twig.chance >= LEADING


_TYPES = (_Type(8.6, 2.0, True, 34.0), _Type(SMALLEST, 0.6, True, 60.0), _Type(SMALLEST, 0.0, False, _LONGEST))


def _columns(bones: list[Bone], above: bool) -> list[_Column]:
    """Share the spine among the bones of one side, in the largest type that breaks no word."""
    for kind in _TYPES:
        columns = _shared(bones, above, kind)
        if not any(column.broken for column in columns):
            break
    return columns


def _shared(bones: list[Bone], above: bool, kind: _Type) -> list[_Column]:
    """Each bone gets room for its name; what is left goes
    millimetre by millimetre to the one with the tallest labels.
    """
    names = [_name_width(bone) for bone in bones]
    wide = [
        max((names[max(i - 1, 0)] + names[i]) / 2 + 2.0, 25.0 if bone.twigs else 0.0) for i, bone in enumerate(bones)
    ]
    free = WIDTH - _HEAD - 5.0 - _LEFT - _LEAN - sum(wide)
    made = [_column(bone, width, above, kind) for bone, width in zip(bones, wide, strict=True)]
    if any(bone.twigs for bone in bones):
        while free >= _STEP:
            i = max(range(len(made)), key=lambda i: (made[i].broken, made[i].stack, -wide[i]))
            wide[i] += _STEP
            made[i] = _column(bones[i], wide[i], above, kind)
            free -= _STEP
    feet = list(accumulate(width + max(free, 0.0) / len(bones) for width in wide))
    return [replace(column, foot=_LEFT + _LEAN + foot - _THIN) for column, foot in zip(made, feet, strict=True)]


def _name_width(bone: Bone) -> float:
    return max(width_of(text, size, bold) for text, size, bold in _name_lines(bone, bone.rest))


def _column(bone: Bone, wide: float, above: bool, kind: _Type) -> _Column:
    """Return the bone with as many of its labels, wrapped to *wide* mm, as it has length for."""
    made = _Column(bone, 0.0, wide - _THIN - _ROOM, kind.shortest if bone.twigs else 0.0)
    for twig in bone.twigs:
        longer = replace(made, labels=(*made.labels, _labelled(made, twig, above, kind)))
        if longer.stack > _LONGEST and made.labels:
            break
        made = longer
    return made


def _labelled(column: _Column, twig: Twig, above: bool, kind: _Type) -> _Written:
    """Wrap the label of *twig*; above the spine the bone leans over what is written, the more the higher it is."""
    size, heavy, lines, allowed = kind.size(twig), kind.heavy(twig), [""], 0
    text = f"{held(short_figure(twig.chance))} {twig.title}"
    half = _stage_width(column.bone.chance) * MM / 2 + 0.9
    while allowed < len(lines):
        allowed = len(lines)
        lean = _LEAN / kind.shortest * (height_of(lines, size) + 1.5) if above else 0.6
        lines = wrapped(text, column.room - half - lean, size, heavy, most=8)
    return _Written(twig, tuple(lines), size, heavy, _splits(text, lines))


def _splits(text: str, lines: list[str]) -> bool:
    """Whether a word of *text* is broken where it has no hyphen."""
    words = text.replace("-", "- ").split()
    return any(word not in words for line in lines for word in line.replace("-", "- ").split())


def _thickness(chance: float) -> float:
    """Points for the chance of one cause."""
    return 0.8 + 6.2 * chance


def _stage_width(chance: float) -> float:
    """Points for the chance of a stage."""
    return 1.2 + 8.0 * chance


def _draw_bone(sheet: Sheet, column: _Column, spine: float, length: float) -> None:
    """Draw a main bone with its causes, *length* mm down from the spine (up where negative)."""
    bone = column.bone
    tip = (column.foot - _LEAN, spine + length)
    _small_twigs(sheet, column, spine, length)
    sheet.line([(column.foot, spine), tip], _stage_width(bone.chance), name=f"stage-{bone.stage}")
    _draw_labels(sheet, column, spine, length)
    _name(sheet, column, tip, length < 0)


def _draw_labels(sheet: Sheet, column: _Column, spine: float, length: float) -> None:
    """Draw the labelled causes from above to below, likeliest first, spread evenly over the bone."""
    spare = (abs(length) - column.stack) / (len(column.labels) + 1)
    y = min(spine, spine + length) + (1.0 if length < 0 else 2.5)
    for label in column.labels:
        y += spare + label.height
        twig, thick = label.twig, _thickness(label.twig.chance)
        level = y - thick * MM / 2 - 1.0
        end = column.foot - _LEAN * (level - spine) / length
        sheet.line([(end - column.room, level), (end, level)], thick, name=f"cause-{twig.id}")
        top = level - thick * MM / 2 - 0.7 - height_of(label.lines, label.size)
        sheet.lines(
            end - column.room, top, label.lines, label.size, tone(twig.chance), label.bold, name=f"label-{twig.id}"
        )


def _small_twigs(sheet: Sheet, column: _Column, spine: float, length: float) -> None:
    """Draw the causes that no longer matter as fine twigs on the side of the head."""
    for i in range(column.rest):
        y = spine + length * (i + 1) / (column.rest + 1)
        x = column.foot - _LEAN * (y - spine) / length
        sheet.line([(x, y), (x + _THIN - 1.5, y - length / abs(length) * -1.2)], _SMALL, GREY)


def _name_lines(bone: Bone, rest: int) -> list[tuple[str, float, bool]]:
    lines = [(word, _NAME, True) for word in bone.title.split()]
    if bone.twigs:
        lines.append((short_figure(bone.chance), _NAME, True))
    if rest:
        lines.append((f"+ {rest} small", SMALLEST, False))
    return lines


def _name_height(column: _Column) -> float:
    return sum(height_of([text], size) for text, size, _ in _name_lines(column.bone, column.rest)) + 2.0


def _name(sheet: Sheet, column: _Column, tip: Point, above: bool) -> None:
    x, y = tip[0], tip[1] - _name_height(column) + 0.5 if above else tip[1] + 1.2
    for text, size, bold in _name_lines(column.bone, column.rest):
        left = max(x - width_of(text, size, bold) / 2, 1.0)
        y = sheet.lines(left, y, [text], size, INK if bold else GREY, bold)


def _head_lines(fish: Fishbone) -> list[str]:
    lines: list[str] = []
    for i, symptom in enumerate(fish.symptoms[:_MOST_SEEN]):
        lines += ([""] if i else []) + wrapped(symptom, _HEAD - 6.0, 10, bold=True, most=4)
    more = len(fish.symptoms) - _MOST_SEEN
    return [*lines, "", f"and {more} more"] if more > 0 else lines


def _draw_head(sheet: Sheet, lines: list[str], spine: float, half: float) -> None:
    left = WIDTH - _HEAD - 1.0
    sheet.line([(_LEFT, spine), (left - 3.0, spine)], 3.2, name="spine")
    sheet.shape([(left - 4.5, spine - 2.4), (left, spine), (left - 4.5, spine + 2.4)], INK, INK, 0.5)
    sheet.box(left, spine - half, _HEAD, 2 * half, line=1.8, name="head")
    below = sheet.lines(left + 3.0, spine - half + 1.5, ["Seen on the part"], SMALLEST, GREY)
    sheet.lines(left + 3.0, below + 1.0, lines, 10, bold=True)


def _legend(sheet: Sheet, fish: Fishbone, top: float) -> None:
    """Say what the thickness means, with three samples, and what is left unexplained."""
    sheet.line([(2.0, top), (WIDTH - 2.0, top)], 0.5, GREY)
    y = top + 4.2
    sheet.text(2.0, y, "Thickness: chance that it had a part in what is seen", SMALLEST, GREY)
    x = 82.0
    for chance in (0.1, 0.5, 0.9):
        sheet.line([(x, y - 1.0), (x + 10.0, y - 1.0)], _thickness(chance), name=f"sample-{tens(chance)}")
        sheet.text(x + 11.5, y, short_figure(chance), SMALLEST, GREY)
        x += 25.0
    sheet.text(
        2.0,
        y + 4.6,
        f"Fine twigs: small causes, under 5 % or least on their bone. Something not on the list had a part: "
        f"{figure(fish.unexplained)}.",
        SMALLEST,
        GREY,
    )
    away = [in_sentence(bone.title) for bone in fish.bones if not bone.applies]
    if away:
        sheet.text(2.0, y + 9.2, f"Not on this kind of part: {listed(away)}.", SMALLEST, GREY)
