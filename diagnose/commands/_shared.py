"""What several commands share: their common options, and the way from a case file to what is shown of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from diagnose.assessment.consultation import Consultation, ModelCache
    from diagnose.casebook import Case
    from diagnose.knowledge import Knowledge
    from diagnose.report.text.shown import Shown

#: how the usage of a group shows its commands where none needs to be named: what click itself says of that has changed
MAYBE_COMMAND = "[COMMAND] [ARGS]..."
#: a case: a file, a short id of the log, or - for standard input; a shell completes files
CASE = click.Path(allow_dash=True)
F = TypeVar("F", bound=Callable[..., Any])


def knowledge_option(function: F) -> F:
    """Add `--knowledge DIR`."""
    return click.option(
        "--knowledge", "knowledge_dir", metavar="DIR", help="Read this knowledge folder instead of the built-in one."
    )(function)


def complete_id(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[str]:
    """Return the ids of the knowledge that begin with *incomplete*, for a shell."""
    from diagnose.knowledge import load_knowledge

    known = load_knowledge(context.params.get("knowledge_dir"))
    kinds = (known.symptoms, known.causes, known.checks, known.facts, known.remedies)
    return sorted({name for kind in kinds for name in kind if name.startswith(incomplete)})


def complete_symptom(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[str]:
    """Return the ids of faults that begin with *incomplete*, for a shell."""
    from diagnose.knowledge import load_knowledge

    known = load_knowledge(context.params.get("knowledge_dir")).symptoms
    return sorted(name for name in known if name.startswith(incomplete))


def json_option(function: F) -> F:
    """Add `--json`."""
    return click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output.")(function)


def log_options(function: F) -> F:
    """Add `--log WHERE` and `--book`: which log's lessons are laid over the book, or none."""
    where = click.option(
        "--log",
        "where",
        metavar="WHERE",
        help="The log to learn from and to look ids up in: a file, or postgresql://...",
    )
    book = click.option("--book", is_flag=True, help="Go by the book, without what the log has taught.")
    return where(book(function))


def consult(path: str, knowledge_dir: str | None, where: str | None = None, book: bool = False) -> Consultation:
    """Return a case ready for thought: of a file, of standard input (`-`), or of the log by its short id.

    What the log at *where* has taught is laid over the book unless *book*. Raises InputError where the case can't be
    used.
    """
    from diagnose.assessment.consultation import Consultation
    from diagnose.knowledge import load_knowledge

    knowledge = load_knowledge(knowledge_dir)
    return Consultation(models_of(knowledge, where, book), case_of(path, knowledge, where))


def models_of(knowledge: Knowledge, where: str | None = None, book: bool = False) -> ModelCache:
    """Return the models to think with: the book, with what the log has taught laid over it unless *book*."""
    from diagnose.logbook.learned import models_for
    from diagnose.logbook.places import where_of

    return models_for(knowledge, where_of(where), book)


def case_of(path: str, knowledge: Knowledge, where: str | None = None) -> Case:
    """Return the case of a file, of standard input for `-`, or of the log for a short id."""
    from diagnose.logbook import resolve_case

    if path != "-":
        return resolve_case(path, where, knowledge)
    import sys

    from diagnose.casebook import case_from_bytes

    return case_from_bytes(sys.stdin.buffer.read(), "standard input", knowledge)


def show(consultation: Consultation, full: bool = False) -> Shown:
    """Assess the case once and return it ready for a renderer."""
    from diagnose.assessment.assess import assess
    from diagnose.report.text.shown import Shown

    return Shown.of(assess(consultation, full), consultation.case, consultation.knowledge)


def emit(data: dict[str, Any], indent: bool = True) -> None:
    """Print one JSON object."""
    from diagnose.report.json import to_json

    click.echo(to_json(data, indent))
