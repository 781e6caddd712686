"""The manual page, made from the commands themselves: `python -m diagnose.commands.manual > docs/diagnose.1`.

Every command, option and help text is taken from the command line, so page and program can't differ. The markup is
troff with the `man` macros; what is not ASCII stands as its escape, so that any reader of manual pages shows it.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterator

import click

import diagnose
from diagnose.commands._group import SECTIONS
from diagnose.commands.main import cli

_DESCRIPTION = (
    "A caster pours two-part self-skinning flexible polyurethane foam into a silicone mold, opens it, and the part "
    "is wrong. `diagnose` asks a "
    "few well-chosen questions, or reads a case file, ranks the likely causes with how sure it is and why, names the "
    "one check that tells most "
    "for its minutes, says whether this part can be saved, and gives one change and the numbers for the next pour.",
    'Several causes may hold at once, half of what people remember is wrong, and "don\'t know" is always an answer.',
)
_ENVIRONMENT = (
    ("DIAGNOSE_KNOWLEDGE", "The knowledge folder, where `--knowledge` names none."),
    (
        "DIAGNOSE_SHOP",
        "The shop's own file with its materials and costs, in place of the one in the user's data folder.",
    ),
    ("NO_COLOR", "Set to anything: no color."),
)
_STATUS = (
    ("0", "Done."),
    ("1", "The work failed, as where the disk is full."),
    ("2", "The input or the command line is wrong; what was expected is told in one line."),
    ("130", "Stopped by Ctrl-C; what was answered is kept."),
)
_CAUTION = (
    "It judges parts, not people. Isocyanates harm lungs, eyes and skin and can make one allergic for good: the "
    "safety data sheet, local codes "
    "and licensed practice come before anything printed here. Anyone with a tight chest, a cough or a rash stops, "
    "gets fresh air and medical advice."
)


def page() -> str:
    """Return the manual page as troff."""
    return "\n".join(_lines()) + "\n"


def _lines() -> Iterator[str]:
    yield f'.TH DIAGNOSE 1 "" "{_plain(f"diagnose {diagnose.__version__}")}" "User commands"'
    yield ".SH NAME"
    yield "diagnose \\- find out why a foam casting went wrong, and what to do about it"
    yield ".SH SYNOPSIS"
    yield from ("\\fBdiagnose\\fR [\\fIOPTIONS\\fR]", ".br", "\\fBdiagnose\\fR \\fICOMMAND\\fR [\\fIARGUMENTS\\fR]")
    yield ".SH DESCRIPTION"
    yield from _paragraphs(_DESCRIPTION)
    yield ".SH OPTIONS"
    top = click.Context(cli, info_name="diagnose", **cli.context_settings)
    yield from _options(cli, top)
    for title, entries in SECTIONS:
        yield f".SH {_plain(title.upper())}"
        for name, _, _ in entries:
            command = cli.get_command(top, name)
            if command is not None:
                yield from _command(command, name, top)
    for title, rows in (("ENVIRONMENT", _ENVIRONMENT), ("EXIT STATUS", _STATUS)):
        yield f".SH {title}"
        for term, said in rows:
            yield from (".TP", f"\\fB{_plain(term)}\\fR", _text(said))
    yield ".SH CAUTIONS"
    yield from _paragraphs((_CAUTION,))


def _command(command: click.Command, name: str, parent: click.Context) -> Iterator[str]:
    """A command with its help and options; of a group each command below it, of the many sums the title alone."""
    context = click.Context(command, info_name=name, parent=parent)
    usage = " ".join(command.collect_usage_pieces(context))
    yield f".SS {_plain(f'{context.command_path} {usage}'.strip())}"
    yield from _paragraphs(inspect.cleandoc(command.help or command.short_help or "").split("\n\n"))
    yield from _options(command, context)
    if not isinstance(command, click.Group):
        return
    below = [(each, command.get_command(context, each)) for each in command.list_commands(context)]
    if len(below) > 12:
        for each, sub in below:
            yield from (
                ".TP",
                f"\\fB{_plain(f'{context.command_path} {each}')}\\fR",
                _text(sub.get_short_help_str(200) if sub else ""),
            )
        return
    for each, sub in below:
        if sub is not None:
            yield from _command(sub, each, context)


def _options(command: click.Command, context: click.Context) -> Iterator[str]:
    for parameter in command.get_params(context):
        record = parameter.get_help_record(context)
        if record is not None and record[1] and ("--help" not in parameter.opts or context.parent is None):
            yield from (".TP", f"\\fB{_plain(record[0])}\\fR", _text(record[1]))


def _paragraphs(texts: tuple[str, ...] | list[str]) -> Iterator[str]:
    for text in texts:
        yield from (".PP", _text(text.replace("\b", "")))


def _text(text: str) -> str:
    """Return *text* on one line of running text; a control line it can't become."""
    line = _plain(" ".join(text.split()))
    return f"\\&{line}" if line[:1] in (".", "'") else line


def _plain(text: str) -> str:
    """Return *text* with what troff would act on, or some reader can't show, as its escape."""
    marked = text.replace("\\", "\\e").replace("-", "\\-").replace("`", "\\(ga")
    return "".join(c if c.isascii() else f"\\[u{ord(c):04X}]" for c in marked)


if __name__ == "__main__":
    click.echo(page(), nl=False)
