"""`diagnose draw`: a picture of a case, or the map of a symptom, as an SVG file that prints.

The pictures and what draws them are imported only here, when one is asked for.
"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from diagnose.commands._shared import consult
from diagnose.errors import InputError


@click.command("draw")
@click.argument("case", required=False, metavar="[CASE]")
@click.option("--fishbone", is_flag=True, help="Cause and effect of the case, each bone as thick as its chance.")
@click.option("--beliefs", is_flag=True, help="How the beliefs ran, answer by answer.")
@click.option(
    "--map", "symptom", metavar="SYMPTOM", help="A symptom with its causes, remedies and checks; takes no case."
)
@click.option(
    "--output",
    "-o",
    "output",
    required=True,
    metavar="FILE.svg",
    help="Where to write the picture; - for standard output.",
)
@click.option(
    "--knowledge", "knowledge_dir", metavar="DIR", help="Read this knowledge folder instead of the built-in one."
)
def draw_command(
    case: str | None, fishbone: bool, beliefs: bool, symptom: str | None, output: str, knowledge_dir: str | None
) -> None:
    """Draw a case as a fishbone or as the run of its beliefs, or map a symptom.

    Example: diagnose draw owl.yaml --fishbone -o owl.svg
    """
    if fishbone + beliefs + (symptom is not None) != 1:
        raise click.UsageError("one picture at a time: --fishbone, --beliefs or --map SYMPTOM")
    if symptom is not None:
        if case is not None:
            raise click.UsageError("--map draws what is known of a symptom and takes no case")
        svg = _map(symptom, knowledge_dir)
    else:
        if case is None:
            raise click.UsageError(
                f"{'--fishbone' if fishbone else '--beliefs'} needs a case file, as in: diagnose draw owl.yaml --fishbone -o owl.svg"
            )
        svg = _case(case, fishbone, knowledge_dir)
    _put(output, svg)


def _map(symptom: str, knowledge_dir: str | None) -> str:
    from diagnose.knowledge import load_knowledge
    from diagnose.report.pictures.drawing import map_svg

    knowledge = load_knowledge(knowledge_dir)
    try:
        return map_svg(knowledge, symptom, inline=False)
    except InputError as error:
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
