"""`diagnose hear`, `ask`, `plan-pour`: a caller's words, questions to send, and a pour that is still to come."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from diagnose.commands._shared import CASE, consult, emit, json_option, knowledge_option
from diagnose.errors import InputError

MAX_TEXT = 16 << 20


@click.command()
@click.argument("text", nargs=-1)
@json_option
@click.option(
    "--batch", metavar="FILE", type=click.Path(dir_okay=False), help="One text a line in, one JSON object a line out."
)
@knowledge_option
def hear(text: tuple[str, ...], as_json: bool, batch: str | None, knowledge_dir: str | None) -> None:
    """Say which symptoms a caller's words may mean, best first; - or no words reads standard input.

    Example: diagnose hear ears came out like thumbs
    """
    from diagnose.hearing.matching import hear as listen
    from diagnose.hearing.matching import index_of
    from diagnose.knowledge import load_knowledge

    if text and batch is not None:
        raise click.UsageError("give a text, or --batch FILE")
    knowledge = load_knowledge(knowledge_dir)
    index = index_of(knowledge)
    if batch is not None:
        for line in _lines(batch):
            emit({"version": 1, "symptoms": listen(index, line)}, indent=False)
        return
    words = " ".join(text)
    if words in ("", "-"):
        stream = sys.stdin
        if stream.isatty():
            raise click.UsageError("give the caller's words, as in: diagnose hear ears came out like thumbs")
        words = stream.read(MAX_TEXT)
    found = listen(index, words)
    if as_json:
        emit({"version": 1, "symptoms": found})
        return
    for name in found:
        click.echo(f"{name}: {knowledge.symptoms[name].title}")
    if not found:
        click.echo("nothing that is known here; say what you see, or where", err=True)


def _lines(path: str) -> list[str]:
    from diagnose.knowledge.yaml_reader import decode

    try:
        data = Path(path).read_bytes()
    except OSError as error:
        raise InputError(f"{path}: can't be read: {error.strerror or error}") from None
    text, fault = decode(data, path, MAX_TEXT)
    if text is None:
        raise InputError(str(fault))
    return text.splitlines()


@click.command("ask")
@click.argument("case", type=CASE, metavar="CASE")
@click.option(
    "--count",
    "-n",
    default=4,
    show_default=True,
    type=click.IntRange(1, 8),
    help="How many questions to send together.",
)
@json_option
@knowledge_option
def ask(case: str, count: int, as_json: bool, knowledge_dir: str | None) -> None:
    """The best few questions as a message to send to somebody who answers once, tomorrow.

    Example: diagnose ask owl.yaml -n 4
    """
    from diagnose.report.json import batch as batch_json
    from diagnose.report.text.message import message_lines

    consultation = consult(case, knowledge_dir)
    found = batch_json(consultation, count)
    if as_json:
        emit(found)
        return
    if not found["questions"]:
        click.echo("no question would tell more: no symptom told, or all is answered", err=True)
        return
    for line in message_lines(consultation, [entry["question"] for entry in found["questions"]]):
        click.echo(line)


@click.command("plan-pour")
@click.argument("case", type=CASE, metavar="CASE")
@json_option
@knowledge_option
def plan_pour(case: str, as_json: bool, knowledge_dir: str | None) -> None:
    """Before the pour: what to change first, in order, and what the plan puts at risk.

    CASE is a case file with the planned facts and no symptoms. Example: diagnose plan-pour monday.yaml
    """
    from diagnose.assessment.assess import computed_of
    from diagnose.assessment.pour_risk import pour_risk
    from diagnose.report.json import pour_risk as risk_json
    from diagnose.report.text.pour_risk import pour_risk_lines

    consultation = consult(case, knowledge_dir)
    if consultation.symptoms_seen:
        raise InputError(
            f"{case}: tells symptoms, expected the facts of a pour that is still to come; use: diagnose read"
        )
    if as_json:
        emit(risk_json(pour_risk(consultation), computed_of(consultation)))
        return
    for line in pour_risk_lines(consultation):
        click.echo(line)
