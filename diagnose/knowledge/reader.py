"""From a folder of YAML to one compiled, checked set of plain data.

Three passes, and every fault of all of them is shown at once: read the nodes by the definitions of `sections.py`;
check that every id named exists; turn words into numbers and quantities into the unit stored. What the pieces say
together (a cause without a remedy, a symptom that nothing causes) is checked on the graph in `graph.py`.
"""

from __future__ import annotations

from typing import Any

from diagnose.errors import Fault, FileFaults
from diagnose.knowledge.compile import Compiler
from diagnose.knowledge.definitions import Reading, Reference, nearest
from diagnose.knowledge.store import MAX_FILE
from diagnose.knowledge.sections import SECTIONS, WORD_TABLE
from diagnose.knowledge.yaml_reader import Mapping, decode, read_node

#: the kinds that a reference may name, by section
_KIND_OF = {"symptoms": "symptom", "facts": "fact", "derived": "fact", "checks": "check", "causes": "cause",
            "remedies": "remedy", "sources": "source", "materials": "material"}
#: word tables that the program itself asks for, with the words it needs
_NEEDED_WORDS = {
    "likelihood": (), "ratio": (), "share": (), "background": (), "answerable": (),
    "trust": ("measured", "seen", "told", "remembered"), "misreport": ("measured", "seen", "told", "remembered"),
    "limits": ("base total", "ratio cap", "not listed base", "not listed link", "not listed shows"),
    "costs": ("hour at work", "hour of waiting", "none", "little", "a pour", "a mold", "another bad part", "a question", "a bit"),
}


def compile_files(files: list[tuple[str, bytes]], label: str = "") -> dict[str, Any]:
    """Read and check *files* and return the plain data that `Knowledge.from_plain` takes.

    *label* goes before the file names in messages. Raises FileFaults with every fault found.
    """
    reading = Reading({})
    nodes = _nodes(files, label, reading)
    _read_words(nodes, reading)
    if reading.faults:
        raise FileFaults(reading.faults)
    found = _read_sections(nodes, reading)
    _check_references(found, reading)
    compiler = Compiler(found, reading)
    plain = compiler.compile()
    if not reading.faults:
        from diagnose.knowledge.graph import graph_faults

        reading.faults.extend(graph_faults(plain, reading.lines))
    if reading.faults:
        raise FileFaults(reading.faults)
    return plain


def _nodes(files: list[tuple[str, bytes]], label: str, reading: Reading) -> list[tuple[str, Mapping]]:
    nodes: list[tuple[str, Mapping]] = []
    for name, data in files:
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
    return nodes


def _read_words(nodes: list[tuple[str, Mapping]], reading: Reading) -> None:
    """The tables of words come first: everything else is read with them."""
    for file, node in nodes:
        reading.file = file
        section = node.items.get("words")
        if section is None:
            continue
        if not isinstance(section, Mapping):
            reading.fault(section, "words", "expected tables of words")
            continue
        for table, child in section.items.items():
            found = WORD_TABLE.read(child, reading, f"words.{table}")
            if found and "values" in found:
                reading.words[table] = found["values"]
    for table, needed in _NEEDED_WORDS.items():
        have = reading.words.get(table)
        if have is None:
            reading.faults.append(Fault(nodes[0][0] if nodes else "knowledge", 0, f"words.{table}: the table is missing from all files"))
        for word in needed:
            if have is not None and word not in have:
                reading.faults.append(Fault("words", 0, f"words.{table}: '{word}' is missing"))


def _read_sections(nodes: list[tuple[str, Mapping]], reading: Reading) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {section: {} for section in SECTIONS}
    owner: dict[str, tuple[str, str, int]] = {}
    for file, node in nodes:
        reading.file = file
        for section, child in node.items.items():
            if section == "words":
                continue
            if section not in SECTIONS:
                reading.fault(node.key_lines[section], section, f"unknown section{nearest(section, list(SECTIONS))}")
            elif not isinstance(child, Mapping):
                reading.fault(child, section, "expected entries by id")
            else:
                _read_entries(section, child, found, owner, reading)
    return found


def _read_entries(section: str, node: Mapping, found: dict[str, dict[str, Any]], owner: dict[str, tuple[str, str, int]], reading: Reading) -> None:
    for name, child in node.items.items():
        line = node.key_lines[name]
        if not name.replace("_", "").isalnum() or not name.isascii() or not name.islower() or not name[0].isalpha():
            reading.fault(line, f"{section}.{name}", "expected an id of small letters, digits and underscores")
        if name in owner and section != "sources":
            kind, file, first = owner[name]
            reading.fault(line, f"{section}.{name}", f"the id is taken by {kind} in {file}:{first}")
            continue
        owner[name] = (section, reading.file, line)
        reading.lines[(section, name)] = (reading.file, line)
        value = SECTIONS[section].read(child, reading, f"{section}.{name}")
        if value is not None:
            found[section][name] = value


def _check_references(found: dict[str, dict[str, Any]], reading: Reading) -> None:
    known: dict[str, dict[str, None]] = {kind: {} for kind in _KIND_OF.values()}
    for section, entries in found.items():
        known[_KIND_OF[section]].update(dict.fromkeys(entries))
    known["seen"] = {"seen": None}
    for reference in reading.references:
        fault = _dangling(reference, known)
        if fault is not None:
            reading.faults.append(fault)


def _dangling(reference: Reference, known: dict[str, dict[str, None]]) -> Fault | None:
    names: dict[str, None] = {}
    for kind in reference.kinds:
        names.update(known[kind])
    if reference.name in names:
        return None
    kinds = " or ".join(kind for kind in reference.kinds if kind != "seen")
    return Fault(reference.file, reference.line, f"{reference.path}: no {kinds} '{reference.name}'{nearest(reference.name, names)}")
