"""The docs hold: what they say to type works and prints what they say, commands and options exist, links lead somewhere."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest

from diagnose.commands import manual
from diagnose.commands.main import cli
from tests.proof.documents import ROOT, pages, pages_that_run, pictures_of, run_page

_NAMES = [page.relative_to(ROOT).as_posix() for page in pages()]
_RUN = [page.relative_to(ROOT).as_posix() for page in pages_that_run()]


@pytest.mark.timeout(300)
@pytest.mark.parametrize("name", _RUN)
def test_what_a_page_says_to_type_prints_what_it_says(name: str, tmp_path: Path) -> None:
    """Each block marked `sh run` exits 0 and prints the block behind it, byte for byte; pictures beside the page are those written.
    After a change: `python -m tests.proof.documents`."""
    page = ROOT / name
    count = 0
    for ran in run_page(page, tmp_path):
        assert ran.status == 0, f"{ran.script}\n{ran.printed}"
        if ran.said is not None:
            assert ran.printed == ran.said, ran.script
        count += 1
    assert count > 0
    for path, written in pictures_of(page, tmp_path):
        assert path.read_bytes() == written.read_bytes(), path.name


def test_the_walk_through_is_run() -> None:
    """The marked blocks are found: the walk-through has at least eight, with what they print."""
    assert "docs/walkthrough.md" in _RUN
    text = (ROOT / "docs" / "walkthrough.md").read_text(encoding="utf-8")
    assert text.count("```sh run\n") >= 8
    assert text.count("```text\n") >= 8


def _typed(text: str) -> list[list[str]]:
    """Every command of the program that stands in a code span or a block of *text*, as words."""
    spans = re.findall(r"(?<!`)`(diagnose(?: [^`\n]+)?)`(?!`)", text)
    lines = [
        line.strip().removeprefix("$ ")
        for block in re.findall(r"^```sh[^\n]*\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
        for line in block.replace("\\\n", " ").splitlines()
        if line.strip().removeprefix("$ ").startswith("diagnose ")
    ]
    found = []
    for line in [*spans, *lines]:
        try:
            found.append(shlex.split(line, comments=True))
        except ValueError:
            found.append(line.split())
    return found


def _wrong(words: list[str]) -> str:
    """What is wrong with a command line of the docs: a command or an option that there is not; an empty string where nothing is."""
    command: click.Command = cli
    context = click.Context(cli, info_name="diagnose", **cli.context_settings)
    rest = words[1:]
    while isinstance(command, click.Group) and rest and re.fullmatch(r"[a-z][a-z-]*", rest[0]):
        below = command.get_command(context, rest[0])
        if below is None:
            return f"no command '{rest[0]}'"
        context = click.Context(below, info_name=rest[0], parent=context)
        command, rest = below, rest[1:]
    known = {option for parameter in command.get_params(context) for option in parameter.opts}
    for word in rest:
        if word in ("|", ">", "<", ";", "&&"):
            break
        name = word.split("=")[0]
        if re.fullmatch(r"--?[a-z][a-z-]*", name) and name not in known:
            return f"no option '{name}'"
    return ""


@pytest.mark.parametrize("name", _NAMES)
def test_every_command_of_a_page_exists(name: str) -> None:
    """Commands and options that a page names are those of the program."""
    text = (ROOT / name).read_text(encoding="utf-8")
    wrong = [f"{' '.join(words)}: {fault}" for words in _typed(text) if (fault := _wrong(words))]
    assert wrong == []


def test_a_command_that_is_not_there_would_be_seen() -> None:
    """The reader of commands finds spans and blocks, and tells what is wrong."""
    text = "Type `diagnose raed x.yaml`.\n```sh\ndiagnose read x.yaml --jsno\ndiagnose sum split 500 1:2\n```\n"
    assert [_wrong(words) for words in _typed(text)] == ["no command 'raed'", "no option '--jsno'", ""]


def _anchors(page: Path) -> set[str]:
    """Anchors of a page's headings, as code forges make them."""
    heads = re.findall(r"^#+ (.*)$", page.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("name", _NAMES)
def test_links_between_docs_resolve(name: str) -> None:
    """A link leads to a file of the checkout, and to a heading that is there; a page that is named in a code span is there too."""
    page = ROOT / name
    text = re.sub(r"^```.*?^```", "", page.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL)
    for link in re.findall(r"\]\(([^)\s]+)\)", text):
        if re.match(r"[a-z]+:", link):
            continue
        target, _, anchor = link.partition("#")
        place = (page.parent / target).resolve() if target else page
        assert place.exists(), link
        assert ROOT in place.parents or place == ROOT, link
        assert not anchor or anchor in _anchors(place), link
    for named in re.findall(r"`(docs/[\w./-]+)`", text):
        assert (ROOT / named).exists(), named


def test_every_page_is_linked_from_the_readme_or_a_page_it_links() -> None:
    """No page of docs is an orphan."""
    reached, todo = set(), [ROOT / "README.md"]
    while todo:
        page = todo.pop()
        if page in reached or page.suffix != ".md" or not page.exists():
            continue
        reached.add(page)
        text = page.read_text(encoding="utf-8")
        todo += [(page.parent / link.partition("#")[0]).resolve() for link in re.findall(r"\]\(([^):\s]+)\)", text)]
        todo += [ROOT / named for named in re.findall(r"`(docs/[\w./-]+\.md)`", text)]
        todo += [
            each for folder in re.findall(r"`(docs/[\w-]+/)`", text) for each in sorted((ROOT / folder).glob("*.md"))
        ]
    left = {page.relative_to(ROOT).as_posix() for page in pages() if page not in reached}
    assert left <= {"DEVELOPERS.md"}


def test_the_manual_page_is_current() -> None:
    """`docs/diagnose.1` is what the commands say today. After a change: `python -m diagnose.commands.manual > docs/diagnose.1`."""
    assert (ROOT / "docs" / "diagnose.1").read_text(encoding="utf-8") == manual.page()


def test_the_manual_page_names_every_command_and_option() -> None:
    """Each command stands in the page, every option of those that are told in full too, and no line is a control line by accident."""
    text = manual.page()
    plain = text.replace("\\-", "-")
    context = click.Context(cli, info_name="diagnose", **cli.context_settings)
    for name in cli.list_commands(context):
        assert f".SS diagnose {name}" in plain
        command = cli.get_command(context, name)
        assert command is not None
        for parameter in command.params:
            if isinstance(parameter, click.Option) and not isinstance(command, click.Group) and not parameter.hidden:
                assert parameter.opts[0] in plain
    controls = {line.split()[0] for line in text.splitlines() if line.startswith((".", "'"))}
    assert controls <= {".TH", ".SH", ".SS", ".PP", ".TP", ".br"}
    assert text.isascii()


def test_version_tells_program_and_knowledge(tmp_path: Path) -> None:
    """`--version` names both in one line; a knowledge file changed by a letter is another knowledge, the same files elsewhere are the same."""
    import shutil

    from click.testing import CliRunner

    import diagnose

    def told(*words: str) -> str:
        done = CliRunner().invoke(cli, [*words, "--version"])
        assert done.exit_code == 0, done.output
        return done.output

    line = told()
    assert re.fullmatch(rf"diagnose, version {re.escape(diagnose.__version__)}, knowledge [0-9a-f]{{12}}\n", line)
    copy = tmp_path / "knowledge"
    shutil.copytree(ROOT / "knowledge", copy)
    assert told("--knowledge", str(copy)) == told("--knowledge", str(ROOT / "knowledge"))
    (copy / "words.yaml").write_text((copy / "words.yaml").read_text(encoding="utf-8") + "\n", encoding="utf-8")
    assert told("--knowledge", str(copy)) != told("--knowledge", str(ROOT / "knowledge"))


def test_the_change_log_has_this_version() -> None:
    """`docs/changes.md` opens with the version of the program, and keeps the one before."""
    import diagnose

    heads = re.findall(r"^## (\S+)", (ROOT / "docs" / "changes.md").read_text(encoding="utf-8"), flags=re.MULTILINE)
    assert heads[0] == diagnose.__version__.removesuffix(".dev0")
    assert "0.1.0" in heads
