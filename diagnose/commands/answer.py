"""`diagnose answer`, `new`, `set`.

A case file written without a word of YAML, from `key=value` or from a reply that came back.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click
from msgspec.structs import replace

from diagnose.commands._shared import CASE, knowledge_option
from diagnose.errors import DiagnoseError, InputError

if TYPE_CHECKING:
    from diagnose.interview.autosave import Draft
    from diagnose.interview.progress import Notebook
    from diagnose.knowledge import Knowledge

_MOST = 1 << 20
_SOURCE = click.Choice(["seen", "measured", "told", "remembered"])


@click.command("answer")
@click.argument("case", type=CASE, metavar="CASE")
@click.argument("given", nargs=-1, metavar="[key=value | REPLY]...")
@click.option("--source", type=_SOURCE, help="How it is known, where the answer doesn't say; a reply counts as told.")
@knowledge_option
def answer(case: str, given: tuple[str, ...], source: str | None, knowledge_dir: str | None) -> None:
    """Put answers into a case file, and say what they moved.

    Answers come as key=value, or as the text of `diagnose ask` with its boxes ticked: a file, or standard input for -
    or nothing.

    Example: diagnose answer owl.yaml mold_temperature=52F cup_leftover=good
    """
    pairs = [item for item in given if "=" in item]
    replies = [item for item in given if "=" not in item]
    if not given and sys.stdin.isatty():
        raise click.UsageError("give key=value, a file with the reply, or the reply on standard input")
    _change(Path(case), knowledge_dir, _filled(pairs, replies if given else ["-"], source))


@click.command("set")
@click.argument("case", type=CASE, metavar="CASE")
@click.argument("pairs", nargs=-1, required=True, metavar="key=value...")
@click.option("--source", type=_SOURCE, help="How it is known, where the answer doesn't say.")
@knowledge_option
def set_command(case: str, pairs: tuple[str, ...], source: str | None, knowledge_dir: str | None) -> None:
    """Set answers, the title, or what is about a case; key= takes an answer back.

    Example: diagnose set owl.yaml title="Owl mask" mold=OWL-2 mold_temperature=
    """
    _change(Path(case), knowledge_dir, _filled(pairs, (), source))


@click.command("new")
@click.argument("file", metavar="FILE")
@click.argument("pairs", nargs=-1, metavar="[key=value]...")
@knowledge_option
def new(file: str, pairs: tuple[str, ...], knowledge_dir: str | None) -> None:
    """Begin a case file, with any answers that are known already.

    Example: diagnose new owl.yaml title="Owl mask" build=bare_foam painted=no symptoms=thin_skin,pinholes
    """
    from diagnose.interview.autosave import Draft, new_path
    from diagnose.interview.progress import Notebook
    from diagnose.knowledge import load_knowledge

    knowledge = load_knowledge(knowledge_dir)
    path = new_path(Path(file))
    notebook = _filled(pairs, (), None)(Notebook(knowledge))
    _write(Draft(path, knowledge), notebook, None)


def _filled(
    pairs: tuple[str, ...] | list[str], replies: tuple[str, ...] | list[str], source: str | None
) -> Callable[[Notebook], Notebook]:
    """Return what puts *pairs* and the texts of *replies* into a notebook."""
    from diagnose.interview.reply import with_pairs, with_text

    def fill(notebook: Notebook) -> Notebook:
        notebook = with_pairs(notebook, pairs, source)
        for name in replies:
            file = "standard input" if name == "-" else name
            notebook = with_text(notebook, _text(name), file, source or "told")
        return notebook

    return fill


def _text(name: str) -> str:
    if name == "-":
        data = sys.stdin.buffer.read(_MOST + 1)
    else:
        try:
            with open(name, "rb") as file:
                data = file.read(_MOST + 1)
        except OSError as error:
            raise InputError(
                f"{name}: can't be read: {error.strerror or error}; answers are given as key=value"
            ) from None
    if len(data) > _MOST:
        raise InputError(f"{name}: over 1 MiB, expected a reply to `diagnose ask`")
    return data.decode("utf-8", errors="replace")


def _change(path: Path, knowledge_dir: str | None, fill: Callable[[Notebook], Notebook]) -> None:
    from diagnose.interview.autosave import Draft
    from diagnose.interview.progress import Notebook
    from diagnose.knowledge import load_knowledge

    knowledge = load_knowledge(knowledge_dir)
    draft, case = Draft.of(path, knowledge)
    before = Notebook.from_case(case, knowledge, str(path))
    _write(draft, fill(before), before)


def _write(draft: Draft, notebook: Notebook, before: Notebook | None) -> None:
    """Check the case as a reader would, write it in one step, and tell what it moved.

    Raises InputError; then the file is as it was.
    """
    from diagnose.casebook import case_from_bytes, case_text

    case = notebook.for_file() if notebook.passed_here else replace(notebook.told, warnings=())
    case_from_bytes(case_text(case, draft.knowledge).encode(), str(draft.path), draft.knowledge)
    lines = _moved(draft.knowledge, notebook, before)
    if before is not None and draft.held != case_text(before.case, draft.knowledge).encode() and not before.passed_here:
        kept = draft.keep_copy()
        lines += [f"As it was written by hand, it is kept in {kept}."] if kept is not None else []
    draft.save(case)
    if draft.trouble is not None:
        raise DiagnoseError(draft.trouble)
    for line in lines:
        click.echo(line)
    click.echo(f"Written: {draft.path}", err=True)


def _moved(knowledge: Knowledge, notebook: Notebook, before: Notebook | None) -> list[str]:
    """What is new in a case, in lines: answers, dangers, and where it stands."""
    from diagnose.assessment.consultation import Consultation, ModelCache
    from diagnose.interview.explain import standing
    from diagnose.prose.question import answer_words

    models = ModelCache(knowledge)
    now = Consultation(models, notebook.case)
    was = Consultation(models, before.case) if before is not None else None
    told = before.answers if before is not None else {}
    lines = [
        f"{knowledge.label(name)}: {answer_words(knowledge, name, given, notebook.written(name))}"
        for name, given in notebook.answers.items()
        if told.get(name) != given
    ]
    if before is None or notebook.told.title != before.told.title:
        lines.insert(0, f"title: {notebook.told.title}")
    known = before.told.about.told() if before is not None else {}
    lines += [f"{key}: {value}" for key, value in notebook.told.about.told().items() if known.get(key) != value]
    lines += [f"{knowledge.label(name)}: taken back" for name in told if name not in notebook.answers]
    new_dangers = [name for name in now.dangers if was is None or name not in was.dangers]
    lines += [f"CAUTION: {knowledge.dangers[name].title}. {knowledge.dangers[name].say}" for name in new_dangers]
    if now.symptoms_seen:
        old = was.situation.beliefs if was is not None and was.symptoms_seen else None
        lines.append(standing(knowledge, now.situation.beliefs, old, 10_000))
    return lines
