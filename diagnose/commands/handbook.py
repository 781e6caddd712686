"""`diagnose handbook -o DIR`: the knowledge as a book of static pages, and which program and knowledge are in use."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from pathlib import Path

import click

import diagnose
from diagnose.commands._shared import knowledge_option


@click.command("handbook")
@click.option(
    "--output", "-o", "output", required=True, metavar="DIR", help="A new or empty folder, or an older handbook."
)
@knowledge_option
def handbook(output: str, knowledge_dir: str | None) -> None:
    """Write what the tool knows as a book: pages that work from a folder without network, and print.

    Open index.html of the folder in any browser: a fault-finder with a search that hears callers' words, and a page for each fault,
    cause, check, question, remedy and sum.

    Example: diagnose handbook -o handbook
    """
    from diagnose.knowledge import load_knowledge
    from diagnose.report.handbook import book_of, write_book

    book = book_of(load_knowledge(knowledge_dir), versions(knowledge_dir), _drawings())
    write_book(Path(output), book)
    click.echo(f"written: {Path(output) / 'index.html'} ({len(book)} files)", err=True)


def versions(knowledge_dir: str | None = None) -> str:
    """Return program and knowledge in a line: `diagnose 0.2.0, knowledge 1f0c2a9b7d3e`.

    The knowledge is named by the first 12 digits of the SHA-256 of its files, the shop's own among them, so two that print the same say
    the same. Raises InputError where there is no knowledge folder.
    """
    from diagnose.knowledge import load_knowledge

    return f"diagnose {diagnose.__version__}, knowledge {load_knowledge(knowledge_dir).content_key[:12]}"


def _drawings() -> Mapping[str, str]:
    """The line drawings of the client's page as SVG by symptom or check; none where that room isn't there."""
    try:
        room = import_module("diagnose.remote.drawings")
    except ModuleNotFoundError:
        return {}
    return {name: drawing.svg() for name, drawing in room.DRAWINGS.items()}
