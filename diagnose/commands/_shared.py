"""What several commands share: their common options, and the way from a case file to what is shown of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from diagnose.assessment.consultation import Consultation
    from diagnose.report.text.shown import Shown

F = TypeVar("F", bound=Callable[..., Any])


def knowledge_option(function: F) -> F:
    """Add `--knowledge DIR`."""
    return click.option(
        "--knowledge", "knowledge_dir", metavar="DIR", help="Read this knowledge folder instead of the built-in one."
    )(function)


def json_option(function: F) -> F:
    """Add `--json`."""
    return click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output.")(function)


def consult(path: str, knowledge_dir: str | None) -> Consultation:
    """Return the case of a file (`-`: standard input), ready for thought. Raises InputError where it can't be used."""
    from diagnose.assessment.consultation import Consultation, ModelCache
    from diagnose.knowledge import load_knowledge

    knowledge = load_knowledge(knowledge_dir)
    return Consultation(ModelCache(knowledge), case_of(path, knowledge))


def case_of(path: str, knowledge: Any) -> Any:
    """Return the case of a file, or of standard input for `-`."""
    from diagnose.casebook import read_case

    if path != "-":
        return read_case(path, knowledge)
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
