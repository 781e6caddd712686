"""The report as a page: escaped, self-contained, the same words as on the terminal."""

from __future__ import annotations

import base64
import hashlib
import html
import re
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import jinja2
import pytest

from diagnose.assessment.content import report_of
from diagnose.assessment.situation import Situation
from diagnose.report import html as page
from diagnose.report.document import Bar, Bars, Block, Entry, Table, Words
from diagnose.report.html import page_text, picture_of, write_page
from diagnose.report.text.sections import words_of

Consult = Callable[..., Situation]
CASE = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}"
HOSTILE = '"</title></style><script>alert(1)</script><img src=x onerror=alert(2)> \\" onload=\\"x [red] :bug: {{ 7*7 }} \\e[31m"'
VOID = {"meta", "link", "img", "br", "hr", "input"}


class Reader(HTMLParser):
    """Collects tags, attributes and texts, and checks that tags are closed in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.said: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes.extend(attrs)
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "title"):
            self.said.append(" ".join(data.split()))


def read_page(text: str) -> Reader:
    """Parse a page to its end."""
    reader = Reader()
    reader.feed(text)
    reader.close()
    assert reader.open == []
    return reader


def words_for(situation: Situation) -> Words:
    """The report of a case in words."""
    return words_of(report_of(situation, why=True), situation.knowledge, sums=True)


def test_the_page_says_what_the_terminal_says(consult: Consult) -> None:
    """Every line of every section stands on the page, in order."""
    words = words_for(consult(CASE))
    said = "\n".join(read_page(page_text(words)).said)
    place = 0
    for section in words.sections:
        for block in section.blocks:
            for line in _lines(block):
                found = said.find(line, place)
                assert found >= 0, line
                place = found


def _lines(block: Block) -> list[str]:
    if isinstance(block, str):
        return [block]
    if isinstance(block, Table):
        return [cell for row in block.rows for cell in row if cell]
    if isinstance(block, Bars):
        return [bar.label for bar in block.bars]
    return [block.head, *_row_lines(block)]


def _row_lines(entry: Entry) -> list[str]:
    bare = [line for row in entry.rows if not row.label for line in row.lines]
    return bare + [line for row in entry.rows if row.label for line in row.lines]


def test_hostile_texts_become_no_markup(consult: Consult) -> None:
    """A title with tags, quotes, template code and escape codes adds no element and no attribute, and is shown as text."""
    plain, hostile = (read_page(page_text(words_for(consult(CASE, title=title)))) for title in ("A part", HOSTILE))
    assert hostile.tags == plain.tags
    assert [name for name, _ in hostile.attributes] == [name for name, _ in plain.attributes]
    assert any("<script>alert(1)</script>" in text and "[red] :bug: {{ 7*7 }} [31m" in text for text in hostile.said)


def test_hostile_knowledge_becomes_no_markup(consult: Consult) -> None:
    """Titles, answers and remedies of the knowledge are escaped as those of a case are."""
    changes = (
        ("title: Badly mixed", "title: '<b onclick=x>Badly</b>'"),
        ("title: 'No, on top only'", "title: '<i>No</i>'"),
        ("do: Stir to the floor and scrape.", "do: '</p><script>x</script>'"),
    )
    text = page_text(words_for(consult(CASE, *changes)))
    assert read_page(text).tags == read_page(page_text(words_for(consult(CASE)))).tags
    assert html.escape("1. <b onclick=x>Badly</b>") in text


def test_the_policy_names_the_only_style_sheet_by_its_hash(consult: Consult) -> None:
    """The page forbids itself everything but its own style, whose hash stands in the policy."""
    text = page_text(words_for(consult(CASE)))
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    style = re.search(r"<style>(.*?)</style>", text, re.DOTALL)
    assert policy is not None
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    assert policy[1] == f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"


def test_nothing_outside_is_named(consult: Consult) -> None:
    """There is no script, no link, no picture, no address and no inline style."""
    text = page_text(words_for(consult(CASE)))
    assert not set(read_page(text).tags) & {"script", "link", "img", "iframe", "object", "a", "form", "base"}
    assert not [
        name for name, _ in read_page(text).attributes if name.startswith("on") or name in ("style", "src", "href")
    ]
    assert "url(" not in text
    assert "http:" not in text
    assert "https:" not in text


def test_the_bar_has_its_figure_in_words_beside_it(consult: Consult) -> None:
    """A bar is only for the eye: it is hidden from readers, and word and figure stand beside it."""
    text = page_text(words_for(consult(CASE)))
    assert text.count('class="bar" aria-hidden="true"') == 2
    assert text.count("very likely, about 90 %") >= 2


def test_the_bars_are_drawn_to_scale_and_told_in_words(consult: Consult) -> None:
    """The picture has a bar for each answer, dark to the right for, white to the left against, and the same in words."""
    text = page_text(words_for(consult("symptoms: [streaks]\ncup: good\nstirred: yes")))
    svg = re.search(r"<svg.*?</svg>", text, re.DOTALL)
    assert svg is not None
    assert (
        '<desc id="bars-text">+0 before any answer: how often it is behind a bad part; +12 seen: streaks in the cut; -5 cup leftover: set, dry and springy; '
        "-13 cup stirred: yes, to the floor; -6 all together: that it held is possible, about 20 %.</desc>"
    ) in svg[0]
    assert 'role="img" aria-labelledby="bars-title bars-text"' in svg[0]
    drawn = re.findall(r'<rect x="([\d.]+)" y="\d+" width="([\d.]+)" height="9" fill="(#\w+)"', svg[0])
    bars = [(float(x), float(width), fill) for x, width, fill in drawn]
    zero = bars[0][0]
    assert [(x, fill) for x, _, fill in bars[1:3]] == [
        (zero, "#3a4a5a"),
        (pytest.approx(zero - bars[2][1], abs=0.11), "#fff"),
    ]
    assert [round(width / bars[1][1] * 12) for _, width, _ in bars] == [0, 12, 5, 13, 6]


@pytest.mark.parametrize("points", [[3, 4], [-3, -4], [40, -40], [0]])
def test_no_bar_leaves_its_picture(points: list[int]) -> None:
    """Whatever the points, bars stay between the figures and the words."""
    picture = picture_of(Bars("x", tuple(Bar("y", p) for p in points)))
    assert all(row.x >= 34 and row.x + row.width <= 234.2 for row in picture.rows)
    assert picture.height == 14 * len(points)


def test_the_sheet_is_a_table_with_its_sums(consult: Consult) -> None:
    """On the page each number of the next pour stands in a row with its sum and what it takes for granted."""
    text = page_text(words_for(consult(CASE)))
    assert '<th scope="col">What</th><th scope="col">Number</th><th scope="col">Sum, takes for granted</th>' in text
    assert (
        '<tr><th scope="row">Both liquids, measured in the can</th><td>22 to 25 °C</td>'
        "<td><span>the sheet&#39;s times are usually given near here</span></td></tr>"
    ) in text


def test_a_name_missing_from_the_words_is_an_error(consult: Consult, monkeypatch: pytest.MonkeyPatch) -> None:
    """A misspelt name in the template is refused and not printed as nothing."""
    shipped = page._shipped
    monkeypatch.setattr(
        page, "_shipped", lambda name: shipped(name) + ("{{ words.titel }}" if name.endswith("j2") else "")
    )
    with pytest.raises(jinja2.UndefinedError, match="titel"):
        page_text(words_for(consult(CASE)))


def test_write_page_writes_utf_8_and_the_same_bytes(consult: Consult, tmp_path: Path) -> None:
    """The file is UTF-8 with plain line ends, and the same each time."""
    for name in ("one.html", "two.html"):
        write_page(consult(CASE, title="Grüße"), tmp_path / name)
    data = (tmp_path / "one.html").read_bytes()
    assert data == (tmp_path / "two.html").read_bytes()
    assert "<h1>Grüße</h1>" in data.decode("utf-8")
    assert b"\r" not in data
    assert data.endswith(b"</html>\n")


def test_a_page_without_a_symptom(consult: Consult) -> None:
    """A case with nothing seen makes a page too."""
    said = read_page(page_text(words_for(consult("symptoms_absent: [dust]")))).said
    assert (
        "Nothing is told as seen on the part, so there is nothing to explain yet. Say first what is wrong with it."
        in said
    )
