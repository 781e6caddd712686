"""From the files to the knowledge, with every fault of all of them shown at once.

The tables of words come first, then the sections in the order of `schema.SECTIONS`; then what entries say of one
another, and last what they say together (a cause without a remedy, a symptom that nothing causes), on the graph in
`graph.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, NamedTuple

from msgspec.structs import replace

from diagnose.errors import Fault, FileFaults, shown
from diagnose.knowledge.callers import Callers, Dialect
from diagnose.knowledge.compile import check_across, practice_of
from diagnose.knowledge.files import MAX_FILE, SourceFile
from diagnose.knowledge.graph import graph_faults
from diagnose.knowledge.kinds import ID_PATTERN, Context, Kind, Number, Place
from diagnose.knowledge.model import Knowledge
from diagnose.knowledge.records import MapOf
from diagnose.knowledge.schema import DIALECT, GROUP, PHRASES, RESERVED, SECTIONS, SHOP_PRACTICE, WORD_TABLE
from diagnose.knowledge.yaml_reader import Mapping, decode, read_node

#: word tables that the program itself asks for, with the words it needs
_NEEDED_WORDS = {
    "likelihood": (),
    "ratio": (),
    "share": (),
    "background": (),
    "answerable": (),
    "trust": ("measured", "seen", "told", "remembered"),
    "misreport": ("measured", "seen", "told", "remembered"),
    "limits": ("base total", "ratio cap", "not listed base", "not listed link", "not listed shows"),
    "costs": (
        "hour at work",
        "hour of waiting",
        "none",
        "little",
        "a pour",
        "a mold",
        "another bad part",
        "a question",
        "a bit",
        "hours in a bare part",
        "hours in a skinned part",
        "hours in the paint",
    ),
}
#: tables, and words of the limits, whose numbers are chances
_CHANCES = ("likelihood", "background", "not listed base", "not listed link", "not listed shows")
_OF_THE_SHOP = ("materials", "practice", "sources", "words")


class _File(NamedTuple):
    """A file with its keys."""

    place: Place
    node: Mapping
    shop: bool


def compile_files(files: Iterable[SourceFile]) -> tuple[Knowledge, Callers]:
    """Read and check *files*; return the knowledge, without its keys, and what callers say. Raises FileFaults."""
    files = list(files)
    context = Context()
    read = list(_nodes(files, context))
    whole = len(read) == len(files)
    if not _read_words(read, whole, context):
        raise FileFaults(context.faults)  # nothing else can be read without the words
    callers = _read_sections(read, context)
    if whole:  # what one file names may stand in the one that can't be read
        _check_references(context)
        check_across(context)
        knowledge = _knowledge(context)
        if all(context.names[section].keys() == entries.keys() for section, entries in context.entries.items()):
            context.faults.extend(graph_faults(knowledge, callers, context))
    if context.faults or not whole:
        raise FileFaults(context.faults)
    return knowledge, callers


def _nodes(files: list[SourceFile], context: Context) -> Iterable[_File]:
    for file in files:
        text, fault = decode(file.data, file.label, MAX_FILE)
        if text is None:
            context.faults.extend([fault] if fault else [])
            continue
        node, faults = read_node(text, file.label)
        context.faults.extend(faults)
        if isinstance(node, Mapping):
            yield _File(Place(file.label, ""), node, file.shop)
        elif node is not None:
            context.faults.append(Fault(file.label, node.line, "expected sections with their entries"))


def _sections(files: Iterable[_File], section: str, context: Context) -> Iterable[tuple[_File, Place, Mapping]]:
    """Yield the part of each file that is called *section*."""
    for file in files:
        node = file.node.items.get(section)
        if isinstance(node, Mapping):
            yield file, file.place.key(section, file.node), node
        elif node is not None:
            context.fault(file.place.key(section, file.node), "expected entries by id")


# -- words -------------------------------------------------------------------------------------------------------------


def _read_words(files: list[_File], whole: bool, context: Context) -> bool:
    """Read the tables of words, with which everything else is read; return whether they are all there."""
    before = len(context.faults)
    for file, place, node in _sections(files, "words", context):
        for table in node.items:
            below = place.key(table, node)
            if file.shop:
                _read_shop_costs(table, node.items[table], below, context)
            elif context.one_of(table, _NEEDED_WORDS, below, f"a table, one of {', '.join(_NEEDED_WORDS)}"):
                _read_table(table, node.items[table], below, context)
    if whole:  # the tables may stand in a file that can't be read
        first = files[0].place.file if files else "knowledge"
        for table in (
            table for table in _NEEDED_WORDS if table not in context.words and f"words.{table}" not in context.places
        ):
            context.faults.append(Fault(first, 0, f"words.{table}: the table is missing from all files"))
    return len(context.faults) == before and all(table in context.words for table in _NEEDED_WORDS)


def _read_shop_costs(table: str, node: Any, place: Place, context: Context) -> None:
    """A shop's own file may set its own costs, word by word; all other words are the trade's."""
    values = node.items.get("values") if isinstance(node, Mapping) else None
    if table != "costs" or values is None:
        wanted = (
            "expected values: with words and numbers" if table == "costs" else "a shop's own file sets words.costs only"
        )
        context.fault(place, wanted)
        return
    found = MapOf(Number(0, 1_000_000)).read(values, place._replace(path=f"{place.path}.values"), context) or {}
    for word, value in found.items():
        at = context.place(f"{place.path}.values.{shown(word)}")
        if context.one_of(word, _NEEDED_WORDS["costs"], at, "a cost") and "costs" in context.words:
            context.words["costs"][word] = value  # where the trade has no costs, that is told


def _read_table(table: str, node: Any, place: Place, context: Context) -> None:
    if place.path in context.places:
        first = context.places[place.path]
        context.fault(place, f"stands twice, first in {first.file}:{first.line}")
        return
    context.places[place.path] = place
    found = WORD_TABLE.read(node, place, context)
    if found is None:
        return
    context.words[table] = dict(found.values)
    for word in _NEEDED_WORDS[table]:
        if word not in found.values:
            context.fault(place, f"'{word}' is missing")
    for word, value in found.values.items():
        wrong = _unlikely(table, word, value)
        if wrong:
            context.fault(context.place(f"{place.path}.values.{shown(word)}"), f"{value:g}, expected {wrong}")


def _unlikely(table: str, word: str, value: float) -> str:
    """Return what was expected of a number that can't be: nothing may be certain, or no answer could ever move it."""
    if table in _CHANCES or word in _CHANCES:
        return "" if 0.0 < value < 1.0 else "a chance above 0 and below 1"
    if table in ("trust", "answerable", "misreport") and value > 1.0:
        return "a share from 0 to 1"
    if (table in ("ratio", "share") or word == "base total") and value <= 0.0:
        return "more than 0"
    return "1 or more" if word == "ratio cap" and value < 1.0 else ""


