"""`diagnose client`: the desk for shops elsewhere: a page to send, what comes back, the reply, who waits, and the
phone.
"""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from diagnose.commands._shared import F, emit, json_option, knowledge_option
from diagnose.errors import DiagnoseError, InputError, shown
from diagnose.files import write_atomic

if TYPE_CHECKING:
    from diagnose.assessment.consultation import ModelCache
    from diagnose.commands._desk_log import DeskLog
    from diagnose.remote.desk import Logged, Taken
    from diagnose.remote.page import Errand

MOST_INPUT = 32 << 20
#: longest alias of a client
MOST_ALIAS = 60


def log_option(function: F) -> F:
    """Add `--log WHERE`."""
    return click.option(
        "--log",
        "where",
        metavar="WHERE",
        help="The house log: a file, or a database URL. Else DIAGNOSE_LOG, else the usual place.",
    )(function)


@click.group("client")
def client_group() -> None:
    """Help shops elsewhere: send a page, take what comes back, reply.

    Example: diagnose client page --client harbor -o page.html
    """


def _models(knowledge_dir: str | None) -> ModelCache:
    from diagnose.assessment.consultation import ModelCache
    from diagnose.knowledge import load_knowledge

    return ModelCache(load_knowledge(knowledge_dir))


def _log(where: str | None, models: ModelCache, write: bool = False) -> DeskLog:
    from diagnose.commands._desk_log import DeskLog

    return DeskLog(where, models.knowledge, write)


def _alias(text: str) -> str:
    from diagnose.prose.text import clean

    alias = clean(text)
    if not alias or len(alias) > MOST_ALIAS:
        raise InputError(f"--client: expected an alias of 1 to {MOST_ALIAS} characters")
    return alias


def _write(path: str, text: str) -> None:
    """Write *text* to a file, or to standard output for `-`."""
    if path == "-":
        click.echo(text, nl=False)
        return
    if not Path(path).parent.is_dir():  # a folder that isn't there is a slip of the pen, not one to be made
        raise DiagnoseError(f"{shown(path)}: can't be written: No such file or directory")
    write_atomic(Path(path), text)
    click.echo(f"written: {path}", err=True)


@client_group.command("page")
@click.option("--client", "client", required=True, metavar="ALIAS", help="Whose page it is.")
@click.option(
    "-o", "--output", "output", required=True, metavar="FILE.html", help="Where to write it; - is standard output."
)
@click.option("--case", "case", metavar="CASE", help="Go on with this case: the id of a logged one, or a case file.")
@log_option
@knowledge_option
def page(client: str, output: str, case: str | None, where: str | None, knowledge_dir: str | None) -> None:
    """Write the page for a client: one file to send, that works off line. With --case, what is left to find out.

    Example: diagnose client page --client harbor -o page.html
    """
    from diagnose.remote.order import kept_order
    from diagnose.remote.page import Errand, page_text

    alias, models = _alias(client), _models(knowledge_dir)
    if case is None:
        text = page_text(models.knowledge, Errand(alias), kept_order(models, _working))
    else:
        errand = _next(case, alias, where, models)
        text = page_text(models.knowledge, errand, {} if errand.ask else kept_order(models, _working))
    _write(output, text)


def _working(done: int, whole: int) -> None:
    """Say what takes so long, and on a terminal how far it is."""
    if done == 0:
        said = "working out which questions tell most for each fault: once for this knowledge, a minute or two"
        click.echo(said, err=True)
    if sys.stderr.isatty():
        click.echo(f"\r{done + 1} of {whole}" + ("\n" if done + 1 == whole else ""), err=True, nl=False)


def _next(case: str, client: str, where: str | None, models: ModelCache) -> Errand:
    from diagnose.assessment.consultation import Consultation
    from diagnose.casebook import read_case
    from diagnose.remote.desk import errand_of, rounds_of

    if Path(case).is_file():
        told = read_case(case, models.knowledge)
        return errand_of(Consultation(models, told), client, "", len(rounds_of(told)) + 2)
    found = _case_of(_log(where, models), case, client)
    return errand_of(Consultation(models, found.case), client, found.id, len(rounds_of(found.case)) + 1)


def _case_of(log: DeskLog, name: str, client: str = "") -> Logged:
    """Return the case *name* (of *client*). Raises InputError where there is none."""
    found = log.find(name)
    if found is None:
        raise InputError(f"no case '{shown(name)}' in the log; diagnose client list shows those that are open")
    if client and found.client != client:
        raise InputError(f"{found.id}: is not a case of {client}")
    return found


