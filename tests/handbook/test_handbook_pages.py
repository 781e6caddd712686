"""The book: an entry a page, links that lead somewhere, both ways, the same bytes, text that stays text."""

from __future__ import annotations

import html
import json
import os
import posixpath
import re
import resource
import shlex
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from msgspec.structs import fields, replace

from diagnose.bench.catalogue import CALCULATIONS, names
from diagnose.commands.main import cli
from diagnose.errors import DiagnoseError, InputError
from diagnose.knowledge import Knowledge
from diagnose.remote.drawings import DRAWINGS
from diagnose.report.handbook import book, links, words
from diagnose.report.handbook.book import book_of, write_book
from diagnose.report.handbook.sums import example_of

ROOT = Path(__file__).parents[2]
HOSTILE = "\"><script>alert(1)</script></script><img src=x onerror=alert(2)> {{ 7 * 7 }} \x1b[31m\u202e'"
#: fields that hold ids and words of the tables, not text
NAMED = {"id", "family", "stage", "kind", "unit", "when", "material", "opposite", "base", "seen", "folder"}


class Read(HTMLParser):
    """Links, anchors, tags and headings of a page, and its text."""

    def __init__(self, markup: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.anchors: set[str] = set()
        self.tags: list[str] = []
        self.levels: list[int] = []
        self.events: list[str] = []
        self.text = ""
        self.feed(markup)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        given = dict(attrs)
        self.events += [name for name in given if name.startswith("on")]
        self.levels += [int(tag[1])] if re.fullmatch("h[1-6]", tag) else []
        self.anchors |= {str(given["id"])} if "id" in given else set()
        self.links += [str(given[key]) for key in ("href", "src") if key in given]

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.fixture(scope="module")
def read(book: dict[str, str]) -> dict[str, Read]:
    """Every page, read."""
    return {path: Read(text) for path, text in book.items() if path.endswith(".html")}


def test_every_entry_has_a_page(shipped: Knowledge, book: dict[str, str]) -> None:
    """Faults, causes, checks, facts, remedies and sums each have one page and there are no others in their folders."""
    wanted = {
        "faults": shipped.symptoms,
        "causes": shipped.causes,
        "checks": shipped.checks,
        "facts": shipped.facts,
        "remedies": shipped.remedies,
        "sums": names(),
    }
    for folder, entries in wanted.items():
        found = {path for path in book if path.startswith(f"{folder}/")}
        assert found == {f"{folder}/{name}.html" for name in entries}


def test_every_source_danger_and_number_has_its_place(shipped: Knowledge, read: dict[str, Read]) -> None:
    """What is listed on one page has an anchor there."""
    assert {f"source-{name}" for name in shipped.sources} <= read["sources.html"].anchors
    assert {f"danger-{name}" for name in shipped.dangers} <= read["dangers.html"].anchors
    assert {f"number-{name}" for name in shipped.practice} <= read["numbers.html"].anchors


def test_every_link_resolves(book: dict[str, str], read: dict[str, Read]) -> None:
    """A link leads to a file of the book, and to an anchor that is there; none leads out of it."""
    count = 0
    for path, page in read.items():
        for link in page.links:
            target, _, anchor = link.partition("#")
            place = posixpath.normpath(posixpath.join(posixpath.dirname(path), target)) if target else path
            assert place in book, f"{path}: {link}"
            assert not anchor or anchor in read[place].anchors, f"{path}: {link}"
            count += 1
    assert count > 10_000


def test_every_page_is_reached(read: dict[str, Read]) -> None:
    """From the fault-finder every page is reached by links."""
    reached, todo = {"index.html"}, ["index.html"]
    while todo:
        path = todo.pop()
        for link in read[path].links:
            target = link.partition("#")[0]
            place = posixpath.normpath(posixpath.join(posixpath.dirname(path), target)) if target else path
            if place in read and place not in reached:
                reached.add(place)
                todo.append(place)
    assert reached == set(read)


def _says(page: str, link: str) -> str:
    """The text of the line of *page* that links to *link*."""
    line = re.search(rf'<li>(?:(?!</li>).)*href="\.\./{re.escape(link)}".*?</li>', page, flags=re.DOTALL)
    assert line, link
    return Read(line[0]).text


def test_links_stand_in_words_on_both_ends(shipped: Knowledge, book: dict[str, str]) -> None:
    """What a cause does stands on its page and on the fault's, with the same word and mechanism; so with checks and remedies."""
    for name, cause in shipped.causes.items():
        for symptom, link in cause.symptoms.items():
            there = _says(book[f"causes/{name}.html"], f"faults/{symptom}.html")
            back = _says(book[f"faults/{symptom}.html"], f"causes/{name}.html")
            assert there.startswith(link.word)
            assert f", {link.word} shows it" in back
            assert " ".join(link.why.split()) in there
            assert " ".join(link.why.split()) in back
        for check in cause.checks:
            assert f'href="../causes/{name}.html"' in book[f"checks/{check}.html"]
        for fact in cause.facts:
            assert f'href="../facts/{fact}.html"' in book[f"causes/{name}.html"]
            assert f'href="../causes/{name}.html"' in book[f"facts/{fact}.html"]
    for name, remedy in shipped.remedies.items():
        for fixed in remedy.fixes:
            assert f'href="../remedies/{name}.html"' in book[f"causes/{fixed}.html"]
            assert f'href="../causes/{fixed}.html"' in book[f"remedies/{name}.html"]


def test_every_page_says_why_how_and_where_from(shipped: Knowledge, book: dict[str, str]) -> None:
    """The mechanism, the way to make sure, what to do, the caution and the sources stand on the pages of their entries."""
    flat = {path: " ".join(Read(text).text.split()) for path, text in book.items() if path.endswith(".html")}
    for name, symptom in shipped.symptoms.items():
        assert " ".join(symptom.look.split()) in flat[f"faults/{name}.html"]
    for name, cause in shipped.causes.items():
        assert " ".join(cause.mechanism.split()) in flat[f"causes/{name}.html"]
    for name, remedy in shipped.remedies.items():
        for text in (remedy.do, remedy.verify, remedy.caution):
            assert " ".join(text.split()) in flat[f"remedies/{name}.html"]
    for path, text in flat.items():
        if "/" in path:
            assert "Sources" in text, path


def test_a_danger_stands_first_on_its_faults(shipped: Knowledge, book: dict[str, str]) -> None:
    """Where a fault means danger, what to do now is the first section of its page, word for word."""
    for danger in shipped.dangers.values():
        for symptom in danger.symptoms:
            text = " ".join(Read(book[f"faults/{symptom}.html"]).text.split())
            assert " ".join(danger.say.split()) in text
            assert text.index("Before anything else") < text.index("How to make sure")


def test_headings_never_skip_a_level(read: dict[str, Read]) -> None:
    """One first heading a page, and none deeper than one level below the one before."""
    for path, page in read.items():
        assert page.levels.count(1) == 1, path
        assert all(b - a <= 1 for a, b in zip(page.levels, page.levels[1:], strict=False)), path


def test_every_sum_has_a_worked_example_that_was_run(shipped: Knowledge, book: dict[str, str]) -> None:
    """Each sum's page holds the text of its result, and the command that gives it."""
    for item in CALCULATIONS:
        text = " ".join(Read(book[f"sums/{item.name}.html"]).text.split())
        values, told = example_of(item)
        assert " ".join(item.run(values, shipped.practice, told).text.split()) in text
        assert f"diagnose sum {item.name} {item.example}".strip() in text


def test_the_typed_command_gives_the_printed_result(book: dict[str, str]) -> None:
    """What a sum's page says to type, typed, prints what the page prints."""
    for name in names():
        page = book[f"sums/{name}.html"]
        typed = re.search(r"<code>(.*?)</code>", page)
        assert typed
        done = CliRunner().invoke(cli, shlex.split(html.unescape(typed[1]))[1:])
        assert done.exit_code == 0, (name, done.output)
        assert " ".join(done.output.splitlines()[0].split()) in " ".join(Read(page).text.split())


def _hostile(entry: Any) -> Any:
    """The entry with every text of it hostile."""
    texts = [f.name for f in fields(entry) if isinstance(getattr(entry, f.name), str) and f.name not in NAMED]
    return replace(entry, **dict.fromkeys(texts, HOSTILE))


def test_each_fault_stands_by_its_drawing_in_the_fault_finder(shipped: Knowledge, book: dict[str, str]) -> None:
    """The drawing of its page, inside the link to it, and hidden from a screen reader, to which the name says it all."""
    drawn = [name for name in shipped.symptoms if name in DRAWINGS]
    assert set(shipped.symptoms) - set(drawn) == {"slow_reaction", "fast_reaction", "lasting_smell"}, (
        "time and smell have none"
    )
    for name, symptom in shipped.symptoms.items():
        picture = f'<span class="small" aria-hidden="true">{DRAWINGS[name].svg()}</span>' if name in drawn else ""
        link = f'<a href="faults/{name}.html">{picture}{html.escape(symptom.title)}</a>'
        assert html.unescape(book["index.html"]).count(html.unescape(link)) == 1, name
        assert name not in drawn or DRAWINGS[name].svg() in book[f"faults/{name}.html"]
    without = book_of(shipped)["index.html"]
    assert "<svg" not in without
    assert without.count('href="faults/') == book["index.html"].count('href="faults/')


def test_hostile_text_stays_text(shipped: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """No text of the knowledge becomes markup, a handler, a template or a control character; the index stays one piece of JSON."""
    tables = ("symptoms", "facts", "checks", "causes", "remedies", "dangers", "sources", "materials", "practice")
    bad = {table: {n: _hostile(e) for n, e in getattr(shipped, table).items()} for table in tables}
    monkeypatch.setattr(book, "phrases_of", lambda knowledge: dict.fromkeys(knowledge.symptoms, (HOSTILE,)))
    made = book_of(replace(shipped, **bad), HOSTILE)
    for path, text in made.items():
        if not path.endswith(".html"):
            continue
        page = Read(text)
        assert page.tags.count("script") == (2 if path == "index.html" else 0), path
        assert "img" not in page.tags
        assert page.events == []
        assert "\x1b" not in text
        assert "\u202e" not in text
    index = re.search(r'<script type="application/json" id="index">(.*?)</script>', made["index.html"], re.DOTALL)
    assert index
    said = json.loads(index[1])["entries"][0]
    assert said[2].startswith('"><script>alert(1)</script>')
    assert "{{ 7 * 7 }}" in said[4][0]


def test_same_bytes_under_another_hash_seed(tmp_path: Path) -> None:
    """Two processes with different hash seeds write the same book, in no more than a few seconds of the processor each."""
    made = []
    for seed in ("1", "2"):
        target = tmp_path / seed
        env = {**os.environ, "PYTHONHASHSEED": seed, "XDG_DATA_HOME": str(tmp_path)}
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run(
            [sys.executable, "-m", "diagnose", "handbook", "-o", str(target)],
            cwd=ROOT,
            env=env,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        assert spent < 30.0  # room for a slow machine
        made.append({p.relative_to(target).as_posix(): p.read_bytes() for p in target.rglob("*") if p.is_file()})
    assert made[0] == made[1]
    assert len(made[0]) > 400


def test_a_folder_of_somebody_elses_is_left_alone(tmp_path: Path) -> None:
    """A folder with other files is refused and untouched, a file in its place too; an older book is written over and its old pages go."""
    (tmp_path / "photo.jpg").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="holds other files"):
        write_book(tmp_path, {"index.html": "x"})
    assert sorted(p.name for p in tmp_path.iterdir()) == ["photo.jpg"]
    with pytest.raises(InputError, match="is no folder"):
        write_book(tmp_path / "photo.jpg", {"index.html": "x"})
    place = tmp_path / "book"
    style = "/* diagnose handbook */\n"
    write_book(place, {"book.css": style, "faults/old.html": "x", "faults/kept.html": "x"})
    write_book(place, {"book.css": style, "faults/kept.html": "y"})
    assert sorted(p.relative_to(place).as_posix() for p in place.rglob("*.html")) == ["faults/kept.html"]
    assert (place / "faults" / "kept.html").read_text(encoding="utf-8") == "y"


def test_a_folder_that_cant_be_written_is_told(tmp_path: Path) -> None:
    """A file where a folder of the book should be is told in one line."""
    place = tmp_path / "book"
    place.mkdir()
    (place / "book.css").write_text("/* diagnose handbook */\n", encoding="utf-8")
    (place / "faults").write_text("", encoding="utf-8")
    with pytest.raises(DiagnoseError, match="can't be written"):
        write_book(place, {"faults/a.html": "x"})


def test_words_come_back_from_their_numbers(shipped: Knowledge) -> None:
    """Every word of the tables is found again from its number, and what lies between goes to the nearer by ratio."""
    for table in ("likelihood", "ratio", "share", "answerable"):
        for word, number in shipped.words[table].items():
            assert words.nearest_word(shipped.words[table], number) == word
    assert words.nearest_word({"a": 1.0, "b": 4.0}, 1.9) == "a"
    assert words.nearest_word({"a": 1.0, "b": 4.0}, 2.1) == "b"


def test_callers_words_are_in_the_index(shipped: Knowledge, book: dict[str, str]) -> None:
    """Every phrase that the knowledge has of callers is in the index of the search, behind its fault."""
    index = re.search(r'<script type="application/json" id="index">(.*?)</script>', book["index.html"], re.DOTALL)
    assert index
    entries = {entry[0]: entry for entry in json.loads(index[1])["entries"]}
    said = links.phrases_of(shipped)
    assert sum(map(len, said.values())) > 1000
    for name, phrases in said.items():
        assert entries[f"faults/{name}.html"][4] == [" ".join(phrase.split()) for phrase in phrases]
