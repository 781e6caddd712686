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

from diagnose.report.terminal import print_report
from diagnose.report.text.sections import Wanted
from diagnose.report.text.shown import Shown
from tests.patience import WAIT

ShownOf = Callable[..., Shown]
ROOT = Path(__file__).parents[2]
CASE = "symptoms: [soft_face, streaks]\nface_temperature: 10\nstirred: {value: no, source: told}"
SHIPPED_CASE = ROOT / "tests" / "cases" / "tusks-in-march.yaml"
ESCAPES = re.compile(r"\x1b\[[0-9;]*m")


class Screen(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def printed(shown: Shown, stream: io.StringIO | None = None, full: bool = True) -> str:
    """What `print_report` puts out of the whole report, or of what it shows by default."""
    out = stream if stream is not None else io.StringIO()
    print_report(shown, out, Wanted(full=full))
    return out.getvalue()


@pytest.fixture(autouse=True)
def _plain_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "CLICOLOR_FORCE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("LINES", "500")


def test_redirected_it_is_plain_and_full_width(shown: ShownOf) -> None:
    """A file gets no escape codes, and each paragraph is one whole line however long it is."""
    said = printed(shown(CASE))
    assert "\x1b" not in said
    assert (
        "  Both are plain to see, so both are put right at once; all else as it was. Write down what you changed.\n"
        in said
        or "  One change, all else as it was, or nobody will know which change did it. Write down what you changed."
        in said
    )


def test_force_color_does_not_put_codes_into_a_file(shown: ShownOf, monkeypatch: pytest.MonkeyPatch) -> None:
    """FORCE_COLOR, even as 0, changes nothing about a redirected report."""
    monkeypatch.setenv("FORCE_COLOR", "0")
    assert "\x1b" not in printed(shown(CASE))


def test_a_terminal_gets_bold_and_one_colour(shown: ShownOf) -> None:
    """On a terminal headings stand out, by bold and a single colour."""
    said = printed(shown(CASE), Screen())
    assert set(ESCAPES.findall(said)) == {"\x1b[1m", "\x1b[0m", "\x1b[1;35m"}


@pytest.mark.parametrize(("name", "value"), [("NO_COLOR", "1"), ("TERM", "dumb")])
def test_no_color_and_dumb_terminals_get_no_codes(
    shown: ShownOf, monkeypatch: pytest.MonkeyPatch, name: str, value: str
) -> None:
    """NO_COLOR and a dumb terminal take away bold as well as colour."""
    monkeypatch.setenv(name, value)
    assert "\x1b" not in printed(shown(CASE), Screen())


def test_an_empty_no_color_is_no_wish(shown: ShownOf, monkeypatch: pytest.MonkeyPatch) -> None:
    """NO_COLOR counts only when it holds something."""
    monkeypatch.setenv("NO_COLOR", "")
    assert "\x1b[1m" in printed(shown(CASE), Screen())


@pytest.mark.parametrize("columns", [20, 40, 60, 80, 200])
def test_no_line_is_wider_than_the_screen(shown: ShownOf, monkeypatch: pytest.MonkeyPatch, columns: int) -> None:
    """At any width lines are folded, nothing is cut off, and no line ends in blanks."""
    monkeypatch.setenv("COLUMNS", str(columns))
    for full in (True, False):
        lines = ESCAPES.sub("", printed(shown(CASE), Screen(), full)).splitlines()
        assert max(len(line) for line in lines) <= min(columns, 100)
        assert all(line == line.rstrip() for line in lines)
    assert " ".join(" ".join(lines).split()) == " ".join(printed(shown(CASE), full=False).split())


def test_a_word_longer_than_the_screen_is_folded(shown: ShownOf, monkeypatch: pytest.MonkeyPatch) -> None:
    """A title without a blank does not run over the edge."""
    monkeypatch.setenv("COLUMNS", "40")
    lines = ESCAPES.sub("", printed(shown(CASE, title="x" * 120), Screen())).splitlines()
    assert "".join(lines[:3]) == "x" * 120
    assert len(lines[0]) == 40


def test_hostile_texts_of_a_case_are_only_text(shown: ShownOf) -> None:
    """Markup, emoji names, escape codes and direction marks in a title are shown or stripped, never obeyed."""
    said = printed(shown(CASE, title='"<script>alert(1)</script> [red]x[/b] :bug: \\e[2J\\x9b2J\\u202E \\a"'), Screen())
    first = ESCAPES.sub("", said).splitlines()[0]
    assert first == "<script>alert(1)</script> [red]x[/b] :bug: [2J 2J"


def test_hostile_texts_of_the_knowledge_are_only_text(shown: ShownOf) -> None:
    """A title, an answer and a remedy that hold markup come out as they stand."""
    changes = (
        ("title: Badly mixed", "title: '[red]Badly[/red] :bug: mixed'"),
        ("title: 'No, on top only'", "title: 'No [/] :warning:'"),
        ("do: Stir to the floor and scrape.", "do: 'Stir [31m[blink]'"),
    )
    said = printed(shown(CASE, *changes))
    assert "1. [red]Badly[/red] :bug: mixed (" in said
    assert "cup stirred: no [/] :warning: (told)" in said
    assert "Stir [31m[blink]\n" in said
    assert "\x1b" not in said


def test_a_stream_that_knows_only_ascii_gets_ascii(shown: ShownOf) -> None:
    """Where degrees and accents can't be written they are put in other letters; nothing fails and nothing is a code."""
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="ascii", write_through=True)
    print_report(shown(CASE, title="Café – 5 µm²"), stream)
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
        timeout=WAIT,
        cwd=ROOT,
    )


