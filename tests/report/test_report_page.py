"""The report as a page: escaped, self-contained, the same words as on the terminal."""

from __future__ import annotations

import base64
import errno
import hashlib
import html
import os
import re
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import jinja2
import pytest

from diagnose.assessment.consultation import Consultation
from diagnose.errors import DiagnoseError
from diagnose.report import html as page
from diagnose.report.document import Bar, Bars, Block, Entry, Table, Words
from diagnose.report.html import STEPS, page_of, page_text, steps_of, write_page
from diagnose.report.text.sections import Wanted, words_of
from diagnose.report.text.shown import Shown

Consult = Callable[..., Consultation]
ShownOf = Callable[..., Shown]
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


def words_for(shown: Shown) -> Words:
    """The report of a case in words, as a page has it."""
    return words_of(shown, Wanted(full=True, sums=True))


def test_the_page_says_what_the_terminal_says(shown: ShownOf) -> None:
    """Every line of every section stands on the page, in order."""
    words = words_for(shown(CASE))
    said = "\n".join(read_page(page_text(words)).said)
    place = 0
    for section in words.sections:
        for block in section.blocks:
            for line in _lines(block):
                found = said.find(" ".join(line.split()), place)
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


def test_hostile_texts_become_no_markup(shown: ShownOf) -> None:
    """A title with tags, quotes, template code and escape codes adds no element and no attribute, and is shown as text."""
    plain, hostile = (read_page(page_text(words_for(shown(CASE, title=title)))) for title in ("A part", HOSTILE))
    assert hostile.tags == plain.tags
    assert [name for name, _ in hostile.attributes] == [name for name, _ in plain.attributes]
    assert any("<script>alert(1)</script>" in text and "[red] :bug: {{ 7*7 }} [31m" in text for text in hostile.said)


def test_hostile_knowledge_becomes_no_markup(shown: ShownOf) -> None:
    """Titles, answers and remedies of the knowledge are escaped as those of a case are."""
    changes = (
        ("title: Badly mixed", "title: '<b onclick=x>Badly</b>'"),
        ("title: 'No, on top only'", "title: '<i>No</i>'"),
        ("do: Stir to the floor and scrape.", "do: '</p><script>x</script>'"),
    )
    text = page_text(words_for(shown(CASE, *changes)))
    assert read_page(text).tags == read_page(page_text(words_for(shown(CASE)))).tags
    assert html.escape("1. <b onclick=x>Badly</b>") in text


def test_the_policy_names_the_only_style_sheet_by_its_hash(shown: ShownOf) -> None:
    """The page forbids itself everything but its own style, whose hash stands in the policy."""
    text = page_text(words_for(shown(CASE)))
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    style = re.search(r"<style>(.*?)</style>", text, re.DOTALL)
    assert policy is not None
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    assert policy[1] == f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"


def test_nothing_outside_is_named(shown: ShownOf) -> None:
    """There is no script, no link, no picture, no address and no inline style."""
    text = page_text(words_for(shown(CASE)))
    assert not set(read_page(text).tags) & {"script", "link", "img", "iframe", "object", "a", "form", "base"}
    assert not [
        name for name, _ in read_page(text).attributes if name.startswith("on") or name in ("style", "src", "href")
    ]
    assert "url(" not in text
    assert "http:" not in text
    assert "https:" not in text


def test_the_card_comes_first(shown: ShownOf) -> None:
    """The card stands before all else under the title, its dangers before its rows."""
    text = page_text(words_for(shown(CASE)))
    main = text[text.index("<main>") :]
    assert main.index('class="card"') < main.index('class="part"') < main.index('class="causes"')
    assert re.search(r'<dt class="next-pour">Next pour</dt>\s*<dd class="next-pour told">', main)


def test_the_fishbone_is_on_the_page(shown: ShownOf, consult: Consult) -> None:
    """By default the picture stands on the page; a case without a fault has nothing to draw."""
    assert page_of(shown(CASE), consult(CASE)).count('<svg id="fishbone"') == 1
    bare = "symptoms_absent: [dust]"
    assert "<svg" not in page_of(shown(bare), consult(bare))


