"""`diagnose log`: the house log. Its commands are in `log_cases`, `log_exchange`, `log_page` and `log_learn`.

The database is loaded only within a command, so that no other command waits for it.
"""

from __future__ import annotations

import click

from diagnose.commands._shared import MAYBE_COMMAND
from diagnose.commands.log_cases import add_command, close_command, list_command, show_command
from diagnose.commands.log_exchange import (
    backup_command,
    export_command,
    import_command,
    merge_command,
    restore_command,
)
from diagnose.commands.log_learn import learn_command, used_words
from diagnose.commands.log_page import page_command
from diagnose.commands.log_shared import log_option, opened, put, show_list


@click.group("log", invoke_without_command=True, subcommand_metavar=MAYBE_COMMAND)
@log_option
@click.pass_context
def log_group(context: click.Context, where: str | None, as_json: bool) -> None:
    """The house log: keep each part, close it with what it was, and let next month's diagnosis learn from it.

    Alone, it lists the last cases and those that wait for an outcome.
    """
    context.find_root().meta["diagnose.log"] = where
    if context.invoked_subcommand is not None:
        return
    from diagnose.logbook.book import counted, listed
    from diagnose.logbook.in_use import in_use_or_book

    with opened(where) as store:
        latest, waiting, numbers = listed(store, most=10), listed(store, waiting=True, most=10), counted(store)
        used = in_use_or_book(store.where)
    if as_json:
        lists = {"cases": [c.to_plain() for c in latest], "open": [c.to_plain() for c in waiting], "counts": numbers}
        put({**lists, "in_use": used.to_plain() if used else None})
        return
    if not latest:
        click.echo("the log is empty; keep a part by: diagnose log add CASE", err=True)
        return
    click.echo(
        f"{sum(numbers.values())} parts: {numbers['good']} good, {numbers['closed']} closed, {numbers['open']} "
        f"waiting for an outcome"
    )
    if used is not None:
        click.echo(used_words(used))
    show_list("The last", latest)
    if waiting:
        show_list("Waiting for an outcome (diagnose log close ID)", waiting)


for _command in (
    add_command,
    close_command,
    list_command,
    show_command,
    page_command,
    learn_command,
    import_command,
    export_command,
    backup_command,
    restore_command,
    merge_command,
):
    log_group.add_command(_command)
