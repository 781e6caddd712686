"""The pictures of a case and of the knowledge as SVG, each with its text alternative inside and as text.

`pictures_fishbone`, `pictures_beliefs` and `pictures_map` say what each picture shows and lay it out; `pictures_canvas`
draws it. All are made for a sheet of A4 at full size, in type of 8 points and more, and read in grey: what a color
says, thickness, dashes or marks say too.
"""

from __future__ import annotations

import os
from pathlib import Path

from diagnose.assessment.consultation import Consultation
from diagnose.errors import DiagnoseError, InputError
from diagnose.files import write_atomic
from diagnose.knowledge import Knowledge
from diagnose.report.pictures.belief_run import beliefs_of, beliefs_words, draw_beliefs
from diagnose.report.pictures.fishbone import fishbone_of, fishbone_words
from diagnose.report.pictures.fishbone_layout import draw_fishbone
from diagnose.report.pictures.symptom_map import draw_map, map_of, map_words

NOTHING_SEEN = "no symptom is told as seen, so there is nothing to draw; tell first what is wrong with the part"


def fishbone_svg(consultation: Consultation, inline: bool = True) -> str:
    """Return the cause-and-effect diagram of a case as SVG: for the middle of an HTML page, or a file of its own.

    Raises InputError where no symptom is told as seen, TooManySeen and NoWayToBe as the beliefs do.
    """
    _something_seen(consultation)
    fish = fishbone_of(consultation)
    return draw_fishbone(fish).svg(fishbone_words(fish), inline)


def fishbone_text(consultation: Consultation) -> str:
    """Return the cause-and-effect diagram of a case in words. Raises as `fishbone_svg` does."""
    _something_seen(consultation)
    return fishbone_words(fishbone_of(consultation)).text


def beliefs_svg(consultation: Consultation, inline: bool = True) -> str:
    """Return the run of beliefs over the answers of a case as SVG. Raises as `fishbone_svg` does."""
    _something_seen(consultation)
    run = beliefs_of(consultation)
    return draw_beliefs(run).svg(beliefs_words(run), inline)


def beliefs_text(consultation: Consultation) -> str:
    """Return the run of beliefs in words. Raises as `fishbone_svg` does."""
    _something_seen(consultation)
    return beliefs_words(beliefs_of(consultation)).text


def map_svg(knowledge: Knowledge, symptom: str, inline: bool = True) -> str:
    """Return the map of *symptom* with its causes, remedies and checks as SVG.
    Raises InputError where there is no such symptom.
    """
    _known(knowledge, symptom)
    made = map_of(knowledge, symptom)
    return draw_map(made).svg(map_words(made), inline)


def map_text(knowledge: Knowledge, symptom: str) -> str:
    """Return the map of *symptom* in words. Raises as `map_svg` does."""
    _known(knowledge, symptom)
    return map_words(map_of(knowledge, symptom)).text


def write_picture(path: Path, svg: str) -> None:
    """Write *svg* to *path* in one step, so that an old picture stays whole until the new one is.

    Raises InputError where something other than a regular file lies there, DiagnoseError where it can't be written.
    """
    if os.path.lexists(path) and not path.is_file():
        raise InputError(f"{path}: is no regular file, expected a new name or a file to write over")
    if not path.parent.is_dir():  # a folder that isn't there is a slip of the pen, not one to be made
        raise DiagnoseError(f"{path}: can't be written: No such file or directory")
    try:
        write_atomic(path, svg)
    except OSError as error:
        raise DiagnoseError(f"{path}: can't be written: {error.strerror or error}") from None


def _something_seen(consultation: Consultation) -> None:
    if not consultation.symptoms_seen:
        raise InputError(NOTHING_SEEN)


def _known(knowledge: Knowledge, symptom: str) -> None:
    if symptom not in knowledge.symptoms:
        from diagnose.errors import shown
        from diagnose.knowledge.kinds import nearest

        raise InputError(
            f"no symptom '{shown(symptom)}'{nearest(symptom, list(knowledge.symptoms))}, expected the id of one"
        )
