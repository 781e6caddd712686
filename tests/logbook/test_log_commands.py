"""`diagnose log` as other programs run it, and as a caster at a terminal does."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pexpect
import pytest
from log_support import GOOSE, ROOT, Run
from shop import Shop

from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook import remember, resolve_case
from diagnose.logbook.book import put_in
from diagnose.logbook.learned import PARTS
from diagnose.logbook.places import where_of
from diagnose.logbook.store import open_log
from tests.patience import WAIT

FIXED = ("--cause", "mold_cold", "--how", "fixed", "--next", "good")


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return tmp_path / "log.db"


def plain(done: subprocess.CompletedProcess[str]) -> dict[str, Any]:
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout)
    assert data["version"] == 1
    return data


def test_a_part_goes_through_its_life(run: Run, log: Path) -> None:
    """Kept, listed as open, closed, corrected, exported."""
    name = plain(run("add", GOOSE, "--json", "--log", log))["id"]
    (case,) = plain(run("list", "--open", "--json", "--log", log))["cases"]
    assert case == {
        "id": name,
        "date": "2026-11-20",
        "title": "Goose mask, second pour of the morning",
        "part": "goose mask",
        "mold": "goose, silicone in a plaster jacket",
        "client": None,
        "state": "open",
        "first": "mold_cold",
    }
    assert "close needs --cause, --how and --next" in run("close", name, "--log", log).stderr
    done = plain(run("close", name, *FIXED, "--cost", "120", "--remedy", "warm_the_mold", "--json", "--log", log))
    assert done["outcome"]["cost"] == 120.0
    assert run("close", name, *FIXED[:-1], "bad", "--log", log).stdout.startswith(f"{name} corrected")
    assert plain(run("list", "--open", "--json", "--log", log))["cases"] == []
    line = json.loads(run("export", "--log", log).stdout)
    assert (line["outcome"]["next"], line["earlier"][0]["next"]) == ("bad", "good")
    shown = plain(run("show", name, "--json", "--log", log))
    assert shown["assessment"]["verdict"]["causes"] == ["mold_cold"]
    assert "before it was corrected" in run("show", name, "--log", log).stdout


def test_a_good_part_needs_no_case_file(run: Run, log: Path) -> None:
    """In under a minute: one line."""
    name = plain(
        run("add", "--good", "--mold", "owl 2", "--lot-a", "A-7", "--date", "2026-01-05", "--json", "--log", log)
    )["id"]
    (case,) = plain(run("list", "--json", "--log", log))["cases"]
    assert (case["id"], case["mold"], case["state"], case["date"]) == (name, "owl 2", "good", "2026-01-05")
    assert run("add", "--log", log).returncode == 2


def test_alone_it_lists_the_last_and_those_that_wait(run: Run, log: Path) -> None:
    """And an empty log says how to begin."""
    assert run("--log", log).stderr == "the log is empty; keep a part by: diagnose log add CASE\n"
    name = plain(run("add", GOOSE, "--json", "--log", log))["id"]
    text = run("--log", log).stdout
    assert "1 parts: 0 good, 0 closed, 1 waiting" in text
    assert text.count(name) == 2
    data = plain(run("--json", "--log", log))
    assert [case["id"] for case in data["open"]] == [case["id"] for case in data["cases"]] == [name]


def test_where_the_log_is(run: Run, log: Path, tmp_path: Path) -> None:
    """The option beats the environment, which beats the user's own."""
    other = tmp_path / "other.db"
    env = {"DIAGNOSE_LOG": str(other)}
    run("add", "--good", "--log", log, env=env)
    run("--log", log, "add", "--good", env=env)
    assert not other.exists()
    run("add", "--good", env=env)
    assert len(plain(run("list", "--json", env=env))["cases"]) == 1
    assert len(plain(run("list", "--json", "--log", f"sqlite:///{log}"))["cases"]) == 2


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("close", "abcde"), "no case 'abcde' in the log"),
        (("close", "abcde", *FIXED), "no case 'abcde' in the log"),
        (("close", "abcde", *FIXED[:-1], "fine"), "'fine' is not one of"),
        (("show", "abcde"), "no case 'abcde' in the log"),
        (("import", "/nowhere.jsonl"), "/nowhere.jsonl: no such file, expected an export of a log"),
        (("merge", "/nowhere.db"), "/nowhere.db: no such file, expected a log"),
        (("restore", "/nowhere.db", "--yes"), "/nowhere.db: no such file, expected a backup of a log"),
        (("page", "--from", "May"), "--from: 'May' is no day, expected one as 2026-03-02"),
        (("page", "--from", "2026-02-01", "--to", "2026-01-01"), "--from 2026-02-01 is after --to 2026-01-01"),
        (("add", "/nowhere.yaml"), "/nowhere.yaml: can't be read: No such file or directory"),
        (("add", "--good", "--date", "May"), "about.date: 'May' is no day"),
        (("add", "--good", "--photo", "/nowhere.jpg"), "/nowhere.jpg: no such file, expected a photo"),
        (("add", "--good", "--photo", "pyproject.toml"), "pyproject.toml: is no picture that can be read"),
        (("learn", "--apply", "--forget"), "--apply or --forget, not both"),
        (("export", "--json"), "--json goes with -o FILE"),
    ],
)
def test_what_is_wrong_is_told_in_one_line(words: tuple[str, ...], message: str, run: Run, log: Path) -> None:
    """With exit status 2, and nothing on standard output."""
    done = run(*words, "--log", log)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.splitlines()) == 1, done.stderr
    assert message in done.stderr


