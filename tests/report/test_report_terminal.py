"""The report on standard output: widths, colours, encodings, hostile texts, and a real process."""

from __future__ import annotations

import io
import os
import pty
import re
import select
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.assessment.situation import Situation
from diagnose.report.terminal import print_report

Consult = Callable[..., Situation]
ROOT = Path(__file__).parents[2]
CASE = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}"
SHIPPED_CASE = ROOT / "tests" / "cases" / "tusks-in-march.yaml"
ESCAPES = re.compile(r"\x1b\[[0-9;]*m")


class Screen(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def printed(situation: Situation, stream: io.StringIO | None = None) -> str:
    """What `print_report` puts out."""
    out = stream if stream is not None else io.StringIO()
    print_report(situation, out)
    return out.getvalue()


@pytest.fixture(autouse=True)
def _plain_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "CLICOLOR_FORCE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")


def test_redirected_it_is_plain_and_full_width(consult: Consult) -> None:
    """A file gets no escape codes, and each paragraph is one whole line however long it is."""
    said = printed(consult(CASE))
    assert "\x1b" not in said
    assert (
        '  Both had a part, most likely: "Badly mixed" and "Face too cold". Several causes can hold at once, and these two do not rule each other out.\n'
        in said
    )


def test_force_color_does_not_put_codes_into_a_file(consult: Consult, monkeypatch: pytest.MonkeyPatch) -> None:
    """FORCE_COLOR, even as 0, changes nothing about a redirected report."""
    monkeypatch.setenv("FORCE_COLOR", "0")
    assert "\x1b" not in printed(consult(CASE))


def test_a_terminal_gets_bold_and_one_colour(consult: Consult) -> None:
    """On a terminal headings stand out, by bold and a single colour."""
    said = printed(consult(CASE), Screen())
    assert set(ESCAPES.findall(said)) == {"\x1b[1m", "\x1b[0m", "\x1b[1;35m"}


@pytest.mark.parametrize(("name", "value"), [("NO_COLOR", "1"), ("TERM", "dumb")])
def test_no_color_and_dumb_terminals_get_no_codes(
    consult: Consult, monkeypatch: pytest.MonkeyPatch, name: str, value: str
) -> None:
    """NO_COLOR and a dumb terminal take away bold as well as colour."""
    monkeypatch.setenv(name, value)
    assert "\x1b" not in printed(consult(CASE), Screen())


def test_an_empty_no_color_is_no_wish(consult: Consult, monkeypatch: pytest.MonkeyPatch) -> None:
    """NO_COLOR counts only when it holds something."""
    monkeypatch.setenv("NO_COLOR", "")
    assert "\x1b[1m" in printed(consult(CASE), Screen())


@pytest.mark.parametrize("columns", [20, 40, 60, 80, 200])
def test_no_line_is_wider_than_the_screen(consult: Consult, monkeypatch: pytest.MonkeyPatch, columns: int) -> None:
    """At any width lines are folded, nothing is cut off, and no line ends in blanks."""
    monkeypatch.setenv("COLUMNS", str(columns))
    lines = ESCAPES.sub("", printed(consult(CASE), Screen())).splitlines()
    assert max(len(line) for line in lines) <= min(columns, 92)
    assert all(line == line.rstrip() for line in lines)
    assert " ".join(" ".join(lines).split()) == " ".join(printed(consult(CASE)).split())


def test_a_word_longer_than_the_screen_is_folded(consult: Consult, monkeypatch: pytest.MonkeyPatch) -> None:
    """A title without a blank does not run over the edge."""
    monkeypatch.setenv("COLUMNS", "40")
    lines = ESCAPES.sub("", printed(consult(CASE, title="x" * 120), Screen())).splitlines()
    assert "".join(lines[:3]) == "x" * 120
    assert len(lines[0]) == 40


def test_hostile_texts_of_a_case_are_only_text(consult: Consult) -> None:
    """Markup, emoji names, escape codes and direction marks in a title are shown or stripped, never obeyed."""
    said = printed(
        consult(CASE, title='"<script>alert(1)</script> [red]x[/b] :bug: \\e[2J\\x9b2J\\u202E \\a"'), Screen()
    )
    first = ESCAPES.sub("", said).splitlines()[0]
    assert first == "<script>alert(1)</script> [red]x[/b] :bug: [2J 2J"