def test_the_bar_has_its_figure_in_words_beside_it(shown: ShownOf) -> None:
    """A bar is only for the eye: it is hidden from readers, and word and figure stand beside it."""
    found = shown(CASE)
    text = page_text(words_for(found)).replace("\u00a0", " ")
    bars = re.findall(
        r'<span class="bar" aria-hidden="true"><i class="p(\d+)"></i></span>([a-z ]+), (?:about|over) (\d+) %', text
    )
    assert len(bars) == 2
    assert all(abs(int(long) - int(said)) <= 5 for long, _, said in bars)


def test_the_weights_are_a_table_that_reads_without_its_bars(shown: ShownOf) -> None:
    """Points, bar and answer stand in one row; what speaks against is hollow, and the length is that of the points."""
    text = page_text(words_for(shown("symptoms: [streaks]\ncup: good\nstirred: yes")))
    rows = re.findall(
        r'<tr(?: class="total")?><td>([+-]\d+)</td><td><i class="w(\d+) (against|for)"></i></td><th scope="row">', text
    )
    assert [int(points) for points, _, _ in rows] == [0, 15, -6, -13, -4]
    assert [side for _, _, side in rows] == ["for", "for", "against", "against", "against"]
    assert [int(steps) for _, steps, _ in rows] == [round(STEPS * abs(int(points)) / 15) for points, _, _ in rows]


@pytest.mark.parametrize("points", [[3, 4], [-3, -4], [40, -40], [0], [1, 400]])
def test_no_bar_is_longer_than_its_column_and_none_is_lost(points: list[int]) -> None:
    """Whatever the points, a bar has a length of the style sheet, and only no points have none."""
    steps = steps_of(Bars("x", tuple(Bar("y", p) for p in points)))
    assert all(0 <= step <= STEPS for step in steps)
    assert [step == 0 for step in steps] == [p == 0 for p in points]
    style = page.shipped("page.css")
    assert all(f".w{step} " in style for step in range(STEPS + 1))
    assert all(f".p{percent} " in style for percent in range(0, 101, 10))


def test_the_sheet_is_a_table_with_its_sums(shown: ShownOf) -> None:
    """On the page each number of the next pour stands in a row, with its sum and what it takes for granted in a cell of its own."""
    text = page_text(words_for(shown(CASE)))
    assert '<th scope="col">What</th><th scope="col">Number</th><th scope="col" class="sums">' in text
    assert len(re.findall(r'<tr><th scope="row">[^<]+</th><td>[^<]+</td><td class="sums">', text)) >= 2


def test_a_name_missing_from_the_words_is_an_error(shown: ShownOf, monkeypatch: pytest.MonkeyPatch) -> None:
    """A misspelt name in the template is refused and not printed as nothing."""
    shipped = page.shipped
    monkeypatch.setattr(
        page, "shipped", lambda name: shipped(name) + ("{{ words.titel }}" if name.endswith("j2") else "")
    )
    with pytest.raises(jinja2.UndefinedError, match="titel"):
        page_text(words_for(shown(CASE)))


def test_write_page_writes_utf_8_and_the_same_bytes(shown: ShownOf, consult: Consult, tmp_path: Path) -> None:
    """The file is UTF-8 with plain line ends, and the same each time."""
    for name in ("one.html", "two.html"):
        write_page(shown(CASE, title="Grüße"), consult(CASE, title="Grüße"), tmp_path / name)
    data = (tmp_path / "one.html").read_bytes()
    assert data == (tmp_path / "two.html").read_bytes()
    assert "<h1>Grüße</h1>" in data.decode("utf-8")
    assert b"\r" not in data
    assert data.endswith(b"</html>\n")


def test_a_page_that_cannot_be_finished_leaves_the_old_one(
    shown: ShownOf, consult: Consult, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the disk is full the page of before stands as it was, whole, with nothing beside it."""
    path = tmp_path / "answer.html"
    path.write_text("the page of before", encoding="utf-8")

    def full(*_: object, **__: object) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    monkeypatch.setattr(os, "replace", full)
    with pytest.raises((OSError, DiagnoseError)):
        write_page(shown(CASE), consult(CASE), path)
    assert path.read_text(encoding="utf-8") == "the page of before"
    assert list(tmp_path.iterdir()) == [path]


def test_a_page_without_a_symptom(shown: ShownOf) -> None:
    """A case with nothing seen makes a page too."""
    said = read_page(page_text(words_for(shown("symptoms_absent: [dust]")))).said
    assert (
        "Nothing is told as seen on the part, so there is nothing to explain yet. Say first what is wrong with it."
        in said
    )