# -- sections ----------------------------------------------------------------------------------------------------------


def _read_sections(files: list[_File], context: Context) -> Callers:
    """Read all entries into the context, and return what callers say."""
    known = [*SECTIONS, "groups", "callers", "dialect", "words"]
    for file in files:
        for section in file.node.items:
            place = file.place.key(section, file.node)
            if section not in known:
                context.fault(place, f"unknown section{context.nearest(section, known)}")
            elif file.shop and section not in _OF_THE_SHOP:
                context.fault(place, "a shop's own file holds materials, practice, sources and words.costs only")
    owners: dict[str, tuple[str, Place]] = {}
    for section in ("groups", *SECTIONS):
        context.entries[section], context.names[section] = {}, {}
        for file, place, node in _sections(files, section, context):
            if file.shop and section == "practice":
                _read_shop_practice(node, place, context)
            elif not file.shop or section in _OF_THE_SHOP:
                kind = GROUP if section == "groups" else SECTIONS[section]
                _read_entries(section, kind, node, place, owners, context)
        if section == "derived":
            context.entries["facts"].update(context.entries["derived"])
            context.names["facts"].update(context.names["derived"])
    del context.entries["derived"], context.names["derived"]
    return _read_callers(files, context)


def _read_entries(
    section: str, kind: Kind, node: Mapping, place: Place, owners: dict[str, tuple[str, Place]], context: Context
) -> None:
    for name, child in node.items.items():
        below = place.key(name, node)
        if not re.fullmatch(ID_PATTERN, name):
            context.fault(below, "expected an id of small letters, digits and underscores")
        if name in RESERVED:
            context.fault(below, "the id is taken by the program")
        taken = f"practice {name}" if section == "practice" else name  # nothing names a practice number by its id alone
        if taken in owners:
            kind_of, first = owners[taken]
            context.fault(below, f"the id is taken by {kind_of} in {first.file}:{first.line}")
            continue
        owners[taken] = (section, below)
        context.names[section][name] = context.places[below.path] = below
        context.unit = "1"
        before = len(context.faults)
        value = kind.read(child, below, context)
        if value is not None and len(context.faults) == before:
            context.entries[section][name] = value if section == "groups" else _with_id(section, name, value)


def _with_id(section: str, name: str, value: Any) -> Any:
    return practice_of(name, value) if section == "practice" else replace(value, id=name)


def _read_shop_practice(node: Mapping, place: Place, context: Context) -> None:
    """A shop's own file may set the numbers of the trade's practice anew; what they are stays."""
    trade = context.entries["practice"]
    for name, child in node.items.items():
        below = place.key(name, node)
        if name not in trade:
            context.fault(below, f"no such practice number{context.nearest(name, trade)}")
            continue
        context.unit = trade[name].unit
        before = len(context.faults)
        value = SHOP_PRACTICE.read(child, below, context)
        if value is not None and len(context.faults) == before:
            ours = replace(value, about=trade[name].about, unit=trade[name].unit, source="the shop's own")
            trade[name] = practice_of(name, ours)


def _read_callers(files: list[_File], context: Context) -> Callers:
    phrases: dict[str, Any] = {}
    dialect: Dialect | None = None
    for file, place, node in _sections(files, "callers", context):
        found = {} if file.shop else PHRASES.read(node, place, context) or {}
        for name in found.keys() & phrases.keys():
            context.fault(place.key(name, node), "stands twice")
        phrases.update(found)
    for file, place, node in _sections(files, "dialect", context):
        if dialect is not None:
            context.fault(place, "stands twice")
        elif not file.shop:
            dialect = DIALECT.read(node, place, context)
    return Callers(phrases, dialect or Dialect())


# -- together ----------------------------------------------------------------------------------------------------------


def _check_references(context: Context) -> None:
    for reference in context.references:
        known: dict[str, Any] = {}
        for section in reference.sections:
            known.update({"seen": None} if section == "seen" else context.names[section])
        if reference.name not in known:
            kinds = " or ".join(_singular(section) for section in reference.sections if section != "seen")
            message = f"no {kinds} '{shown(reference.name)}'{context.nearest(reference.name, known)}"
            context.fault(reference.place, message)


def _singular(section: str) -> str:
    return "remedy" if section == "remedies" else section.removesuffix("s")


def _knowledge(context: Context) -> Knowledge:
    tables: dict[str, Any] = {section: entries for section, entries in context.entries.items() if section != "groups"}
    return Knowledge(**tables, words=context.words, warnings=tuple(context.warnings))