def test_an_import_tells_each_wrong_line(run: Run, log: Path, tmp_path: Path) -> None:
    """With file and number, and that nothing went in."""
    path = tmp_path / "lines.jsonl"
    path.write_text('{"log": 1, "case": {"case": 1, "answers": {}}}\nnothing\n{"log": 3}\n')
    done = run("import", path, "--log", log)
    assert done.returncode == 2
    lines = done.stderr.splitlines()
    assert [line.split(": ")[0] for line in lines] == [
        f"{path}:2",
        f"{path}:3",
        "nothing was put in; --partial puts in the other lines",
    ]
    done = run("import", path, "--partial", "--json", "--log", log)
    assert (done.returncode, json.loads(done.stdout)["added"]) == (2, 1)


def test_a_case_comes_back_as_a_case_file(run: Run, log: Path, tmp_path: Path, knowledge: Knowledge) -> None:
    """The file reads as the same case; so does its id wherever a case is asked for."""
    name = plain(run("add", GOOSE, "--json", "--log", log))["id"]
    target = tmp_path / "again.yaml"
    assert run("show", name, "-o", target, "--log", log).returncode == 0
    by_file, by_id = (resolve_case(given, str(log), knowledge) for given in (str(target), name))
    assert by_file == by_id
    assert by_id.title == "Goose mask, second pour of the morning"
    with pytest.raises(InputError, match="is no file, and no case 'zzzzz' in the log"):
        resolve_case("zzzzz", str(log), knowledge)


def test_a_finished_interview_is_remembered(log: Path, knowledge: Knowledge) -> None:
    """With the assessment as it stood, and today's date where none is told."""
    from diagnose.assessment.assess import assess
    from diagnose.assessment.consultation import Consultation, ModelCache
    from diagnose.logbook.book import kept, today

    case = resolve_case(str(GOOSE), None, knowledge)
    told = assess(Consultation(ModelCache(knowledge), case)).to_plain()
    name = remember(case, knowledge, told, str(log))
    store = open_log(where_of(str(log)))
    found = kept(store, name)
    assert found.assessment == json.loads(json.dumps(told))
    assert found.said.causes[0][0] == "mold_cold"
    undated = remember(case.with_about(), knowledge, None, str(log))
    assert kept(store, undated).case["about"]["date"] == "2026-11-20"
    assert today() in kept(store, remember(type(case)(), knowledge, None, str(log))).case["about"]["date"]
    store.close()


