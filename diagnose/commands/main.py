"""The commands, thin: read the words of the command line, call the room that does the work, map errors to exit status.

0 done, 1 the work failed, 2 the input or the command line is wrong, 130 stopped by Ctrl-C. Heavy packages are imported in the
command that uses them, so that none pays for another.
"""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path
from typing import Any

import click

import diagnose
from diagnose.commands.draw import draw_command
from diagnose.commands.knowledge import knowledge_group
from diagnose.commands.sums import sum_group
from diagnose.errors import DiagnoseError, FileFaults, InputError, one_line

_KNOWLEDGE = click.option(
    "--knowledge", "knowledge_dir", metavar="DIR", help="Read this knowledge folder instead of the built-in one."
)


@click.group(invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(diagnose.__version__, prog_name="diagnose")
@click.option("--resume", "resume", metavar="CASE", type=click.Path(dir_okay=False), help="Go on with this case file.")
@click.option("--save", "save", metavar="FILE", type=click.Path(dir_okay=False), help="Keep the new case in this file.")
@click.option("--plain", is_flag=True, help="Ask in plain numbered lines.")
@_KNOWLEDGE
@click.pass_context
def cli(context: click.Context, knowledge_dir: str | None, resume: str | None, save: str | None, plain: bool) -> None:
    """Find out why a foam casting went wrong, and what to do about it.

    Alone, `diagnose` asks its questions in the terminal. `diagnose read CASE` reads a case file instead.
    """
    if context.invoked_subcommand is not None:
        if knowledge_dir is not None:
            raise click.UsageError(
                f"--knowledge goes behind the command, as in: diagnose {context.invoked_subcommand} --knowledge DIR",
                context,
            )
        return
    from diagnose.interview.run import run_interview

    if resume and save:
        raise click.UsageError("--save does not go with --resume, which writes to the file it goes on with")
    situation = run_interview(knowledge_dir, Path(resume) if resume else None, plain, Path(save) if save else None)
    if situation is not None:
        from diagnose.report.terminal import print_report

        print_report(situation)


@cli.command()
@click.argument("cases", nargs=-1, required=True, metavar="CASE...")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output.")
@click.option("--network", is_flag=True, help="With --json: add the whole arithmetic behind the answer.")
@click.option("--batch", is_flag=True, help="Read many cases, files or folders, and print one JSON object a line.")
@click.option(
    "--html", "html", metavar="FILE", type=click.Path(dir_okay=False), help="Write the answer as one page that prints."
)
@click.option(
    "--pictures", is_flag=True, help="With --html: add the fishbone and the run of beliefs, each on a sheet of its own."
)
@click.option("--why", is_flag=True, help="Add the weight of each answer on the first cause, as bars that add up.")
@click.option("--sheet", "sums", is_flag=True, help="Add to the numbers for the next pour how each was got.")
@_KNOWLEDGE
def read(
    cases: tuple[str, ...],
    as_json: bool,
    network: bool,
    batch: bool,
    html: str | None,
    pictures: bool,
    why: bool,
    sums: bool,
    knowledge_dir: str | None,
) -> None:
    """Read a case file and print the diagnosis.

    Example: diagnose read owl.yaml
    """
    if not batch:
        gc.disable()  # one short answer: going over all that was loaded, again and again, costs a tenth of the start and frees nothing
    from diagnose.assessment.situation import ModelCache
    from diagnose.knowledge import load_knowledge

    if batch and html:
        raise click.UsageError("--batch does not go with --html")
    if pictures and not html:
        raise click.UsageError("--pictures goes with --html FILE; one picture alone: diagnose draw")
    if (why or sums) and (batch or as_json or network or html):
        raise click.UsageError(
            "--why and --sheet are for the report on the terminal; the page has both, JSON has neither"
        )
    if len(cases) > 1 and not batch:
        raise click.UsageError("one case at a time, or --batch for many")
    models = ModelCache(load_knowledge(knowledge_dir))
    if batch:
        _read_batch(models, cases, network)
        return
    _read_one(models, cases[0], as_json, network, html, pictures, why, sums)


def _read_one(
    models: Any, path: str, as_json: bool, network: bool, html: str | None, pictures: bool, why: bool, sums: bool
) -> None:
    from diagnose.assessment.situation import Situation
    from diagnose.casebook import read_case

    situation = Situation(models, read_case(path, models.knowledge))
    if html is not None:
        from diagnose.report.html import write_page

        write_page(situation, Path(html), pictures)
    if as_json or network:
        from diagnose.report.json import result, to_json

        click.echo(to_json(result(situation, network)))
    elif html is None:
        from diagnose.report.terminal import print_report

        print_report(situation, why=why, sums=sums)
    else:
        click.echo(f"written: {html}", err=True)


def _read_batch(models: Any, given: tuple[str, ...], network: bool) -> None:
    from diagnose.assessment.situation import Situation
    from diagnose.casebook import read_case
    from diagnose.report.json import result, to_json

    refused = False
    for path in _case_paths(given):
        try:
            line = {"case": path, **result(Situation(models, read_case(path, models.knowledge)), network)}
        except InputError as error:
            refused = True
            line = {"case": path, "error": str(error)}
        click.echo(to_json(line, indent=False))
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


@cli.command()
@click.argument("text", required=False)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output.")
@click.option(
    "--batch",
    "batch",
    metavar="FILE",
    type=click.Path(dir_okay=False),
    help="One text a line in, one JSON object a line out.",
)
@_KNOWLEDGE
def hear(text: str | None, as_json: bool, batch: str | None, knowledge_dir: str | None) -> None:
    """Say which symptoms a caller's words may mean, best first.

    Example: diagnose hear "ears came out like thumbs"
    """
    from diagnose.hearing.matching import hear as listen
    from diagnose.hearing.matching import index_of
    from diagnose.knowledge import load_knowledge
    from diagnose.report.json import to_json

    if (text is None) == (batch is None):
        raise click.UsageError("give a text, or --batch FILE")
    knowledge = load_knowledge(knowledge_dir)
    index = index_of(knowledge)
    if batch is not None:
        for line in _lines(batch):
            click.echo(to_json({"version": 1, "symptoms": listen(index, line)}, indent=False))
        return
    found = listen(index, text or "")
    if as_json:
        click.echo(to_json({"version": 1, "symptoms": found}))
        return
    for name in found:
        click.echo(f"{name}: {knowledge.symptoms[name].title}")
    if not found:
        click.echo("nothing that is known here; say what you see, or where", err=True)


@cli.command("ask")
@click.argument("case", metavar="CASE")
@click.option(
    "--count",
    "-n",
    default=4,
    show_default=True,
    type=click.IntRange(1, 8),
    help="How many questions to send together.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output.")
@_KNOWLEDGE
def ask(case: str, count: int, as_json: bool, knowledge_dir: str | None) -> None:
    """The best few questions to send together to somebody who answers once, tomorrow.

    Example: diagnose ask owl.yaml -n 4
    """
    from diagnose.assessment.situation import ModelCache, Situation
    from diagnose.casebook import read_case
    from diagnose.knowledge import load_knowledge
    from diagnose.report.json import batch, to_json

    knowledge = load_knowledge(knowledge_dir)
    situation = Situation(ModelCache(knowledge), read_case(case, knowledge))
    found = batch(situation, count)
    if as_json:
        click.echo(to_json(found))
        return
    if not found["questions"]:
        click.echo("no question would tell more: no symptom told, or all is answered", err=True)
    for number, entry in enumerate(found["questions"], start=1):
        click.echo(f"{number}. {entry['title']}")
        click.echo(f"   {entry['find_out']}")


@cli.command("plan-pour")
@click.argument("case", metavar="CASE")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output.")
@_KNOWLEDGE
def plan_pour(case: str, as_json: bool, knowledge_dir: str | None) -> None:
    """Before the pour: what the planned facts put at risk, and the change that lowers most.

    CASE is a case file with the planned facts and no symptoms. Example: diagnose plan-pour monday.yaml
    """
    from diagnose.assessment.situation import ModelCache, Situation
    from diagnose.casebook import read_case
    from diagnose.knowledge import load_knowledge
    from diagnose.report.json import pour_outlook, to_json
    from diagnose.report.text.pour_risk import outlook_lines

    knowledge = load_knowledge(knowledge_dir)
    situation = Situation(ModelCache(knowledge), read_case(case, knowledge))
    if situation.symptoms_seen:
        raise InputError(
            f"{case}: tells symptoms, expected the facts of a pour that is still to come; use: diagnose read"
        )
    if as_json:
        click.echo(to_json(pour_outlook(situation)))
        return
    for line in outlook_lines(situation):
        click.echo(line)


@cli.command("paths")
def paths() -> None:
    """Where things are: the knowledge, the shop's own file, the cache, unfinished cases."""
    from diagnose import places
    from diagnose.knowledge.files import knowledge_root, shop_path

    for label, path in (
        ("knowledge", knowledge_root()),
        ("shop file", shop_path()),
        ("cache", places.cache_folder()),
        ("unfinished cases", places.cases_folder()),
    ):
        click.echo(f"{label}: {path}" + ("" if path.exists() else " (not there yet)"))


cli.add_command(knowledge_group)
cli.add_command(sum_group)
cli.add_command(draw_command)


def _lines(path: str) -> list[str]:
    from diagnose.knowledge.yaml_reader import decode

    try:
        data = Path(path).read_bytes()
    except OSError as error:
        raise InputError(f"{path}: can't be read: {error.strerror or error}") from None
    text, fault = decode(data, path, 16 << 20)
    if text is None:
        raise InputError(str(fault))
    return text.splitlines()


def _usage_line(error: click.ClickException) -> str:
    """Return what is wrong with the command line in one line, with where to read on."""
    context = getattr(error, "ctx", None)
    said = error.format_message().strip().rstrip(".")
    return one_line(f"diagnose: {said}; see {context.command_path if context else 'diagnose'} --help")


def main(args: list[str] | None = None) -> None:
    """Run the command line and leave with its exit status."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    sys.exit(run(args))


def run(args: list[str] | None = None) -> int:
    """Run the command line and return its exit status."""
    try:
        outcome = cli.main(args=args, prog_name="diagnose", standalone_mode=False)
        if sys.stdout is not None:
            sys.stdout.flush()
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except (click.Abort, KeyboardInterrupt):
        return 130
    except click.ClickException as error:
        click.echo(_usage_line(error), err=True)
        return 2
    except DiagnoseError as error:
        lines = error.lines() if isinstance(error, FileFaults) else [one_line(f"diagnose: {error}")]
        click.echo("\n".join(lines), err=True)
        return error.exit_code
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except OSError as error:
        click.echo(
            one_line(f"diagnose: {error.strerror or error}" + (f": {error.filename}" if error.filename else "")),
            err=True,
        )
        return 1
    finally:
        gc.enable()
    return outcome if isinstance(outcome, int) else 0