def test_a_real_process_writes_to_standard_output_only() -> None:
    """`diagnose read CASE` leaves with 0, its report on standard output and nothing on standard error."""
    done = _run()
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.decode().splitlines()[0] == "Mammoth tusk bases, garage in March"


def test_why_and_sheet_and_full_add_to_the_report() -> None:
    """--short is the card alone, --why adds the bars, --sheet the sums, --full all of it; what stands before stays as it is."""
    plain, short, more, full = (
        _run(*options).stdout.decode() for options in ((), ("--short",), ("--why", "--sheet"), ("--full",))
    )
    assert all("It is" in said for said in (plain, short, more, full))
    assert ["CAUSES" in said for said in (plain, short, more, full)] == [True, False, True, True]
    assert ["WHY THE FIRST CAUSE" in said for said in (plain, short, more, full)] == [False, False, True, True]
    assert ["takes for granted: " in said for said in (plain, short, more, full)] == [False, False, True, False]
    assert "THIS PART" in full
    assert len(short.splitlines()) <= 12


def test_the_page_goes_to_standard_output() -> None:
    """`--html -` writes the page to standard output and no file."""
    done = _run("--html", "-")
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.startswith(b"<!doctype html>\n")
    assert done.stdout.endswith(b"</html>\n")
    assert not (ROOT / "-").exists()


def test_a_report_taller_than_the_screen_ends_on_its_card(shown: ShownOf, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the whole does not fit the screen the card comes last, for there the eye is when the command ends; else it comes first."""
    monkeypatch.setenv("COLUMNS", "80")
    tall = ESCAPES.sub("", printed(shown(CASE), Screen()))
    monkeypatch.setenv("LINES", "24")
    low = ESCAPES.sub("", printed(shown(CASE), Screen()))
    assert tall.index("It is") < tall.index("CAUSES")
    assert low.index("CAUSES") < low.index("It is")
    assert sorted(tall.split()) == sorted(low.split())


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
    assert b"safety data sheets" in done.stdout


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
        assert process.wait(timeout=WAIT) == 0
    os.close(parent)
    text = said.decode()
    assert "\x1b[1m" in text
    assert max(len(line.rstrip("\r")) for line in ESCAPES.sub("", text).split("\n")) <= 40
