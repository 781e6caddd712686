"""`diagnose sum NAME`: the trade's sums as commands of their own, made from the catalogue of the bench.

Each input is an option that takes any usual unit; `--json` gives inputs, result, unit, range, what is assumed and the source.
`diagnose sum sheet CASE` is the sheet for the next pour.
"""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

import click

from diagnose.errors import InputError
from diagnose.units import QuantityError, parse_quantity, unit_of

if TYPE_CHECKING:
    from diagnose.bench.catalogue import Input, Result, Sum
    from diagnose.casebook.sheet import Line

_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?([eE][+-]?\d{1,3})?")


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


def _command(item: Sum) -> click.Command:
    options: list[click.Parameter] = [
        click.Option(
            [f"--{given.name.replace('_', '-')}", given.name], help=_help(given), type=str, metavar=_metavar(given)
        )
        for given in item.inputs
    ]
    options.append(click.Option(["--json", "as_json"], is_flag=True, help="One JSON object on standard output."))

    def run(as_json: bool, **texts: str | None) -> None:
        values = {given.name: _value(given, text) for given in item.inputs if (text := texts[given.name]) is not None}
        result = item.run(values)
        if as_json:
            click.echo(json.dumps(_plain(item, values, result), indent=1, ensure_ascii=False, allow_nan=False))
        else:
            _print(result)

    return click.Command(item.name, params=options, callback=run, short_help=item.title, help=_long_help(item))


def _metavar(given: Input) -> str:
    if given.choices:
        return "|".join(given.choices)
    return "NUMBER" if given.unit in ("", "1", "count") else f"NUMBER[{given.unit}]"


def _help(given: Input) -> str:
    said = given.title
    if given.default is not None:
        said += (
            f" (taken as {given.default:g} {given.unit})"
            if isinstance(given.default, float)
            else f" (taken as {given.default})"
        )
    return said + (
        "" if given.required and given.default is None else "" if given.default is not None else " (may be left out)"
    )


def _long_help(item: Sum) -> str:
    assumes = " ".join(item.assumes)
    return f"{item.title}.\n\n{assumes}\n\nSource: {item.source}"


def _value(given: Input, text: str) -> float | str:
    """Read *text* in the unit of the input. Raises InputError that names the input and what was expected."""
    if given.choices:
        return text
    unit = given.unit or "1"
    try:
        unit_of(unit)
    except KeyError:
        bare = text.strip().removesuffix(unit).removesuffix(unit.removeprefix("1")).strip()  # "6 1/h" and "6/h" alike
        if not _NUMBER.fullmatch(bare):
            raise InputError(f"{given.name}: '{text}', expected a number in {unit}") from None
        return float(bare)
    try:
        return parse_quantity(text, unit).value
    except QuantityError as error:
        raise InputError(f"{given.name}: {error}") from None


def _plain(item: Sum, values: dict[str, float | str], result: Result) -> dict[str, Any]:
    inputs = {
        given.name: {"value": values.get(given.name, given.default), "unit": given.unit or "1"}
        for given in item.inputs
        if values.get(given.name, given.default) is not None
    }
    return {
        "version": 1,
        "sum": item.name,
        "inputs": inputs,
        "result": _ten(result.value),
        "unit": result.unit,
        "range": None if result.low is None else [_ten(result.low), _ten(result.high)],
        "text": result.text,
        "lines": list(result.lines),
        "assumes": list(result.assumes),
        "source": result.source,
    }


def _ten(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.10g}")


def _print(result: Result) -> None:
    click.echo(result.text)
    for line in result.lines:
        click.echo(f"  {line}")
    for line in result.assumes:
        click.echo(f"  assumes: {line}")
    click.echo(f"  source: {result.source}")


@click.command("sheet")
@click.argument("case", metavar="CASE")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output.")
@click.option(
    "--knowledge", "knowledge_dir", metavar="DIR", help="Read this knowledge folder instead of the built-in one."
)
def sheet_command(case: str, as_json: bool, knowledge_dir: str | None) -> None:
    """The numbers for the next pour of a case: grams, degrees, minutes, vent.

    Example: diagnose sum sheet owl.yaml
    """
    from diagnose.casebook import read_case
    from diagnose.casebook.sheet import Sheet
    from diagnose.knowledge import load_knowledge

    knowledge = load_knowledge(knowledge_dir)
    lines = Sheet(read_case(case, knowledge), knowledge).lines()
    if as_json:
        click.echo(
            json.dumps(
                {"version": 1, "sum": "sheet", "lines": [_line(line) for line in lines]},
                indent=1,
                ensure_ascii=False,
                allow_nan=False,
            )
        )
        return
    for line in lines:
        click.echo(f"{line.title}: {line.text}{_between(line)}")
        for label, text in (("sum", line.sum), ("assumes", line.assumes)):
            if text:
                click.echo(f"  {label}: {text}")


def _between(line: Line) -> str:
    """The ends of a line, where its text doesn't say them already."""
    from diagnose.bench.quantities import label, number

    if line.low is None or line.high is None or line.low == line.high:
        return ""
    ends = f"{number(line.low, 3)} to {number(line.high, 3)}"
    return "" if ends in line.text else f" ({ends}{label(line.unit)})"


def _line(line: Line) -> dict[str, Any]:
    return {
        "name": line.name,
        "title": line.title,
        "text": line.text,
        "result": _ten(line.value),
        "unit": line.unit,
        "range": None if line.low is None else [_ten(line.low), _ten(line.high)],
        "sum": line.sum,
        "assumes": line.assumes,
    }


sum_group = SumGroup(
    "sum",
    help=(
        "The trade's sums, each with its range, what it assumes and its source.\n\n"
        "Example: diagnose sum dew-point --room-temperature 68F --relative-humidity 60"
    ),
)
