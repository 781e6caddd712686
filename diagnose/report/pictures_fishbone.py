"""The cause-and-effect diagram of a case: a spine to what is seen, a bone for each stage of the work, a small bone for each cause.

Each bone is as thick as the chance that it had a part: a small bone for its cause, a main bone for any cause of its stage, taken together
exactly. What is mixed and poured stands above the spine, mold, coats and shop below, each in the order of the work; stages that this kind of
part has not are only named. Room along the spine goes to the bone with the most to write. Causes that no longer matter are fine twigs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import accumulate

from diagnose.casebook.consult import Consultation
from diagnose.knowledge.sections import STAGES
from diagnose.reasoning.together import chance_of_any
from diagnose.report.content import LEADING, SHOWN
from diagnose.report.pictures_canvas import GREY, INK, MM, SMALLEST, WIDTH, Point, Sheet, height_of, width_of, wrapped
from diagnose.report.pictures_svg import Alternative
from diagnose.report.wording import counted, figure, in_sentence, listed, shortened, tens

NAME = "fishbone"
_TOP = ("material", "mixing", "pouring", "cure")
#: most labelled causes on one bone, and the longest that a bone may become, mm
_MOST, _LONGEST = 6, 92.0
_HEAD = 36.0  # width of the head, mm
_LEFT, _LEAN = 3.0, 11.0  # where the spine begins, and how far the tip of a bone leans back
_THIN, _ROOM = 4.5, 3.0  # room for the fine twigs beside a bone, and between one label and the next bone
#: type of a bone's name, points
_NAME = 9.5
#: millimetres handed out at a time
_STEP = 1.0
_SMALL, _SHORTEST = 0.5, 34.0  # width of a fine twig in points, and the shortest bone, mm


@dataclass(frozen=True, slots=True)
class Twig:
    """A cause that is labelled, with its chance of having had a part."""

    id: str
    title: str
    chance: float


@dataclass(frozen=True, slots=True)
class Bone:
    """A stage: the chance that any of its causes had a part, the causes labelled, likeliest first, and how many are not."""

    stage: str
    chance: float
    twigs: tuple[Twig, ...]
    rest: int

    @property
    def title(self) -> str:
        """The stage as a heading."""
        return self.stage.replace("_", " ").capitalize()

    @property
    def applies(self) -> bool:
        """Whether the stage belongs to this kind of part."""
        return bool(self.twigs or self.rest)


@dataclass(frozen=True, slots=True)
class Fishbone:
    """All that the picture shows."""

    title: str
    symptoms: tuple[str, ...]
    bones: tuple[Bone, ...]
    unexplained: float


def fishbone_of(consultation: Consultation) -> Fishbone:
    """Return what the cause-and-effect diagram of a case shows. Raises TooManySeen and NoWayToBe as the beliefs do."""
    knowledge = consultation.knowledge
    by_stage: dict[str, list[Twig]] = {stage: [] for stage in STAGES}
    for belief in consultation.beliefs.causes:
        cause = knowledge.causes[belief.id]
        by_stage[cause.stage].append(Twig(belief.id, shortened(cause.title, 80), belief.probability))
    bones = tuple(_bone(consultation, stage, twigs) for stage, twigs in by_stage.items())
    seen = tuple(shortened(knowledge.symptoms[name].title, 80) for name in consultation.symptoms_seen)
    return Fishbone(shortened(consultation.case.title, 90) or "A case without a title", seen, bones, consultation.beliefs.unexplained)


def _bone(consultation: Consultation, stage: str, twigs: list[Twig]) -> Bone:
    shown = tuple(twig for twig in twigs if twig.chance >= SHOWN)[:_MOST]
    acting = [twig for twig in twigs if twig.chance > 0.0]
    chance = chance_of_any(consultation.engine, [twig.id for twig in acting]) if len(acting) > 1 else sum(twig.chance for twig in acting)
    return Bone(stage, chance, shown, len(twigs) - len(shown))


# -- in words ------------------------------------------------------------------------------------------------------


def fishbone_words(fish: Fishbone) -> Alternative:
    """Return the picture in words."""
    seen = listed([in_sentence(symptom) for symptom in fish.symptoms])
    parts = [f"Cause-and-effect diagram, drawn as a fishbone. At the head stands what is seen: {seen}."]
    shown = sorted((bone for bone in fish.bones if bone.twigs), key=lambda bone: -round(bone.chance, 10))
    parts += [_bone_in_words(bone) for bone in shown]
    thin = [bone.title.lower() for bone in fish.bones if bone.applies and not bone.twigs]
    if thin:
        parts.append(f"Thin bones, no cause at 5 % or more: {listed(thin)}.")
    away = [bone.title.lower() for bone in fish.bones if not bone.applies]
    if away:
        parts.append(f"Not on this kind of part: {listed(away)}.")
    parts.append(f"Something that is not on the list had a part: {figure(fish.unexplained)}.")
    return Alternative(f"What may have had a part: {fish.title}", " ".join(parts))


def _bone_in_words(bone: Bone) -> str:
    causes = "; ".join(f"{in_sentence(twig.title)}, {figure(twig.chance)}" for twig in bone.twigs)
    rest = f"; {counted(bone.rest, 'smaller cause')} not named" if bone.rest else ""
    return f"Bone {bone.title.lower()}, {figure(bone.chance)}: {causes}{rest}."


# -- on the sheet --------------------------------------------------------------------------------------------------


def short_figure(chance: float) -> str:
    """Return *chance* as a picture writes it: `70 %`, `under 5 %`, `over 95 %`."""
    return figure(chance).removeprefix("about ")


def tone(chance: float) -> str:
    """Return the grey of a label: the likelier the blacker, never too pale to read."""
    level = int(0x55 * (1.0 - min(1.0, chance / 0.5)))
    return f"#{level:02x}{level:02x}{level:02x}"


@dataclass(frozen=True, slots=True)
class _Written:
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


@dataclass(frozen=True, slots=True)
class _Column:
    """Where a bone stands: it meets the spine at *foot* (x, mm), and its labels are *room* mm wide."""

    bone: Bone
    foot: float
    room: float
    labels: tuple[_Written, ...]

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
    lengths = [max([_SHORTEST, *(column.stack for column in row)]) for row in columns]
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


@dataclass(frozen=True, slots=True)
class _Type:
    """Type of the labels: *base* points, so much more for a sure cause, and bold for the leading ones or not."""

    base: float
    more: float
    bold: bool

    def size(self, twig: Twig) -> float:
        return round(self.base + self.more * twig.chance, 1)

    def heavy(self, twig: Twig) -> bool:
        return self.bold and twig.chance >= LEADING


_TYPES = (_Type(8.6, 2.0, True), _Type(SMALLEST, 0.6, True), _Type(SMALLEST, 0.0, False))


def _columns(bones: list[Bone], above: bool) -> list[_Column]:
    """Share the spine among the bones of one side, in the largest type that breaks no word."""
    for kind in _TYPES:
        columns = _shared(bones, above, kind)
        if not any(column.broken for column in columns):
            break
    return columns


def _shared(bones: list[Bone], above: bool, kind: _Type) -> list[_Column]:
    """Each bone gets room for its name; what is left goes millimetre by millimetre to the one with the tallest labels."""
    names = [_name_width(bone) for bone in bones]
    wide = [max((names[max(i - 1, 0)] + names[i]) / 2 + 2.0, 25.0 if bone.twigs else 0.0) for i, bone in enumerate(bones)]
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
    made = _Column(bone, 0.0, wide - _THIN - _ROOM, ())
    for twig in bone.twigs:
        longer = replace(made, labels=(*made.labels, _labelled(made, twig, above, kind)))
        if longer.stack > _LONGEST and made.labels:
            break
        made = longer
    return made


def _labelled(column: _Column, twig: Twig, above: bool, kind: _Type) -> _Written:
    """Wrap the label of *twig*; above the spine the bone leans over what is written, the more the higher it is."""
    size, heavy, lines = kind.size(twig), kind.heavy(twig), [""]
    text = f"{short_figure(twig.chance)} {twig.title}"
    half = _stage_width(column.bone.chance) * MM / 2 + 0.3
    for _ in range(3):
        lean = _LEAN / _SHORTEST * (height_of(lines, size) + 1.5) if above else 0.6
        lines = wrapped(text, column.room - half - lean, size, heavy, most=6)
    return _Written(twig, tuple(lines), size, heavy, "".join(lines).replace(" ", "") != text.replace(" ", "") or _splits(text, lines))


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
        sheet.lines(end - column.room, top, label.lines, label.size, tone(twig.chance), label.bold, name=f"label-{twig.id}")


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
    for i, symptom in enumerate(fish.symptoms):
        lines += ([""] if i else []) + wrapped(symptom, _HEAD - 6.0, 10, bold=True, most=4)
    return lines


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
    sheet.text(2.0, y + 4.6, f"Fine twigs: small causes, under 5 % or least on their bone. Something not on the list had a part: {figure(fish.unexplained)}.", SMALLEST, GREY)
    away = [in_sentence(bone.title) for bone in fish.bones if not bone.applies]
    if away:
        sheet.text(2.0, y + 9.2, f"Not on this kind of part: {listed(away)}.", SMALLEST, GREY)