def test_photos_are_taken_from_beside_the_case_and_from_nowhere_else(run: Run, log: Path, tmp_path: Path) -> None:
    """A name that leads out of the folder is kept as a name."""
    from PIL import Image

    Image.new("RGB", (30, 20)).save(tmp_path / "front.png")
    Image.new("RGB", (30, 20)).save(tmp_path.parent / "outside.png")
    case = tmp_path / "case.yaml"
    case.write_text("case: 1\nanswers: {}\nabout:\n  photos: [front.png, ../outside.png]\n")
    done = run("add", case, "--json", "--log", log)
    assert "../outside.png: no such photo beside the case; only its name is kept" in done.stderr
    name = plain(done)["id"]
    run("show", name, "--photos", tmp_path / "out", "--log", log)
    assert [path.name for path in (tmp_path / "out").iterdir()] == [f"{name}-1.jpg"]
    assert [photo["digest"] is None for photo in plain(run("show", name, "--json", "--log", log))["photos"]] == [
        False,
        True,
    ]


def test_the_page_from_the_command_line(run: Run, log: Path, tmp_path: Path, knowledge: Knowledge) -> None:
    """JSON, words and HTML of one log."""
    store = open_log(where_of(str(log)), write=True)
    with store.writing() as connection:
        put_in(connection, list(Shop(knowledge).parts(60)))
    store.close()
    assert plain(run("page", "--json", "--log", log))["n"] == 60
    assert "60 parts" in run("page", "--log", log).stdout
    done = run("page", "--html", tmp_path / "page.html", "--log", log)
    assert done.returncode == 0
    assert (tmp_path / "page.html").read_text(encoding="utf-8").startswith("<!doctype html>")


def test_learning_from_the_command_line(run: Run, log: Path, knowledge: Knowledge) -> None:
    """The shape that other programs rely on; applied only when accepted, and forgotten again."""
    store = open_log(where_of(str(log)), write=True)
    with store.writing() as connection:
        put_in(connection, list(Shop(knowledge, {"mold_cold": 0.6, "a_rich": 0.4}).parts(110)))
    store.close()
    found = plain(run("learn", "--apply", "--json", "--log", log))
    assert set(found["book"]) == set(found["learned"]) == {"log_score", "first"}
    assert found["accepted"]
    assert found["applied"]
    assert {"id", "book", "now", "cases"} == set(found["changes"][0])
    assert found["in_use"] == {"number": 1, "recorded": found["in_use"]["recorded"], "cases": found["cases"]}
    assert set(found["way"].replace(" and ", ", ").split(", ")) <= set(PARTS)
    assert all(set(shown) == {"check", "result", "book", "now"} for shown in found["results"])
    assert bool(found["links"]) == ("links" in found["way"])
    assert all(set(link) == {"cause", "finding", "book", "now"} for link in found["links"])
    assert set(found["remembered"]) <= {"mold", "lot_a", "lot_b"}
    assert [path.name for path in log.parent.glob("*.json")] == []
    assert plain(run("learn", "--forget", "--json", "--log", log))["forgotten"] is True
    assert plain(run("--json", "--log", log))["in_use"] is None
    assert "back to the book" not in run("learn", "--forget", "--log", log).stdout


def test_nothing_is_applied_that_was_not_accepted(run: Run, log: Path) -> None:
    """Exit status 1 and why."""
    run("add", "--good", "--log", log)
    done = run("learn", "--apply", "--log", log)
    assert done.returncode == 1
    assert "not accepted: too few confirmed cases to judge by" in done.stdout


def test_closing_asks_three_things_and_no_more(log: Path, run: Run, clean_env: dict[str, str]) -> None:
    """At a terminal: what it was (by number), how it is known, the next part."""
    name = plain(run("add", GOOSE, "--json", "--log", log))["id"]
    words = ["-m", "diagnose", "log", "close", name, "--log", str(log)]
    child = pexpect.spawn(
        sys.executable, words, env={**clean_env, "TERM": "dumb"}, cwd=str(ROOT), encoding="utf-8", timeout=WAIT
    )
    child.expect("What was it")
    child.sendline("nonsense")
    child.expect("no cause 'nonsense'")
    child.sendline("1")
    child.expect("How do you know")
    child.sendline("fixed")
    child.expect("And the next part")
    child.sendline("good")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    line = json.loads(run("export", "--log", log).stdout)
    assert (line["outcome"]["causes"], line["outcome"]["how"]) == (["mold_cold"], "fixed")


def test_help_and_reading_load_no_database() -> None:
    """Start-up doesn't grow by the log."""
    code = "import sys, diagnose.commands.main, diagnose.logbook; print([m for m in ('sqlalchemy', 'scipy', 'PIL') if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert done.stdout.strip() == "[]"
