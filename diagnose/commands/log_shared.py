"""What the commands of the log share: where the log is, how it is opened, what `--json` prints."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

import click

from diagnose.errors import one_line

if TYPE_CHECKING:
    from collections.abc import Iterator

    from diagnose.knowledge import Knowledge
    from diagnose.logbook.book import Listed
    from diagnose.logbook.store import Store

VERSION = 1

Command = TypeVar("Command", bound=Callable[..., Any])


def log_option(command: Command) -> Command:
    """Add `--log` and `--json`, which mean the same in every command of the log."""
    where = click.option(
        "--log",
        "where",
        metavar="WHERE",
        help="The log: a file, or postgresql://... (else DIAGNOSE_LOG, else the user's own).",
    )
    as_json = click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output.")
    return where(as_json(command))


knowledge_option = click.option(
    "--knowledge", "knowledge_dir", metavar="DIR", help="Read this knowledge folder instead of the built-in one."
)


def put(data: dict[str, Any]) -> None:
    """Print *data* with its version as JSON."""
    from diagnose.report.json import to_json

    click.echo(to_json({"version": VERSION, **data}))


@contextmanager
def opened(where: str | None, write: bool = False) -> Iterator[Store]:
    """The log at *where* (the group's `--log` where the command has none), closed again afterward."""
    from diagnose.logbook.places import where_of
    from diagnose.logbook.store import open_log

    context = click.get_current_context(silent=True)
    above = context.find_root().meta.get("diagnose.log") if context is not None else None
    store = open_log(where_of(where or above), write)
    try:
        yield store
    finally:
        store.close()


def knowledge_of(given: str | None) -> Knowledge:
    """Return the knowledge."""
    from diagnose.knowledge import load_knowledge

    return load_knowledge(given)


def show_list(title: str, cases: list[Listed]) -> None:
    """Print *cases* a line each under *title*."""
    click.echo(f"\n{title}:" if title else "", nl=bool(title))
    for case in cases:
        name = case.title or case.part or "(no title)"
        rest = ", ".join(filter(None, (case.mold, case.client, case.first and f"first: {case.first}")))
        click.echo(
            one_line(
                f"  {case.id}  {case.date or '----------'}  {case.state:<6}  {name}" + (f"  ({rest})" if rest else "")
            )
        )