@client_group.command("take")
@click.argument("file", metavar="FILE|-")
@click.option("--client", "client", default="", metavar="ALIAS", help="Whose it is, where the file doesn't say.")
@json_option
@log_option
@knowledge_option
def take(file: str, client: str, as_json: bool, where: str | None, knowledge_dir: str | None) -> None:
    """Take in what a client sent back: the saved file, or a mail with the copied text (- reads standard input).

    Example: diagnose client take part-harbor-1.json
    """
    from diagnose.remote.desk import take as take_in
    from diagnose.remote.returned import read_returned

    models = _models(knowledge_dir)
    name = "standard input" if file == "-" else file
    returned = read_returned(_bytes(file), name, models.knowledge, _alias(client) if client else "")
    taken = take_in(returned, _log(where, models, write=True), models, date.today().isoformat())
    _tell(taken, models, returned.client, as_json, returned.warned)


def _bytes(file: str) -> bytes:
    if file == "-":
        return sys.stdin.buffer.read(MOST_INPUT)
    try:
        with open(file, "rb") as handle:
            return handle.read(MOST_INPUT)
    except OSError as error:
        raise InputError(f"{file}: can't be read: {error.strerror or error}") from None


def _tell(taken: Taken, models: ModelCache, client: str, as_json: bool, warned: tuple[str, ...] = ()) -> None:
    if as_json:
        emit(_taken_json(taken))
        return
    from diagnose.remote.words import taken_lines

    for line in taken_lines(taken, models.knowledge, client, warned):
        click.echo(line)


def _taken_json(taken: Taken) -> dict[str, Any]:
    from diagnose.report.json import result, ten

    moves = [{"id": m.cause, "before": ten(m.before), "now": ten(m.now)} for m in taken.moves]
    second = {"pays": bool(taken.ask), "questions": list(taken.ask)}
    mine = {"id": taken.id, "round": taken.round, "faults": list(taken.faults), "photos": taken.photos}
    return {"version": 1, **mine, "moves": moves, "second_round": second, **result(taken.assessment)}


@client_group.command("reply")
@click.argument("name", metavar="ID")
@click.option("-o", "--output", "output", metavar="FILE.html", help="Write the reply as a page that prints.")
@click.option("--text", "as_text", is_flag=True, help="Print it as plain text for a mail (also without -o).")
@log_option
@knowledge_option
def reply(name: str, output: str | None, as_text: bool, where: str | None, knowledge_dir: str | None) -> None:
    """Write the answer for the client: what we think, what would prove us wrong, what to do, their numbers, cautions.

    Example: diagnose client reply 4kq7 -o reply.html
    """
    from diagnose.assessment.assess import assess
    from diagnose.assessment.consultation import Consultation
    from diagnose.remote.reply import reply_of, reply_page, reply_text

    models = _models(knowledge_dir)
    found = _case_of(_log(where, models), name)
    made = reply_of(assess(Consultation(models, found.case), full=True), found.case, models.knowledge, found.id)
    if output is not None:
        _write(output, reply_page(made))
    if as_text or output is None:
        click.echo(reply_text(made), nl=False)


@client_group.command("list")
@json_option
@log_option
@knowledge_option
def list_(as_json: bool, where: str | None, knowledge_dir: str | None) -> None:
    """Open cases by client, the longest waiting first."""
    from diagnose.remote.desk import waiting
    from diagnose.remote.words import waiting_lines

    models = _models(knowledge_dir)
    found = waiting(_log(where, models), date.today().isoformat())
    if as_json:
        emit({"version": 1, "cases": [{name: getattr(one, name) for name in one.__struct_fields__} for one in found]})
        return
    for line in waiting_lines(found, models.knowledge):
        click.echo(line)


@client_group.command("phone")
@click.option("--client", "client", required=True, metavar="ALIAS", help="Who is calling.")
@click.option("--case", "name", default="", metavar="ID", help="Go on with this case of the log.")
@click.option("--plain", is_flag=True, help="Ask in plain numbered lines.")
@json_option
@log_option
@knowledge_option
def phone(client: str, name: str, plain: bool, as_json: bool, where: str | None, knowledge_dir: str | None) -> None:
    """Somebody is on the phone: type what they say, tick what it means, go through the questions; logged under one id.

    Example: diagnose client phone --client harbor
    """
    from diagnose.casebook import Case, case_text, read_case
    from diagnose.interview.autosave import new_path, replace_file
    from diagnose.interview.run import run_interview
    from diagnose.interview.terminal import need_terminal
    from diagnose.remote.desk import take_call

    need_terminal()
    alias, models = _alias(client), _models(knowledge_dir)
    log, path = _log(where, models, write=True), new_path(None)
    if name:
        replace_file(path, case_text(_case_of(log, name, alias).case, models.knowledge).encode())
    run_interview(knowledge_dir, path if name else None, plain, None if name else path, phone=True)
    told = read_case(path, models.knowledge) if path.exists() else Case()
    if not any(answer.known for answer in told.values.values()):
        click.echo("nothing was told, nothing is logged", err=True)
        return
    taken = take_call(told, alias, log, models, date.today().isoformat(), name)
    _tell(taken, models, alias, as_json)
