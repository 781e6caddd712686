"""The pages of the trade's sums: what each takes and assumes, how to type it, and a worked example run when the book is made."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.bench.calculation import Input, Result, Sum
from diagnose.bench.quantities import label, number
from diagnose.knowledge import Knowledge
from diagnose.report.handbook.pages import Group, Item, Page, Ref, Table, page, section

#: numbers of the worked examples, each in the unit of its input; a made-up goose mask and its mold
EXAMPLES: Mapping[str, Mapping[str, float | str]] = {
    "split": {"batch": 450.0, "ratio_target": 50.0},
    "ratio-error": {"a_mass": 142.0, "b_mass": 300.0, "ratio_target": 50.0},
    "volume-ratio": {"volume_ratio": 50.0, "density_a": 1200.0, "density_b": 1030.0},
    "density-of-ratio": {"ratio": 40.0, "ratio_1": 50.0, "density_1": 128.0, "ratio_2": 30.0, "density_2": 208.0},
    "index": {"a_mass": 50.0, "nco": 27.0, "b_mass": 100.0, "oh_number": 35.0, "water": 0.6},
    "water": {"water": 1.0},
    "charge": {"cavity_volume": 1900.0, "free_rise_density": 160.0, "packing": 1.3},
    "packing": {"cavity_volume": 1900.0, "free_rise_density": 160.0, "part_mass": 395.0},
    "overpack": {"charge_mass": 300.0, "least_charge": 264.0},
    "free-rise": {"foam_mass": 80.0, "cup_volume": 500.0},
    "clock": {"material_temperature": 18.0, "cream_time": 45.0, "sheet_demold_time": 45.0},
    "window": {"room_temperature": 20.0, "opens": 30.0, "closes": 180.0},
    "vent": {"cavity_volume": 1500.0, "fill_time": 60.0, "bore": 1.5},
    "back-pressure": {"flow": 5.0, "bore": 20.0, "length": 30.0},
    "pocket": {"pressure": 10.0},
    "travel": {"gap": 6.0},
    "warm-mold": {"wall_thickness": 15.0, "mold_temperature": 15.0, "around": 45.0, "target": 28.0},
    "bench-cooling": {"minutes": 10.0, "mold_temperature": 35.0, "room_temperature": 18.0, "wall_thickness": 15.0},
    "contact": {"material_temperature": 25.0, "mold_temperature": 10.0},
    "core": {
        "material_temperature": 25.0,
        "ratio_target": 50.0,
        "oh_number": 35.0,
        "water": 1.0,
        "thickness": 120.0,
        "time": 60.0,
        "foam_density": 200.0,
    },
    "dew-point": {"room_temperature": 25.0, "relative_humidity": 60.0, "mold_temperature": 15.0},
    "water-film": {"film": 10.0, "mold_area": 1000.0},
    "skin-grams": {"mold_area": 1450.0, "skin_thickness": 1.5},
    "skin-thickness": {"skin_mass": 228.0, "mold_area": 1450.0},
    "drain": {"height": 200.0, "time": 5.0},
    "cross-cut": {"lost": 12.0},
    "paint-wait": {"part_temperature": 15.0},
    "paint-conditions": {"paint_temperature": 18.0, "paint_humidity": 85.0, "surface_temperature": 17.0},
    "recoat": {"paint_temperature": 18.0, "opens": 30.0, "closes": 240.0},
    "purge": {"air_changes": 6.0},
    "dilution": {"rate": 1.0, "concentration": 0.05},
    "limits": {"substance": "MDI"},
}


def sum_page(knowledge: Knowledge, item: Sum) -> Page:
    """Return the page of a sum; its facts are linked where an input is one."""
    given = EXAMPLES.get(item.name)
    result = None if given is None else item.run(given)
    facts = tuple(
        Item(Ref("fact", each.name, knowledge.facts[each.name].short))
        for each in item.inputs
        if each.name in knowledge.facts
    )
    sections = [
        section("What it takes", table=_inputs(item)),
        section("What it takes for granted", item.assumes),
        section("To type", [_command(item, given or {})], key="typed"),
        section("A worked example", *_worked(result)),
        section("How to find out what it takes", groups=[Group(facts)]),
        section("Sources", [item.source], key="sources"),
    ]
    return page(Ref("sum", item.name, item.title), "Sum", _lead(result), sections)


def _lead(result: Result | None) -> str:
    return "" if result is None else f"For example: {result.text}."


def _inputs(item: Sum) -> Table:
    return Table(
        ("Option", "What it is", "Unit", "If left out"),
        tuple((_option(each), each.title, _unit(each), _default(each)) for each in item.inputs),
    )


def _option(each: Input) -> str:
    return f"--{each.name.replace('_', '-')}"


def _unit(each: Input) -> str:
    if each.choices:
        return ", ".join(each.choices)
    return label(each.unit).strip() if each.unit not in ("", "1", "count") else "a number"


def _default(each: Input) -> str:
    if each.default is None:
        return "must be given" if each.required else "left out"
    return number(each.default) if isinstance(each.default, float) else str(each.default)


def _command(item: Sum, given: Mapping[str, float | str]) -> str:
    options = [
        f"{_option(each)} {number(value) if isinstance(value, float) else value}"
        for each in item.inputs
        if (value := given.get(each.name)) is not None
    ]
    return " ".join(["diagnose sum", item.name, *options])


def _worked(result: Result | None) -> tuple[tuple[str, ...], tuple[Group, ...]]:
    if result is None:
        return (), ()
    return (result.text + ".",), (Group(tuple(Item(text=line) for line in result.lines)),)
