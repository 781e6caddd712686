"""`diagnose draw`: a picture of a case, or the map of a symptom, as an SVG file that prints.

The pictures and what draws them are imported only here, when one is asked for.
"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from diagnose.commands._shared import CASE, complete_symptom, consult
from diagnose.errors import InputError


@click.command("draw")
@click.argument("case", type=CASE, required=False, metavar="[CASE]")
@click.option("--fishbone", is_flag=True, help="Cause and effect of the case, each bone as thick as its chance.")
@click.option("--beliefs", is_flag=True, help="How the beliefs ran, answer by answer.")
@click.option(
    "--map",
    "symptom",
    shell_complete=complete_symptom,
    is_flag=False,
    flag_value="",
    metavar="SYMPTOM",
    help="A symptom with its causes, remedies and checks; takes no case. Alone it lists the symptoms.",
)
@click.option("--output", "-o", metavar="FILE.svg", help="Where to write the picture; - for standard output.")
@click.option(
    "--knowledge", "knowledge_dir", metavar="DIR", help="Read this knowledge folder instead of the built-in one."
)
def draw_command(
    case: str | None, fishbone: bool, beliefs: bool, symptom: str | None, output: str | None, knowledge_dir: str | None
) -> None:
    """Draw a case as a fishbone or as the run of its beliefs, or map a symptom.

    Example: diagnose draw owl.yaml --fishbone -o owl.svg
    """
    if fishbone + beliefs + (symptom is not None) != 1:
        raise click.UsageError("one picture at a time: --fishbone, --beliefs or --map SYMPTOM")
    if symptom is not None and case is not None:
        raise click.UsageError("--map draws what is known of a symptom and takes no case")
    if symptom == "":
        _list_symptoms(knowledge_dir)
        return
    if symptom is None and case is None:
        raise click.UsageError(
            f"{'--fishbone' if fishbone else '--beliefs'} needs a case file, as in: diagnose draw owl.yaml "
            f"--fishbone -o owl.svg"
        )
    place = _place(output)
    svg = _map(symptom, knowledge_dir) if symptom is not None else _case(str(case), fishbone, knowledge_dir)
    _put(place, svg)


def _place(output: str | None) -> str:
    """Where the picture goes. A name that promises another kind of file is refused."""
    if output is None:
        raise click.UsageError("-o FILE.svg is missing; -o - writes to standard output")
    ending = Path(output).suffix.lower()
    if output != "-" and ending not in ("", ".svg"):
        raise click.UsageError(f"-o {output}: pictures are SVG, expected a name that ends in .svg")
    return output


def _list_symptoms(knowledge_dir: str | None, to_error: bool = False) -> None:
    """Print the id and title of each symptom that can be mapped."""
    from diagnose.knowledge import load_knowledge

    symptoms = load_knowledge(knowledge_dir).symptoms
    wide = max(map(len, symptoms), default=0)
    for name, symptom in symptoms.items():
        click.echo(f"{name.ljust(wide)}  {symptom.title}", err=to_error)


def _map(symptom: str, knowledge_dir: str | None) -> str:
    from diagnose.knowledge import load_knowledge
    from diagnose.report.pictures.drawing import map_svg

    knowledge = load_knowledge(knowledge_dir)
    try:
        return map_svg(knowledge, symptom, inline=False)
    except InputError as error:
        _list_symptoms(knowledge_dir, to_error=True)
        raise InputError(f"--map: {error}") from None


def _case(case: str, fishbone: bool, knowledge_dir: str | None) -> str:
    from diagnose.report.pictures.drawing import NOTHING_SEEN, beliefs_svg, fishbone_svg

    consultation = consult(case, knowledge_dir)
    if not consultation.symptoms_seen:
        raise InputError(f"{case}: {NOTHING_SEEN}")
    return fishbone_svg(consultation, inline=False) if fishbone else beliefs_svg(consultation, inline=False)


def _put(output: str, svg: str) -> None:
    """Write to a file in one step, or to standard output as UTF-8."""
    if output == "-":
        sys.stdout.buffer.write(svg.encode("utf-8"))
        return
    from diagnose.report.pictures.drawing import write_picture

    write_picture(Path(output), svg)
    click.echo(f"written: {output}", err=True)
