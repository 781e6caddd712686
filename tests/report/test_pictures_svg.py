"""Pictures as SVG: the same bytes anywhere, well formed, told in words, inside the sheet, and readable in grey."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from itertools import combinations
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from diagnose.assessment.consultation import Consultation
from diagnose.errors import DiagnoseError, InputError
from diagnose.knowledge import Knowledge
from diagnose.report.pictures import drawing as pictures
from diagnose.report.pictures.belief_run import STYLES, beliefs_of, draw_beliefs
from diagnose.report.pictures.canvas import (
    MM,
    SMALLEST,
    Label,
    Shape,
    Sheet,
    Stroke,
    height_of,
    width_of,
    wrapped,
)
from diagnose.report.pictures.fishbone import fishbone_of
from diagnose.report.pictures.fishbone_layout import draw_fishbone
from diagnose.report.pictures.symptom_map import draw_map, map_of

Consult = Callable[..., Consultation]
ROOT = Path(__file__).parents[2]
CASE = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}\nchanged: unknown"
HOSTILE = '"</title></svg><script>alert(1)</script> $x^2$ & \\e[31m"'
#: the sheet of A4 between the margins of the page, mm
A4_WIDTH, A4_HEIGHT = 180.0, 274.0


def all_svg(situation: Consultation, symptom: str, inline: bool = False) -> list[str]:
    """The three pictures."""
    return [
        pictures.fishbone_svg(situation, inline),
        pictures.beliefs_svg(situation, inline),
        pictures.map_svg(situation.knowledge, symptom, inline),
    ]


def sheets_of(shipped: Knowledge, worked: list[Any]) -> Iterator[tuple[str, Sheet]]:
    """Every picture that the worked cases and their symptoms give, laid out."""
    for name, consultation, _ in worked:
        yield f"fishbone of {name}", draw_fishbone(fishbone_of(consultation))
        yield f"beliefs of {name}", draw_beliefs(beliefs_of(consultation))
    for symptom in shipped.symptoms:
        yield f"map of {symptom}", draw_map(map_of(shipped, symptom))


@pytest.fixture(scope="module")
def sheets(shipped: Knowledge, worked: list[Any]) -> list[tuple[str, Sheet]]:
    """All of them, once."""
    return list(sheets_of(shipped, worked))


def place_of(label: Label) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of the letters of a label, mm."""
    width = width_of(label.text, label.size, label.bold)
    left = label.x - {"left": 0.0, "center": width / 2, "right": width}[label.anchor]
    return left, label.y - 0.72 * label.size * MM, left + width, label.y + 0.2 * label.size * MM


def labels_of(sheet: Sheet) -> list[Label]:
    """The labels of a sheet."""
    return [part for part in sheet.parts if isinstance(part, Label)]


def luminance(color: str) -> float:
    """Relative luminance of a color, 0 to 1 (sRGB, IEC 61966-2-1)."""
    parts = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_the_same_bytes_twice(consult: Consult) -> None:
    """A picture made twice is the same to the byte."""
    assert all_svg(consult(CASE), "soft_face") == all_svg(consult(CASE), "soft_face")


def test_the_same_bytes_in_other_processes(tmp_path: Path) -> None:
    """Other processes and other hash seeds change no byte."""
    case = ROOT / "tests" / "cases" / "tusks-in-march.yaml"
    made = set()
    for seed in ("0", "77"):
        env = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"}
        said = b""
        for words in ((case, "--fishbone"), (case, "--beliefs"), ("--map", "thin_skin")):
            command = [sys.executable, "-m", "diagnose", "draw", *map(str, words), "-o", "-"]
            done = subprocess.run(command, env=env, cwd=tmp_path, capture_output=True, check=False)
            assert (done.returncode, done.stderr) == (0, b"")
            said += done.stdout
        made.add(said)
    assert len(made) == 1


@pytest.mark.parametrize("inline", [False, True])
def test_well_formed_and_told_in_words(consult: Consult, inline: bool) -> None:
    """Each picture parses, is an image with title and description first, and its description is the text alternative."""
    situation = consult(CASE)
    words = [
        pictures.fishbone_text(situation),
        pictures.beliefs_text(situation),
        pictures.map_text(situation.knowledge, "soft_face"),
    ]
    for svg, said in zip(all_svg(situation, "soft_face", inline), words, strict=True):
        root = ET.fromstring(svg)
        space = "" if inline else "{http://www.w3.org/2000/svg}"
        title, described = root[0], root[1]
        assert (title.tag, described.tag) == (f"{space}title", f"{space}desc")
        assert root.get("role") == "img"
        assert root.get("aria-labelledby") == f"{title.get('id')} {described.get('id')}"
        assert described.text == said
        assert len(said) > 100


