"""`diagnose handbook -o DIR`: the knowledge as a book of static pages."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from pathlib import Path

import click

from diagnose.commands._shared import knowledge_option
from diagnose.commands._versions import versions


@click.command("handbook")
@click.option(
    "--output", "-o", "output", required=True, metavar="DIR", help="A new or empty folder, or an older handbook."
)
@knowledge_option
def handbook(output: str, knowledge_dir: str | None) -> None:
    """Write what the tool knows as a book: pages that work from a folder without network, and print.

    Open index.html of the folder in any browser: a fault-finder with a search that hears callers' words, and a page for
    each fault, cause, check, question, remedy and sum.

    Example: diagnose handbook -o handbook
    """
    from diagnose.knowledge import load_knowledge
    from diagnose.report.handbook import book_of, write_book

    book = book_of(load_knowledge(knowledge_dir), versions(knowledge_dir), _drawings())
    write_book(Path(output), book)
    click.echo(f"written: {Path(output) / 'index.html'} ({len(book)} files)", err=True)


def _drawings() -> Mapping[str, str]:
    """The line drawings of the client's page as SVG by symptom or check; none where that room isn't there."""
    try:
        room = import_module("diagnose.remote.drawings")
    except ModuleNotFoundError:
        return {}
    return {name: drawing.svg() for name, drawing in room.DRAWINGS.items()}
