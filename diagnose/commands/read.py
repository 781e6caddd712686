"""`diagnose read`: a case file in, the diagnosis out, on the terminal, as a page, or for other programs."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

import click
from msgspec import Struct

from diagnose.commands._shared import (
    CASE,
    case_of,
    consult,
    emit,
    json_option,
    knowledge_option,
    log_options,
    models_of,
    show,
)
from diagnose.errors import InputError


class ReadOptions(Struct, frozen=True):
    """What of a diagnosis is wanted, and where it goes."""

    as_json: bool
    arithmetic: bool
    html: str | None
    short: bool
    full: bool
    why: bool
    sums: bool


@click.command()
@click.argument("cases", type=CASE, nargs=-1, required=True, metavar="CASE...")
@json_option
@click.option("--arithmetic", is_flag=True, help="With --json: add the whole arithmetic behind the answer.")
@click.option("--batch", is_flag=True, help="Read many cases, files or folders, and print one JSON object a line.")
@click.option(
    "--html", metavar="FILE", type=click.Path(allow_dash=True), help="Write the answer as a page that prints."
)
@click.option("--short", is_flag=True, help="The card alone: what it is, what to do, twelve lines for a mail.")
@click.option(
    "--full", is_flag=True, help="All of it: every answer's weight, what could turn it, checks, plan, numbers."
)
@click.option("--why", is_flag=True, help="Add the weight of each answer on the first cause, with its mechanism.")
@click.option("--sheet", "sums", is_flag=True, help="Add the numbers for the next pour, and how each was got.")
@log_options
@knowledge_option
def read(
    cases: tuple[str, ...], batch: bool, knowledge_dir: str | None, where: str | None, book: bool, **flags: Any
) -> None:
    """Read a case and print the diagnosis; CASE is a file, a short id of the log, or - for standard input.

    Example: diagnose read owl.yaml
    """
    options = ReadOptions(**flags)
    if batch:
        if options.html:
            raise click.UsageError("--batch does not go with --html")
        _read_batch(cases, options, knowledge_dir, where, book)
        return
    if len(cases) > 1:
        raise click.UsageError("one case at a time, or --batch for many")
    _read_one(consult(cases[0], knowledge_dir, where, book), options)


def _read_one(consultation: Any, options: ReadOptions) -> None:
    if options.as_json or options.arithmetic:
        emit(_result(consultation, options.arithmetic))
    if options.html:
        _write_page(consultation, options.html)
    if options.as_json or options.arithmetic or options.html:
        return
    from diagnose.report.terminal import print_card, print_report
    from diagnose.report.text.sections import Wanted

    shown = show(consultation, full=options.full or options.why)
    if options.short:
        print_card(shown)
    else:
        print_report(shown, wanted=Wanted(options.full, options.why, options.sums))


def _result(consultation: Any, with_arithmetic: bool) -> dict[str, Any]:
    from diagnose.assessment.assess import assess
    from diagnose.report import json

    found = json.result(assess(consultation))
    network = {"network": json.arithmetic(consultation.situation.network)} if with_arithmetic else {}
    return {**found, **network}


def _write_page(consultation: Any, html: str) -> None:
    from diagnose.report.html import page_of, write_page

    shown = show(consultation, full=True)
    if html == "-":
        sys.stdout.buffer.write(page_of(shown, consultation).encode())
        return
    write_page(shown, consultation, Path(html))
    click.echo(f"written: {html}", err=True)


def _read_batch(
    given: tuple[str, ...], options: ReadOptions, knowledge_dir: str | None, where: str | None, book: bool
) -> None:
    from diagnose.assessment.consultation import Consultation
    from diagnose.knowledge import load_knowledge

    models, refused = models_of(load_knowledge(knowledge_dir), where, book), False
    for path in _case_paths(given):
        try:
            consultation = Consultation(models, case_of(path, models.knowledge, where))
            line = {"case": path, **_result(consultation, options.arithmetic)}
        except InputError as error:
            refused = True
            line = {"case": path, "error": str(error)}
        emit(line, indent=False)
    if refused:
        raise click.exceptions.Exit(2)


def _case_paths(given: tuple[str, ...]) -> list[str]:
    """Files as given; of a folder its own case files, sorted by name."""
    found: list[str] = []
    for path in given:
        if os.path.isdir(path):
            names = sorted(
                name
                for name in os.listdir(path)
                if name.endswith((".yaml", ".yml", ".json")) and os.path.isfile(os.path.join(path, name))
            )
            found.extend(os.path.join(path, name) for name in names)
        else:
            found.append(path)
    return found
