"""`diagnose log page`: Monday's page, on the terminal, as JSON or as one HTML page with pictures."""

from __future__ import annotations

from pathlib import Path

import click

from diagnose.commands.log_shared import knowledge_of, knowledge_option, log_option, opened
from diagnose.errors import InputError


@click.command("page")
@click.option("--from", "first", metavar="DATE", help="From this day on, as 2026-03-02.")
@click.option("--to", "last", metavar="DATE", help="Up to this day.")
@click.option(
    "--html", "html", metavar="FILE", type=click.Path(dir_okay=False), help="Write it as one page that prints."
)
@log_option
@knowledge_option
def page_command(
    first: str | None, last: str | None, html: str | None, where: str | None, as_json: bool, knowledge_dir: str | None
) -> None:
    """Monday's page: what went wrong, what it cost, whether it is getting better, and what goes with what."""
    from diagnose.logbook.counts import Span
    from diagnose.logbook.entry import day_of
    from diagnose.logbook.page import page_of

    span = Span(day_of(first or "", "--from"), day_of(last or "", "--to"))
    if span.first and span.last and span.first > span.last:
        raise InputError(f"--from {span.first} is after --to {span.last}")
    with opened(where) as store:
        page = page_of(store, span).to_plain()
    if html is not None:
        from diagnose.report.log_page import write_log_page

        write_log_page(page, knowledge_of(knowledge_dir), Path(html))
        click.echo(f"written: {html}", err=True)
    if as_json:
        from diagnose.report.json import to_json

        click.echo(to_json(page))
    elif html is None:
        from diagnose.report.text.log_page import page_lines

        for line in page_lines(page, knowledge_of(knowledge_dir)):
            click.echo(line)
