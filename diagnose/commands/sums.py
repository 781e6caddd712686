"""`diagnose sum NAME`: the trade's sums as commands of their own, made from the catalogue of the bench.

What a sum needs is typed behind its name in the order asked for (`diagnose sum split 500 1:2`), or as options, in any
usual unit; on a terminal it asks for what is missing. `--json` gives inputs, figures, what is assumed and the source.
`diagnose sum sheet CASE` is the sheet for the next pour.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from diagnose.commands._shared import emit
from diagnose.errors import InputError, shown
from diagnose.units import QuantityError, parse_quantity, unit_of

if TYPE_CHECKING:
    from diagnose.bench.calculation import Practice
    from diagnose.bench.catalogue import Calculation, Input, Outcome
    from diagnose.casebook.sheet import SheetLine
    from diagnose.knowledge import Knowledge

_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?([eE][+-]?\d{1,3})?")
_KNOWLEDGE = click.Option(
    ["--knowledge", "knowledge_dir"], metavar="DIR", help="Read this knowledge folder instead of the built-in one."
)
_JSON = click.Option(["--json", "as_json"], is_flag=True, help="One JSON object on standard output.")


class SumGroup(click.Group):
    """The sums of the catalogue as commands; the bench is imported only when one is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return `sheet` and the names of all sums in the order of a job."""
        from diagnose.bench.catalogue import names

        return ["sheet", *names()]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return the command for one sum, or None if there is no such sum."""
        from diagnose.bench.catalogue import by_name, names

        if cmd_name == "sheet":
            return sheet_command
        return _command(by_name(cmd_name)) if cmd_name in names() else None

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Return the command that *args* ask for; one that there isn't is refused with the nearest."""
        if args and self.get_command(ctx, args[0]) is None and not args[0].startswith("-"):
            from diagnose.bench.catalogue import by_name

            by_name(args[0])
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the sums under the headings of their groups."""
        from diagnose.bench.calculation import GROUPS
        from diagnose.bench.catalogue import CALCULATIONS

        with formatter.section("The next pour"):
            formatter.write_dl([("sheet CASE", "all numbers for the next pour of a case")])
        for group, heading in GROUPS.items():
            with formatter.section(heading):
                formatter.write_dl([(item.name, item.title) for item in CALCULATIONS if item.group == group])


def _command(item: Calculation) -> click.Command:
    wanted = [given.name for given in item.inputs if given.required]
    order = [*wanted, *(given.name for given in item.inputs if not given.required)]
    params: list[click.Parameter] = [click.Argument(["typed"], nargs=-1, metavar=_usage(item))]
    params += [
        click.Option([option(given), given.name], help=_help(given), type=str, metavar=_metavar(given))
        for given in item.inputs
    ]

    def run(typed: tuple[str, ...], as_json: bool, knowledge_dir: str | None, **options: str | None) -> None:
        values, told = _values(item, _placed(item, typed, order, options))
        outcome = item.run(values, _practice(item, knowledge_dir), told)
        if as_json:
            emit(_plain(item, values, outcome))
        else:
            _print(outcome)

    return click.Command(
        item.name, params=[*params, _JSON, _KNOWLEDGE], callback=run, short_help=item.title, help=_long_help(item)
    )


def _practice(item: Calculation, knowledge_dir: str | None) -> Practice:
    """Return the numbers that shops go by, read only where the sum may lean on one."""
    from diagnose.knowledge import load_knowledge

    if knowledge_dir is None and not any(given.practice for given in item.inputs):
        return {}
    return load_knowledge(knowledge_dir).practice


def option(given: Input) -> str:
    """Return the option of an input, as it is typed."""
    return f"--{given.name.replace('_', '-')}"


def _placed(
    item: Calculation, typed: tuple[str, ...], order: list[str], options: Mapping[str, str | None]
) -> dict[str, str]:
    """Return the text of each input: options by name, plain arguments in order for the rest."""
    texts = {name: text for name, text in options.items() if text is not None}
    free = [name for name in order if name not in texts]
    if len(typed) > len(free):
        more = " ".join(shown(text, 20) for text in typed[len(free) :])
        raise InputError(f"{item.name} takes no more than {len(free)} numbers here: '{more}' is left over")
    return {**texts, **dict(zip(free, typed, strict=False))}


def _values(item: Calculation, texts: Mapping[str, str]) -> tuple[dict[str, float | str], dict[str, str]]:
    """Read the texts in the units of the inputs, and ask for what is missing. Returns values, and texts to be told as
    typed.
    """
    values: dict[str, float | str] = {}
    told: dict[str, str] = {}
    for given in item.inputs:
        if given.name in texts:
            value, text = _value(given, texts[given.name]), texts[given.name]
        elif given.required:
            value, text = _ask(item, given)
        else:
            continue
        values[given.name] = value
        if isinstance(value, float) and not _same_figures(text, value):
            told[given.name] = shown(text, 40)
    return values, told


def _same_figures(text: str, value: float) -> bool:
    """Whether the number typed is the number stored, so that only its unit was left out or is the same."""
    head = _NUMBER.match(text.strip())
    return head is not None and float(head[0]) == value and ":" not in text


def _ask(item: Calculation, given: Input) -> tuple[float | str, str]:
    """Ask for one input on a terminal; without one, refuse with the option to type."""
    from diagnose.bench.calculation import unit_of_input

    what = f"{given.title}{unit_of_input(given)}"
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        raise InputError(f"{item.name} needs {option(given)}: {what}")
    while True:
        text = str(click.prompt(what[:1].upper() + what[1:], err=True))
        try:
            return _value(given, text), text
        except InputError as error:
            click.echo(str(error), err=True)


def _usage(item: Calculation) -> str:
    return " ".join(given.name.upper() for given in item.inputs if given.required) or "[VALUES]"


def _metavar(given: Input) -> str:
    if given.choices:
        return "|".join(given.choices)
    return "NUMBER" if given.unit in ("", "1", "count") else f"NUMBER[{given.unit}]"


def _help(given: Input) -> str:
    from diagnose.bench.quantities import label

    if given.required:
        return f"{given.title} (needed)"
    if isinstance(given.default, float):
        return f"{given.title} (else {given.default:g}{label(given.unit)})"
    if given.default is not None:
        return f"{given.title} (else {given.default})"
    return f"{given.title} (else what shops go by)" if given.practice else given.title


def _long_help(item: Calculation) -> str:
    title = item.title if item.title.endswith("?") else f"{item.title}."
    return (
        f"{title}\n\n{' '.join(item.assumes)}\n\nSource: {item.source}.\n\nExample: diagnose sum {item.name} "
        f"{item.example}"
    )


def _value(given: Input, text: str) -> float | str:
    """Read *text* in the unit of the input. Raises InputError that names the option and what was expected."""
    if given.choices:
        return _choice(given, text)
    unit = given.unit or "1"
    try:
        unit_of(unit)
    except KeyError:
        bare = text.strip().removesuffix(unit).removesuffix(unit.removeprefix("1")).strip()  # "6 1/h" and "6/h" alike
        if not _NUMBER.fullmatch(bare):
            raise InputError(f"{option(given)}: '{shown(text, 40)}', expected a number in {unit}") from None
        return float(bare)
    try:
        return parse_quantity(text, unit).value
    except QuantityError as error:
        raise InputError(f"{option(given)}: {error}") from None


def _choice(given: Input, text: str) -> str:
    """Return the choice that *text* is, whatever its case and dashes."""
    flat = text.strip().casefold().replace("-", "_").replace(" ", "_")
    for known in given.choices:
        if known.casefold() == flat:
            return known
    raise InputError(f"{option(given)}: '{shown(text, 40)}', expected one of {', '.join(given.choices)}")


def _plain(item: Calculation, values: Mapping[str, float | str], outcome: Outcome) -> dict[str, Any]:
    inputs = {
        given.name: {"value": values.get(given.name, given.default), "unit": given.unit or "1"}
        for given in item.inputs
        if values.get(given.name, given.default) is not None
    }
    figures = {
        name: {"value": _ten(figure.value), "unit": figure.unit, "range": _ends(figure.low, figure.high)}
        for name, figure in outcome.figures.items()
    }
    return {
        "version": 1,
        "sum": item.name,
        "inputs": inputs,
        "result": _ten(outcome.value),
        "unit": outcome.unit,
        "range": _ends(outcome.low, outcome.high),
        "figures": figures,
        "text": outcome.text,
        "lines": list(outcome.lines),
        "assumes": list(outcome.assumes),
        "source": outcome.source,
    }


def _ten(value: float | None) -> float | int | None:
    from diagnose.report.json import ten

    return None if value is None else ten(value)


def _ends(low: float | None, high: float | None) -> list[float | int | None] | None:
    return None if low is None or high is None else [_ten(low), _ten(high)]


def _print(outcome: Outcome) -> None:
    click.echo(outcome.text)
    for line in outcome.lines:
        click.echo(f"  {line}")
    for line in outcome.assumes:
        click.echo(f"  assumes: {line}")
    click.echo(f"  source: {outcome.source}")


def _sheet(case: str, as_json: bool, knowledge_dir: str | None) -> None:
    """The numbers for the next pour of a case: grams, degrees, minutes, vents.

    They go with the change that the case comes to.

    Example: diagnose sum sheet owl.yaml
    """
    from diagnose.assessment.numbers import whole_sheet
    from diagnose.commands._shared import consult

    consultation = consult(case, knowledge_dir)
    knowledge, lines = consultation.knowledge, whole_sheet(consultation)
    if as_json:
        emit({"version": 1, "sum": "sheet", "lines": [_line(line) for line in lines]})
        return
    for line in lines:
        click.echo(f"{line.title}: {_told(line, knowledge)}")
        for label, text in (("sum", line.sum), ("assumes", line.assumes)):
            if text:
                click.echo(f"  {label}: {text}")


def _told(line: SheetLine, knowledge: Knowledge) -> str:
    from diagnose.bench.quantities import label, number

    if not line.worked_out:
        return (
            f"needs {', '.join(knowledge.label(fact) for fact in line.missing)}" if line.missing else "not worked out"
        )
    _, low, high = line.shown()
    if low is None or high is None or low == high or " to " in (told := line.told()):
        return line.told()
    return f"{told} ({number(low)} to {number(high)}{label(line.unit)})"


def _line(line: SheetLine) -> dict[str, Any]:
    return {
        "name": line.id,
        "group": line.group,
        "title": line.title,
        "text": line.told(),
        "result": line.text_value or _ten(line.value),
        "unit": line.unit,
        "range": _ends(line.low, line.high),
        "missing": list(line.missing),
        "used": list(line.used),
        "sum": line.sum,
        "assumes": line.assumes,
    }


sheet_command = click.Command(
    "sheet",
    params=[click.Argument(["case"], metavar="CASE"), _JSON, _KNOWLEDGE],
    callback=_sheet,
    help=_sheet.__doc__,
    short_help="The numbers for the next pour of a case",
)


def _help_alone() -> None:
    context = click.get_current_context()
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


sum_group = SumGroup(
    "sum",
    callback=_help_alone,
    invoke_without_command=True,
    subcommand_metavar="NAME [VALUES]",
    help=(
        "The trade's sums, each with its range, what it assumes and its source. Any usual unit will do, and on a "
        "terminal a sum asks "
        "for what is missing.\n\n"
        "\b\n"
        "Examples:\n"
        "  diagnose sum split 500 1:2\n"
        "  diagnose sum dew-point 68F 60 57F\n"
        "  diagnose sum charge 1900 0.16g/mL --build bare_foam"
    ),
    short_help="The trade's sums: grams, degrees, minutes, vents.",
)
