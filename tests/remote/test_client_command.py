"""`diagnose client` as other programs run it: what goes to which stream, the JSON, the exit statuses; and the phone
on a terminal.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.knowledge import Knowledge
from diagnose.knowledge.cache import write_cache
from diagnose.remote.order import KIND, Order, cache_mark
from tests.patience import WAIT

from .conftest import packed, report

ROOT = Path(__file__).parents[2]
Run = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture
def env(tmp_path: Path, shipped: Knowledge, order: Order) -> dict[str, str]:
    """An environment with a log, a state and a cache of its own, in which the order of questions is worked out already."""
    clean = {k: v for k, v in os.environ.items() if not k.startswith(("DIAGNOSE_", "XDG_", "NO_COLOR"))}
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
        write_cache(KIND, cache_mark(shipped), {name: order.get(name, {}) for name in shipped.symptoms})
    more = {"XDG_CACHE_HOME": str(tmp_path / "cache"), "XDG_STATE_HOME": str(tmp_path / "state"), "TERM": "xterm"}
    return {**clean, **more, "DIAGNOSE_LOG": str(tmp_path / "log.db"), "PYTHONPATH": str(ROOT)}


@pytest.fixture
def run(env: dict[str, str], tmp_path: Path) -> Run:
    """Run `diagnose client` with these words."""

    def run_command(*words: object, data: bytes = b"") -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "diagnose", "client", *map(str, words)]
        done = subprocess.run(
            command, env=env, cwd=tmp_path, input=data, capture_output=True, timeout=WAIT, check=False
        )
        out, err = done.stdout.decode(), done.stderr.decode()
        return subprocess.CompletedProcess(command, done.returncode, out, err)

    return run_command


def test_a_case_from_page_to_reply(run: Run, tmp_path: Path) -> None:
    """Page, take, list, second page and reply by their commands, under one id."""
    page = run("page", "--client", "harbor", "-o", "page.html")
    assert (page.returncode, page.stdout, page.stderr) == (0, "", "written: page.html\n")
    assert "Content-Security-Policy" in (tmp_path / "page.html").read_text(encoding="utf-8")
    (tmp_path / "back.json").write_bytes(packed(report()))
    first = run("take", "back.json", "--json")
    assert (first.returncode, first.stderr) == (0, "")
    told = json.loads(first.stdout)
    assert (told["version"], told["round"], told["faults"]) == (1, 1, [])
    assert {"verdict", "dangers", "causes", "next", "settled", "change", "save", "plan", "knowledge"} <= set(told)
    assert told["second_round"]["pays"]
    waits = json.loads(run("list", "--json").stdout)["cases"]
    assert [(one["id"], one["client"], one["days"]) for one in waits] == [(told["id"], "harbor", 0)]
    second = run("page", "--client", "harbor", "--case", told["id"], "-o", "-")
    assert (second.returncode, second.stdout.count("<html")) == (0, 1)
    text = run("reply", told["id"])
    assert "WHAT WE THINK" in text.stdout
    html = run("reply", told["id"], "-o", "reply.html")
    assert (html.returncode, html.stdout) == (0, "")
    assert "<h2>Do this next</h2>" in (tmp_path / "reply.html").read_text(encoding="utf-8")


def test_a_mail_on_standard_input(run: Run) -> None:
    """`take -` reads what is piped in; without an alias in it --client says whose it is."""
    data = packed(report(client=""))
    refused = run("take", "-", data=data)
    assert refused.returncode == 2
    assert "names no client" in refused.stderr
    taken = run("take", "-", "--client", "quarry", data=data)
    assert taken.returncode == 0
    assert taken.stdout.startswith("quarry, case ")


def test_a_second_page_from_a_case_file(run: Run, tmp_path: Path) -> None:
    """A case file that no log knows makes a second page too; what it told comes back with the answers."""
    case = tmp_path / "owl.yaml"
    case.write_text("case: 1\nanswers: {build: bare_foam, symptoms: [rounded_tips], repeats: same_spot}\n")
    made = run("page", "--client", "harbor", "--case", case, "-o", "-")
    assert made.returncode == 0
    data = made.stdout.split('id="data">')[1].split("</script>")[0]
    assert json.loads(data)["before"] == {"build": "bare_foam", "symptoms": ["rounded_tips"], "repeats": "same_spot"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("take", "nowhere.json"), "can't be read"),
        (("take", ".."), "can't be read"),
        (("reply", "zzzzz"), "no case 'zzzzz' in the log"),
        (("reply", "../../etc"), "no case"),
        (("page", "--client", "harbor", "--case", "zzzzz", "-o", "x.html"), "no case 'zzzzz' in the log"),
        (("page", "--client", "", "-o", "x.html"), "expected an alias"),
        (("page", "--client", "x" * 99, "-o", "x.html"), "expected an alias"),
        (("phone", "--client", "harbor"), "terminal"),
    ],
)
def test_what_is_wrong_is_one_line(run: Run, words: tuple[str, ...], said: str) -> None:
    """Exit status 2, one line on standard error, nothing on standard output."""
    done = run(*words)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_a_page_that_cannot_be_written(run: Run) -> None:
    """A folder that is not there is a failure of the work, told in one line."""
    done = run("page", "--client", "harbor", "-o", "no/such/folder/page.html")
    assert done.returncode == 1
    assert len(done.stderr.splitlines()) == 1


def test_a_call_is_logged_under_its_client(env: dict[str, str], run: Run, tmp_path: Path) -> None:
    """On a terminal the caller's words come first; leaving early logs what was told, and a page goes on with it."""
    pexpect = pytest.importorskip("pexpect")
    words = ["-m", "diagnose", "client", "phone", "--client", "harbor", "--plain"]
    child = pexpect.spawn(sys.executable, words, env=env, cwd=str(tmp_path), encoding="utf-8", timeout=WAIT)
    replies = {
        "all are well": "2",
        "Say what is wrong": "ears came out like thumbs",
        "Which of these": "1",
        "What else is wrong": "q",
    }
    for _ in range(20):
        if child.expect([r"then Enter.*: $", r"Type it.*: $", pexpect.EOF]) == 2:
            break
        asked = child.before
        child.sendline(next((said for words, said in replies.items() if words in asked), ""))
    assert "harbor, case " in child.before
    waits = json.loads(run("list", "--json").stdout)["cases"]
    assert [(one["client"], one["rounds"]) for one in waits] == [("harbor", 1)]
    page = run("page", "--client", "harbor", "--case", waits[0]["id"], "-o", "-")
    assert page.returncode == 0
