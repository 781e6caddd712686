"""Monday's page as one HTML page that stands by itself and prints, with its pictures drawn in.

Names of molds, lots and persons come from whoever typed them: each is cleaned and escaped, and the page forbids itself
everything but its own style sheet.
"""

from __future__ import annotations

import base64
import hashlib
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.knowledge import Knowledge
from diagnose.prose.text import clean
from diagnose.report.text.log_page import SIGNAL, Plain, label, page_parts, page_summary, page_title

if TYPE_CHECKING:
    from collections.abc import Sequence


def write_log_page(page: Plain, knowledge: Knowledge, path: Path) -> None:
    """Write the page to *path* in UTF-8, in one step. Raises InputError, DiagnoseError where it can't be written."""
    from diagnose.report.pictures.drawing import write_picture

    write_picture(path, log_page_text(page, knowledge))


def log_page_text(page: Plain, knowledge: Knowledge) -> str:
    """Return the page as HTML."""
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    room = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=lambda value: clean(value) if type(value) is str else value,
    )
    style = _shipped("log_page.css")
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    pictures = {key: Markup(svg) for key, svg in log_pictures(page, knowledge).items()}
    return room.from_string(_shipped("log_page.html.j2")).render(
        title=page_title(page),
        summary=page_summary(page),
        parts=page_parts(page, knowledge),
        pictures=pictures,
        style=Markup(style),
        style_hash=Markup(f"sha256-{digest}"),
    )


def log_pictures(page: Plain, knowledge: Knowledge) -> dict[str, str]:
    """Return the pictures of the page as SVG, by the part that they belong to."""
    from diagnose.report.pictures.control_chart import ChartPoint, control_chart_svg

    found = {}
    for key, bars, title in (
        ("faults", page["pareto_faults"], "Faults"),
        ("causes", page["pareto_causes"], "Causes of closed parts"),
    ):
        if bars:
            found[key] = _pareto(key, title, bars, knowledge)
    chart = page["p_chart"]
    if chart["points"]:
        points = [
            ChartPoint(p["period"], p["p"], p["low"], p["high"], tuple(SIGNAL[s] for s in p["signals"]))
            for p in chart["points"]
        ]
        found["weeks"] = control_chart_svg("weeks", "Share of bad parts by week", chart["center"], points)
    return found


def _pareto(key: str, title: str, bars: Sequence[Plain], knowledge: Knowledge) -> str:
    from diagnose.report.pictures.pareto import ParetoBar, pareto_svg

    return pareto_svg(key, title, [ParetoBar(label(knowledge, b["id"]), b["count"], b["cumulative"]) for b in bars])


def _shipped(name: str) -> str:
    return resources.files("diagnose.report").joinpath(name).read_text(encoding="utf-8")