def test_ids_stand_once_and_never_in_two_pictures(consult: Consult) -> None:
    """The ids that name the picture and its words are its own, and the marks' begin with its name."""
    heads = []
    for svg in all_svg(consult(CASE), "soft_face", inline=True):
        ids = re.findall(r'\bid="([^"]*)"', svg)
        name = ids[0]
        assert all(mark == name or mark.startswith(f"{name}-") for mark in ids)
        assert len(set(ids)) == len(ids)
        heads.append(name)
    assert len(set(heads)) == 3


def test_nothing_that_a_strict_page_refuses(consult: Consult) -> None:
    """Inline there is no style, no script, no reference and no address."""
    for svg in all_svg(consult(CASE), "soft_face", inline=True):
        assert svg.startswith("<svg ")
        for word in ("style", "<script", "href", "url(", "http:", "https:", "<use", "xmlns"):
            assert word not in svg


def test_hostile_texts_stay_texts(consult: Consult) -> None:
    """A title with markup, formulas and escape codes is shown as it stands, less what does not print."""
    for svg in all_svg(consult(CASE, title=HOSTILE), "soft_face")[:2]:
        root = ET.fromstring(svg)
        assert not [node for node in root.iter() if node.tag.endswith("script")]
        shown = " ".join("".join(node.itertext()) for node in root.iter() if node.tag.endswith("}text"))
        assert "<script>alert(1)</script> $x^2$ & [31m" in shown


def test_letters_the_font_lacks_are_kept(consult: Consult, recwarn: pytest.WarningsRecorder) -> None:
    """A title in another script stays as text, and nobody is warned."""
    svg = pictures.fishbone_svg(consult(CASE, title="手の鋳型"))
    assert "手の鋳型" in svg
    assert not recwarn.list


def test_all_fit_on_a_sheet_of_paper(sheets: list[tuple[str, Sheet]]) -> None:
    """Every picture fits between the margins of A4 at full size, in type of 8 points or more."""
    for name, sheet in sheets:
        assert sheet.width <= A4_WIDTH, name
        assert sheet.height <= A4_HEIGHT, name
        assert min(label.size for label in labels_of(sheet)) >= SMALLEST, name


def test_no_letter_leaves_the_sheet(sheets: list[tuple[str, Sheet]]) -> None:
    """No label comes nearer than half a millimetre to the edge."""
    for name, sheet in sheets:
        for label in labels_of(sheet):
            left, top, right, bottom = place_of(label)
            assert left >= 0.5, (name, label.text)
            assert top >= 0.5, (name, label.text)
            assert right <= sheet.width - 0.5, (name, label.text)
            assert bottom <= sheet.height - 0.5, (name, label.text)


def test_no_two_labels_overlap(sheets: list[tuple[str, Sheet]]) -> None:
    """No label stands on another."""
    for name, sheet in sheets:
        places = [(place_of(label), label.text) for label in labels_of(sheet)]
        for (a, one), (b, other) in combinations(places, 2):
            apart = a[2] <= b[0] + 0.05 or b[2] <= a[0] + 0.05 or a[3] <= b[1] + 0.05 or b[3] <= a[1] + 0.05
            assert apart, (name, one, other)


def test_no_line_crosses_a_text_of_a_map(sheets: list[tuple[str, Sheet]]) -> None:
    """On a map no link and no bar runs through a letter, and every link is level within its row."""
    maps = [sheet for name, sheet in sheets if name.startswith("map of ")]
    assert len(maps) > 60
    for sheet in maps:
        places = [(place_of(label), label.text) for label in labels_of(sheet)]
        for stroke in (part for part in sheet.parts if isinstance(part, Stroke)):
            (left, y), (right, end) = stroke.points
            assert y == end
            half = stroke.width * MM / 2
            for (a, top, b, bottom), text in places:
                assert right <= a or left >= b or y + half <= top or y - half >= bottom, text


def test_every_box_of_a_map_holds_its_text(sheets: list[tuple[str, Sheet]]) -> None:
    """The letters in a box stand inside it, and what stands beside a cause is level with it."""
    for name, sheet in sheets:
        if not name.startswith("map of "):
            continue
        boxes = {part.name.removeprefix("box-"): part.points for part in sheet.parts if isinstance(part, Shape)}
        for label in labels_of(sheet):
            if label.name.startswith("label-"):
                (left, top), _, (right, bottom), _ = boxes[label.name.removeprefix("label-")]
                a, b, c, d = place_of(label)
                assert left <= a, (name, label.text)
                assert c <= right, (name, label.text)
                assert top <= b, (name, label.text)
                assert d <= bottom, (name, label.text)


