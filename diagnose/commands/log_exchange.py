"""`diagnose log import`, `export`, `backup`, `restore`, `merge`: the log in and out."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

import click

from diagnose.commands.log_shared import knowledge_of, knowledge_option, log_option, opened, put
from diagnose.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from diagnose.logbook.exchange import Taken

_FILE = click.Path(dir_okay=False)


@click.command("import")
@click.argument("file", metavar="FILE", type=_FILE)
@click.option("--partial", is_flag=True, help="Put in the lines that can be used, where others can't.")
@log_option
@knowledge_option
def import_command(file: str, partial: bool, where: str | None, as_json: bool, knowledge_dir: str | None) -> None:
    """Put the cases of an export in (JSON Lines, one case a line). What is there already isn't put in twice."""
    from diagnose.assessment.consultation import ModelCache
    from diagnose.logbook.exchange import LinesRefused, import_file

    models = ModelCache(knowledge_of(knowledge_dir))
    if not Path(file).is_file():
        raise InputError(f"{file}: no such file, expected an export of a log")
    with opened(where, write=True) as store:
        try:
            taken = import_file(store, Path(file), models, partial)
        except LinesRefused as faults:
            _refused(faults.faults, faults.refused)
            click.echo("nothing was put in; --partial puts in the other lines", err=True)
            raise click.exceptions.Exit(2) from None
    _refused(taken.refused, taken.refused_count)
    _told(taken, as_json)
    if taken.refused:
        raise click.exceptions.Exit(2)


def _refused(faults: Any, count: int) -> None:
    for fault in faults:
        click.echo(str(fault), err=True)
    if count > len(faults):
        click.echo(f"(and {count - len(faults)} more)", err=True)


def _told(taken: Taken, as_json: bool) -> None:
    if as_json:
        put(
            {
                "added": taken.added,
                "already": taken.already,
                "closed": taken.closed,
                "renamed": taken.renamed,
                "refused": taken.refused_count,
            }
        )
        return
    click.echo(
        f"{taken.added} added, {taken.already} there already"
        + (f", {taken.closed} of them closed now" if taken.closed else "")
    )
    for old, new in taken.renamed.items():
        click.echo(f"  {old} is another case here; the new one is {new}")


@click.command("export")
@click.option(
    "--output", "-o", "output", metavar="FILE", default="-", type=_FILE, help="Where to; - for standard output."
)
@click.option("--csv", "table", is_flag=True, help="A table: a row for each case, a column for each question.")
@click.option(
    "--anonymous",
    is_flag=True,
    help="Leave out persons, clients, titles, photos and free text; number parts, molds and lots.",
)
@click.option("--client", metavar="ALIAS", help="Only the cases of one client.")
@log_option
@knowledge_option
def export_command(
    output: str,
    table: bool,
    anonymous: bool,
    client: str | None,
    where: str | None,
    as_json: bool,
    knowledge_dir: str | None,
) -> None:
    """Write every case as JSON Lines, one a line, or as CSV."""
    from diagnose.logbook.exchange import export_lines, export_table

    if as_json and output == "-":
        raise click.UsageError("--json goes with -o FILE; the export itself is JSON Lines")
    with opened(where) as store, _out(output) as out:
        count = (
            export_table(store, out, knowledge_of(knowledge_dir), anonymous, client)
            if table
            else export_lines(store, out, anonymous, client)
        )
    if as_json:
        put({"cases": count, "file": output})
    elif output != "-":
        click.echo(f"written: {output}, {count} cases", err=True)


@contextmanager
def _out(output: str) -> Iterator[TextIO]:
    if output == "-":
        yield sys.stdout
        return
    from diagnose.logbook.files import written_whole

    with written_whole(Path(output)) as file:
        yield file


@click.command("backup")
@click.argument("file", metavar="FILE", type=_FILE)
@log_option
def backup_command(file: str, where: str | None, as_json: bool) -> None:
    """Write the whole log, photos and all, to a file that opens as a log itself. Others may go on working meanwhile."""
    from diagnose.logbook.movers import back_up

    with opened(where) as store:
        back_up(store, Path(file))
    _done({"file": file}, f"written: {file}", as_json)


@click.command("restore")
@click.argument("file", metavar="FILE", type=_FILE)
@click.option("--yes", is_flag=True, help="Don't ask.")
@log_option
def restore_command(file: str, yes: bool, where: str | None, as_json: bool) -> None:
    """Put a backup in the place of the log; what was there is kept in a file beside it."""
    from diagnose.logbook.movers import restore
    from diagnose.logbook.places import where_of

    target = where_of(where or click.get_current_context().find_root().meta.get("diagnose.log"))
    if not yes:
        if not sys.stdin.isatty():
            raise click.UsageError("restore takes the place of the log; say --yes where no terminal is there to ask")
        click.confirm(f"Put {file} in the place of {target.label}?", abort=True, err=True)
    kept = restore(Path(file), target)
    _done(
        {"file": file, "kept": str(kept) if kept else None},
        f"restored from {file}" + (f"; what was there is in {kept}" if kept else ""),
        as_json,
    )


@click.command("merge")
@click.argument("other", metavar="OTHER")
@log_option
def merge_command(other: str, where: str | None, as_json: bool) -> None:
    """Put the cases of another log (a file or postgresql://...) in, without doubling any."""
    from diagnose.logbook.movers import merge
    from diagnose.logbook.places import where_of
    from diagnose.logbook.store import open_log

    there = where_of(other)
    if there.file is not None and not there.file.is_file():
        raise InputError(f"{other}: no such file, expected a log")
    second = open_log(there)
    try:
        with opened(where, write=True) as store:
            if store.where == there:
                raise InputError(f"{other}: is the log itself, expected another")
            taken = merge(store, second)
    finally:
        second.close()
    _told(taken, as_json)


def _done(data: dict[str, Any], words: str, as_json: bool) -> None:
    if as_json:
        put(data)
    else:
        click.echo(words, err=True)
