"""From a folder of YAML to one compiled, checked set of plain data.

Three passes, and every fault of all of them is shown at once: read the nodes by the definitions of `sections.py`;
check that every id named exists; turn words into numbers and quantities into the unit stored. What the pieces say
together (a cause without a remedy, a symptom that nothing causes) is checked on the graph in `graph.py`.
"""

from __future__ import annotations

import re
from typing import Any

from diagnose.errors import Fault, FileFaults, shown
from diagnose.knowledge.compile import Compiler
from diagnose.knowledge.kinds import MapOf, Number, Reading, Reference
from diagnose.knowledge.schema import ID_PATTERN, RESERVED, SECTIONS, SHOP_PRACTICE, WORD_TABLE
from diagnose.knowledge.store import MAX_FILE, SHOP_FILE
from diagnose.knowledge.yaml_reader import Mapping, Node, decode, read_node

#: the kinds that a reference may name, by section
_KIND_OF = {
    "symptoms": "symptom",
    "facts": "fact",
    "derived": "fact",
    "checks": "check",
    "causes": "cause",
    "remedies": "remedy",
    "dangers": "danger",
    "sources": "source",
    "materials": "material",
    "practice": "practice",
}
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
    ),
}
#: tables, and words of the limits, whose numbers are chances
_CHANCES = ("likelihood", "background", "not listed base", "not listed link", "not listed shows")


def compile_files(files: list[tuple[str, bytes]], label: str = "") -> dict[str, Any]:
    """Read and check *files* and return the plain data that `Knowledge.from_plain` takes.

    *label* goes before the file names in messages. Raises FileFaults with every fault found.
    """
    reading = Reading({})
    nodes, whole = _nodes(files, label, reading)
    if not _read_words(nodes, whole, reading):
        raise FileFaults(reading.faults)  # nothing else can be read without the words
    found, sound = _read_sections(nodes, reading)
    if not whole:
        raise FileFaults(reading.faults)  # what one file names may stand in the one that can't be read
    _check_references(found, reading)
    plain = Compiler(sound, reading).compile()
    if sum(map(len, sound.values())) == sum(map(len, found.values())):
        from diagnose.knowledge.graph import graph_faults

        reading.faults.extend(graph_faults(plain, reading.lines))
    if reading.faults:
        raise FileFaults(reading.faults)
    return plain


def _nodes(files: list[tuple[str, bytes]], label: str, reading: Reading) -> tuple[list[tuple[str, Mapping]], bool]:
    """Return each file with its keys, and whether all of them could be read."""
    nodes: list[tuple[str, Mapping]] = []
    for name, data in files:
        if name.startswith(SHOP_FILE):
            file = reading.shop = name.removeprefix(SHOP_FILE)
        else:
            file = f"{label}/{name}" if label else name
        text, fault = decode(data, file, MAX_FILE)
        if text is None:
            reading.faults.extend([fault] if fault else [])
            continue
        node, faults = read_node(text, file)
        reading.faults.extend(faults)
        if isinstance(node, Mapping):
            nodes.append((file, node))
        elif node is not None:
            reading.faults.append(Fault(file, node.line, "expected sections with their entries"))
    return nodes, len(nodes) == len(files)


def _read_words(nodes: list[tuple[str, Mapping]], whole: bool, reading: Reading) -> bool:
    """Read the tables of words, with which everything else is read; return whether they are all there."""
    before = len(reading.faults)
    for file, node in nodes:
        reading.file = file
        section = node.items.get("words")
        if section is None:
            continue
        if not isinstance(section, Mapping):
            reading.fault(section, "words", "expected tables of words")
            continue
        for table, child in section.items.items():
            read = _read_shop_costs if file == reading.shop else _read_table
            read(table, child, section.key_lines[table], reading)
    if whole:  # the tables may stand in a file that can't be read
        for table in _NEEDED_WORDS:
            if table not in reading.lines_of_words:
                reading.faults.append(
                    Fault(
                        nodes[0][0] if nodes else "knowledge", 0, f"words.{table}: the table is missing from all files"
                    )
                )
    return len(reading.faults) == before and all(table in reading.words for table in _NEEDED_WORDS)


def _read_shop_costs(table: str, node: Node, line: int, reading: Reading) -> None:
    """A shop's own file may set its own costs, word by word; all other words are the trade's."""
    path = f"words.{shown(table)}"
    if table != "costs":
        reading.fault(line, path, "a shop's own file sets words.costs only")
        return
    found = (
        MapOf(Number(0, 1_000_000)).read(node.items["values"], reading, f"{path}.values")
        if isinstance(node, Mapping) and "values" in node.items
        else None
    )
    if found is None:
        reading.fault(line, path, "expected values: with words and numbers")
        return
    for word, value in found.items():
        if word not in _NEEDED_WORDS["costs"]:
            reading.fault(
                line,
                f"{path}.values.{shown(word)}",
                f"unknown cost{reading.nearest(word, list(_NEEDED_WORDS['costs']))}",
            )
        else:
            reading.words.setdefault("costs", {})[word] = value