def test_widths_are_those_of_the_font() -> None:
    """Each letter of the table is as wide as the font file of DejaVu Sans says (its hmtx table, read by fontTools)."""
    matplotlib = pytest.importorskip("matplotlib", reason="its copy of DejaVu Sans is what the table is held against")
    from fontTools.ttLib import TTFont

    letters = [chr(code) for code in (*range(32, 127), *range(161, 173), *range(174, 256))] + list("–—‘’“”…€≤≥")
    for bold, face in ((False, "DejaVuSans"), (True, "DejaVuSans-Bold")):
        font = TTFont(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / f"{face}.ttf")
        names, advances = font.getBestCmap(), font["hmtx"].metrics
        for letter in letters:
            expected = advances[names[ord(letter)]][0] / font["head"].unitsPerEm * 10.0 * MM
            assert width_of(letter, 10.0, bold) == pytest.approx(expected, abs=1e-9), letter


def test_labels_are_dark_enough(sheets: list[tuple[str, Sheet]]) -> None:
    """Every label stands out against the paper by 4.5 to 1 or more."""
    for name, sheet in sheets:
        for label in labels_of(sheet):
            assert 1.05 / (luminance(label.color) + 0.05) >= 4.5, (name, label.text)


def test_lines_differ_in_grey() -> None:
    """No two lines of the run of beliefs share their dashes or their mark, and each is dark enough to print."""
    assert len({style.dash for style in STYLES}) == len(STYLES)
    assert len({style.mark for style in STYLES}) == len(STYLES)
    for style in STYLES:
        assert 1.05 / (luminance(style.color) + 0.05) >= 4.0


def test_wrapping_keeps_to_the_width_and_loses_nothing() -> None:
    """Wrapped lines are no wider than asked, hold every letter, and end in dots where some were cut off."""
    text = (
        "Young condensation-cure silicone, still gassing, in a mold as wide as an unbreakablylongwordwithoutanyhyphen"
    )
    lines = wrapped(text, 30.0, 9.0)
    assert all(width_of(line, 9.0) <= 30.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    short = wrapped(text, 30.0, 9.0, most=2)
    assert len(short) == 2
    assert short[1].endswith("...")
    assert all(width_of(line, 9.0) <= 30.0 for line in short)
    assert height_of(short, 9.0) == pytest.approx(2 * 9.0 * 1.22 * 25.4 / 72)


def test_nothing_seen_is_nothing_to_draw(consult: Consult, trade: Knowledge) -> None:
    """Without a symptom the pictures of a case are refused with what to tell; a symptom that is none is refused by name."""
    with pytest.raises(
        InputError,
        match=r"^no symptom is told as seen, so there is nothing to draw; tell first what is wrong with the part$",
    ):
        pictures.fishbone_svg(consult("face_temperature: 10"))
    with pytest.raises(InputError, match="nothing to draw"):
        pictures.beliefs_text(consult("face_temperature: 10"))
    with pytest.raises(InputError, match=r"^no symptom 'soft_fase', nearest is 'soft_face', expected the id of one$"):
        pictures.map_svg(trade, "soft_fase")


def test_writing_over_files_only(tmp_path: Path) -> None:
    """A file is written over, a link is followed and stays, anything else is refused and left alone."""
    place, link = tmp_path / "a.svg", tmp_path / "b.svg"
    pictures.write_picture(place, "one")
    link.symlink_to(place)
    pictures.write_picture(link, "two")
    assert link.is_symlink()
    assert place.read_text(encoding="utf-8") == "two"
    pipe, gone = tmp_path / "pipe", tmp_path / "gone"
    os.mkfifo(pipe)
    gone.symlink_to(tmp_path / "nowhere")
    for other in (pipe, gone, tmp_path, Path("/dev/null")):
        with pytest.raises(InputError, match="is no regular file, expected a new name or a file to write over"):
            pictures.write_picture(other, "three")
    with pytest.raises(DiagnoseError, match=r"x.svg: can't be written: No such file or directory$"):
        pictures.write_picture(tmp_path / "none" / "x.svg", "three")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.svg", "b.svg", "gone", "pipe"]
