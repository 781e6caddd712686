"""The commands, thin: read the words of the command line, call the room that does the work, map errors to exit status.

0 done, 1 the work failed, 2 the input or the command line is wrong, 130 stopped by Ctrl-C. Heavy packages are imported
in the command that uses them, so that none pays for another.
"""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path

import click

from diagnose.commands._group import Commands
from diagnose.commands._shared import knowledge_option, log_options
from diagnose.errors import DiagnoseError, FileFaults, one_line


def _print_version(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    """Print program and knowledge and leave; a `--knowledge` before it is heeded."""
    if wanted and not context.resilient_parsing:
        from diagnose.commands._versions import versions

        click.echo(versions(context.params.get("knowledge_dir")))
        context.exit()


@click.group(cls=Commands, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--version",
    is_flag=True,
    expose_value=False,
    callback=_print_version,
    help="Tell program and knowledge, and leave.",
)
@click.option("--resume", "resume", metavar="CASE", type=click.Path(dir_okay=False), help="Go on with this case file.")
@click.option("--save", "save", metavar="FILE", type=click.Path(dir_okay=False), help="Keep the new case in this file.")
@click.option("--plain", is_flag=True, help="Ask in plain numbered lines.")
@click.option("--no-log", is_flag=True, help="Don't keep the finished case in the log (as with DIAGNOSE_LOG=off).")
@log_options
@knowledge_option
@click.pass_context
def cli(
    context: click.Context,
    knowledge_dir: str | None,
    resume: str | None,
    save: str | None,
    plain: bool,
    no_log: bool,
    where: str | None,
    book: bool,
) -> None:
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
    from diagnose.interview.run import LogUse, run_interview

    if resume and save:
        raise click.UsageError("--save does not go with --resume, which writes to the file it goes on with")
    off = where is None and os.environ.get("DIAGNOSE_LOG") == "off"
    use = None if off else LogUse(where, not no_log, book)
    going_on, kept = Path(resume) if resume else None, Path(save) if save else None
    consultation = run_interview(knowledge_dir, going_on, plain, kept, log=use)
    if consultation is not None:
        from diagnose.commands._shared import show
        from diagnose.report.terminal import print_report

        print_report(show(consultation))


def _usage_line(error: click.ClickException) -> str:
    """Return what is wrong with the command line in one line, with where to read on."""
    context = getattr(error, "ctx", None)
    said = error.format_message().strip().rstrip(".").replace(":\n\t", ": ").replace(",\n\t", ", ")
    return one_line(f"diagnose: {said}; see {context.command_path if context else 'diagnose'} --help")


def main(args: list[str] | None = None) -> None:
    """Run the command line and leave with its exit status."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    status = run(args)
    gc.freeze()  # at the end the system takes all memory back at once; going over it first costs a tenth of a start
    sys.exit(status)


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
    return outcome if isinstance(outcome, int) else 0