def test_hostile_texts_of_the_knowledge_are_only_text(consult: Consult) -> None:
    """A title, an answer and a remedy that hold markup come out as they stand."""
    changes = (
        ("title: Badly mixed", "title: '[red]Badly[/red] :bug: mixed'"),
        ("title: 'No, on top only'", "title: 'No [/] :warning:'"),
        ("do: Stir to the floor and scrape.", "do: 'Stir [31m[blink]'"),
    )
    said = printed(consult(CASE, *changes))
    assert "1. [red]Badly[/red] :bug: mixed (very likely, about 90 %)" in said
    assert "cup stirred: no [/] :warning: (told)" in said
    assert "Stir [31m[blink]\n" in said
    assert "\x1b" not in said


def test_a_stream_that_knows_only_ascii_gets_ascii(consult: Consult) -> None:
    """Where degrees and accents can't be written they are put in other letters; nothing fails and nothing is a code."""
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="ascii", write_through=True)
    print_report(consult(CASE, title="Café – 5 µm²"), stream)
    said = raw.getvalue().decode("ascii")
    assert said.splitlines()[0] == "Cafe - 5 um2"
    assert "face temperature 10 deg C" in said
    assert "\\x" not in said


def _run(*options: str, **extra: str) -> subprocess.CompletedProcess[bytes]:
    env = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT), "HOME": os.environ.get("HOME", "/tmp"), **extra}
    return subprocess.run(
        [sys.executable, "-m", "diagnose", "read", str(SHIPPED_CASE), *options],
        capture_output=True,
        env=env,
        check=False,
        timeout=60,
        cwd=ROOT,
    )


def test_a_real_process_writes_to_standard_output_only() -> None:
    """`diagnose read CASE` leaves with 0, its report on standard output and nothing on standard error."""
    done = _run()
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.decode().splitlines()[0] == "Mammoth tusk bases, garage in March"


def test_why_and_sheet_add_to_the_report() -> None:
    """--why adds the bars and --sheet the sums; the rest stays as it is."""
    plain, more = (_run(*options).stdout.decode() for options in ((), ("--why", "--sheet")))
    assert ("WHY THE FIRST CAUSE" in plain, "WHY THE FIRST CAUSE" in more) == (False, True)
    assert ("takes for granted: " in plain, "takes for granted: " in more) == (False, True)
    start = plain.index("WORTH CHECKING NEXT")
    assert plain[start : plain.index("NUMBERS FOR THE NEXT POUR")] in more


@pytest.mark.parametrize(
    "options", [("--why", "--json"), ("--sheet", "--html", "page.html"), ("--sheet", "--batch"), ("--why", "--network")]
)
def test_why_and_sheet_are_for_the_terminal(options: tuple[str, ...]) -> None:
    """With JSON, many cases or a page they are refused in one line."""
    done = _run(*options)
    assert (done.returncode, done.stdout) == (2, b"")
    said = "diagnose: --why and --sheet are for the report on the terminal; the page has both, JSON has neither; see diagnose read --help\n"
    assert done.stderr.decode() == said


@pytest.mark.parametrize(
    "extra",
    [
        {"LC_ALL": "C"},
        {"PYTHONIOENCODING": "ascii"},
        {"PYTHONIOENCODING": "cp1252"},
        {"LC_ALL": "C", "PYTHONUTF8": "0"},
    ],
)
def test_it_works_in_any_locale(extra: dict[str, str]) -> None:
    """No locale and no encoding of the output stops the report or fills it with codes."""
    done = _run(**extra)
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"\\x" not in done.stdout
    assert b"SAFETY" in done.stdout


def test_the_same_bytes_each_time() -> None:
    """The hash seed changes nothing in what is printed."""
    assert _run(PYTHONHASHSEED="1").stdout == _run(PYTHONHASHSEED="2").stdout


def test_on_a_real_terminal_of_forty_columns() -> None:
    """On a pseudo-terminal the report has bold, and no line is wider than the screen."""
    parent, child = pty.openpty()
    env = {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": str(ROOT),
        "HOME": os.environ.get("HOME", "/tmp"),
        "TERM": "xterm",
        "COLUMNS": "40",
    }
    with subprocess.Popen(
        [sys.executable, "-m", "diagnose", "read", str(SHIPPED_CASE)], stdout=child, stderr=child, env=env, cwd=ROOT
    ) as process:
        os.close(child)
        said = b""
        while select.select([parent], [], [], 30)[0]:
            try:
                block = os.read(parent, 65536)
            except OSError:
                break
            if not block:
                break
            said += block
        assert process.wait(timeout=30) == 0
    os.close(parent)
    text = said.decode()
    assert "\x1b[1m" in text
    assert max(len(line.rstrip("\r")) for line in ESCAPES.sub("", text).split("\n")) <= 40
