"""`diagnose draw`: pictures in files, and what is refused in one line."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

Run = Callable[..., "subprocess.CompletedProcess[str]"]
CASE = Path(__file__).parents[1] / "cases" / "bat-ears-after-a-clean.yaml"


@pytest.mark.parametrize(
    ("words", "title"),
    [
        ((CASE, "--fishbone"), "What may have had a part"),
        ((CASE, "--beliefs"), "How the beliefs ran"),
        (("--map", "short_fill"), "What may cause it, what mends it, what tells it"),
    ],
)
def test_a_picture_in_a_file(run: Run, tmp_path: Path, words: tuple[object, ...], title: str) -> None:
    """Each picture is written as SVG with its title, is told on standard error, and is the same on standard output."""
    done = run("draw", *words, "-o", tmp_path / "a.svg")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", f"written: {tmp_path / 'a.svg'}\n")
    text = (tmp_path / "a.svg").read_text(encoding="utf-8")
    assert text.startswith('<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg" ')
    assert (ET.fromstring(text)[0].text or "").startswith(title)
    piped = run("draw", *words, "-o", "-", env={"PYTHONHASHSEED": "5", "LC_ALL": "C"})
    assert (piped.stdout, piped.stderr) == (text, "")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            (CASE, "-o", "x.svg"),
            "diagnose: one picture at a time: --fishbone, --beliefs or --map SYMPTOM; see diagnose draw --help",
        ),
        (
            (CASE, "--fishbone", "--beliefs", "-o", "x.svg"),
            "diagnose: one picture at a time: --fishbone, --beliefs or --map SYMPTOM; see diagnose draw --help",
        ),
        (
            ("--fishbone", "-o", "x.svg"),
            "diagnose: --fishbone needs a case file, as in: diagnose draw owl.yaml --fishbone -o owl.svg; see diagnose draw --help",
        ),
        (
            (CASE, "--map", "short_fill", "-o", "x.svg"),
            "diagnose: --map draws what is known of a symptom and takes no case; see diagnose draw --help",
        ),
        (
            (CASE, "--fishbone"),
            "diagnose: -o FILE.svg is missing; -o - writes to standard output; see diagnose draw --help",
        ),
        (
            (CASE, "--fishbone", "-o", "x.png"),
            "diagnose: -o x.png: pictures are SVG, expected a name that ends in .svg; see diagnose draw --help",
        ),
        (
            (CASE, "--fishbone", "-o", "/dev/null"),
            "diagnose: /dev/null: is no regular file, expected a new name or a file to write over",
        ),
        (("none.yaml", "--fishbone", "-o", "x.svg"), "none.yaml: can't be read: No such file or directory"),
    ],
)
def test_what_is_refused(run: Run, tmp_path: Path, words: tuple[object, ...], said: str) -> None:
    """A wrong command line or input is told in one line with status 2, and nothing is written."""
    done = run("draw", *words, cwd=tmp_path)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"{said}\n")
    assert list(tmp_path.iterdir()) == []


def test_the_map_lists_the_symptoms(run: Run, tmp_path: Path) -> None:
    """Alone --map lists each symptom with its title; of an id that is none the same list stands above the one line of the fault."""
    listed = run("draw", "--map")
    assert (listed.returncode, listed.stderr) == (0, "")
    assert re.search(r"^short_fill +Mold not filled", listed.stdout, re.MULTILINE)
    done = run("draw", "--map", "short_fil", "-o", "x.svg", cwd=tmp_path)
    said = "diagnose: --map: no symptom 'short_fil', nearest is 'short_fill', expected the id of one\n"
    assert (done.returncode, done.stdout, done.stderr) == (2, "", listed.stdout + said)
    assert list(tmp_path.iterdir()) == []


def test_a_case_without_a_symptom(run: Run, tmp_path: Path) -> None:
    """A case that tells no symptom is refused by its name."""
    (tmp_path / "case.yaml").write_text("case: 1\nanswers:\n  build: bare_foam\n", encoding="utf-8")
    done = run("draw", "case.yaml", "--beliefs", "-o", "x.svg", cwd=tmp_path)
    assert done.returncode == 2
    assert (
        done.stderr
        == "diagnose: case.yaml: no symptom is told as seen, so there is nothing to draw; tell first what is wrong with the part\n"
    )


def test_a_folder_that_is_not_there(run: Run, tmp_path: Path) -> None:
    """Work that fails at the disk has status 1."""
    done = run("draw", CASE, "--fishbone", "-o", tmp_path / "none" / "x.svg")
    assert (done.returncode, done.stderr) == (
        1,
        f"diagnose: {tmp_path / 'none' / 'x.svg'}: can't be written: No such file or directory\n",
    )


def test_no_picture_imports_a_plotting_library(run: Run, tmp_path: Path) -> None:
    """Neither a page, which holds the fishbone, nor a map loads a library for plots or graphs."""
    for words in (("read", CASE, "--html", tmp_path / "p.html"), ("draw", "--map", "short_fill", "-o", "-")):
        done = run(*words, env={"PYTHONPROFILEIMPORTTIME": "1"})
        assert done.returncode == 0
        assert not re.search(r"\| +(matplotlib|networkx)", done.stderr)