def _read_table(table: str, node: Node, line: int, reading: Reading) -> None:
    path = f"words.{shown(table)}"
    if table not in _NEEDED_WORDS:
        reading.fault(
            line,
            path,
            f"unknown table{reading.nearest(table, list(_NEEDED_WORDS))}, expected one of {', '.join(_NEEDED_WORDS)}",
        )
        return
    if table in reading.lines_of_words:
        file, first = reading.lines_of_words[table]
        reading.fault(line, path, f"stands twice, first in {file}:{first}")
        return
    reading.lines_of_words[table] = reading.places[path] = (reading.file, line)
    found = WORD_TABLE.read(node, reading, path)
    if not found or "values" not in found:
        return
    reading.words[table] = found["values"]
    for word in _NEEDED_WORDS[table]:
        if word not in found["values"]:
            reading.fault(line, path, f"'{word}' is missing")
    for word, value in found["values"].items():
        _check_word(table, word, value, reading)


def _check_word(table: str, word: str, value: float, reading: Reading) -> None:
    """A chance is between 0 and 1, a ratio or a share is above 0: nothing may be certain, or no answer could ever move it."""
    path = f"words.{table}.values.{shown(word)}"
    line = reading.place(path)[1]
    if (table in _CHANCES or word in _CHANCES) and not 0.0 < value < 1.0:
        reading.fault(line, path, f"{value:g}, expected a chance above 0 and below 1")
    elif table in ("trust", "answerable", "misreport") and value > 1.0:
        reading.fault(line, path, f"{value:g}, expected a share from 0 to 1")
    elif (table in ("ratio", "share") or word == "base total") and value <= 0.0:
        reading.fault(line, path, f"{value:g}, expected more than 0")
    elif word == "ratio cap" and value < 1.0:
        reading.fault(line, path, f"{value:g}, expected 1 or more")


def _read_sections(
    nodes: list[tuple[str, Mapping]], reading: Reading
) -> tuple[dict[str, dict[str, Any]], dict[str, dict[str, Any]]]:
    """Return all entries by section, and those of them that have all that they must have."""
    found: dict[str, dict[str, Any]] = {section: {} for section in SECTIONS}
    sound: dict[str, dict[str, Any]] = {section: {} for section in SECTIONS}
    owner: dict[str, tuple[str, str, int]] = {}
    for file, node in nodes:
        reading.file = file
        for section, child in node.items.items():
            if section == "words":
                continue
            if section not in SECTIONS:
                reading.fault(
                    node.key_lines[section],
                    shown(section),
                    f"unknown section{reading.nearest(section, list(SECTIONS))}",
                )
            elif file == reading.shop and section not in ("materials", "sources", "practice"):
                reading.fault(
                    node.key_lines[section],
                    section,
                    "a shop's own file holds materials, practice, sources and words.costs only",
                )
            elif not isinstance(child, Mapping):
                reading.fault(child, section, "expected entries by id")
            elif file == reading.shop and section == "practice":
                _read_shop_practice(child, sound["practice"], reading)
            else:
                _read_entries(section, child, (found, sound), owner, reading)
    return found, sound


def _read_entries(
    section: str,
    node: Mapping,
    into: tuple[dict[str, dict[str, Any]], dict[str, dict[str, Any]]],
    owner: dict[str, tuple[str, str, int]],
    reading: Reading,
) -> None:
    found, sound = into
    for name, child in node.items.items():
        line = node.key_lines[name]
        path = f"{section}.{shown(name)}"
        if not re.fullmatch(ID_PATTERN, name):
            reading.fault(line, path, "expected an id of small letters, digits and underscores")
        if name in RESERVED:
            reading.fault(line, path, "the id is taken by the program")
        taken = f"practice {name}" if section == "practice" else name  # nothing names a practice number by its id alone
        if taken in owner:
            kind, file, first = owner[taken]
            reading.fault(line, path, f"the id is taken by {kind} in {file}:{first}")
            continue
        owner[taken] = (section, reading.file, line)
        reading.lines[(section, name)] = reading.places[path] = (reading.file, line)
        reading.incomplete = False
        value = SECTIONS[section].read(child, reading, path)
        found[section][name] = value or {}
        if value is not None and not reading.incomplete:
            sound[section][name] = value


def _read_shop_practice(node: Mapping, trade: dict[str, Any], reading: Reading) -> None:
    """A shop's own file may set the numbers of the trade's practice anew; what they are stays."""
    for name, child in node.items.items():
        line = node.key_lines[name]
        path = f"practice.{shown(name)}"
        if name not in trade:
            reading.fault(line, path, f"no such practice number{reading.nearest(name, trade)}")
            continue
        reading.lines[("practice", name)] = reading.places[path] = (reading.file, line)
        reading.incomplete = False
        value = SHOP_PRACTICE.read(child, reading, path)
        if value is not None and not reading.incomplete:
            kept = {key: trade[name][key] for key in ("about", "unit", "bounds") if key in trade[name]}
            trade[name] = {**kept, "source": "the shop's own", **value}


def _check_references(found: dict[str, dict[str, Any]], reading: Reading) -> None:
    known: dict[str, dict[str, None]] = {kind: {} for kind in _KIND_OF.values()}
    for section, entries in found.items():
        known[_KIND_OF[section]].update(dict.fromkeys(entries))
    known["seen"] = {"seen": None}
    for reference in reading.references:
        fault = _dangling(reference, known, reading)
        if fault is not None:
            reading.faults.append(fault)


def _dangling(reference: Reference, known: dict[str, dict[str, None]], reading: Reading) -> Fault | None:
    names: dict[str, None] = {}
    for kind in reference.kinds:
        names.update(known[kind])
    if reference.name in names:
        return None
    kinds = " or ".join(kind for kind in reference.kinds if kind != "seen")
    return Fault(
        reference.file,
        reference.line,
        f"{reference.path}: no {kinds} '{shown(reference.name)}'{reading.nearest(reference.name, names)}",
    )
