"""Writing a case as the YAML of a case file, as a caster would write it; it reads back as the same answers."""

from __future__ import annotations

import re
from typing import Any

from diagnose.casebook.case import UNKNOWN, Case, Told
from diagnose.casebook.case_reading import LISTS, Bare
from diagnose.knowledge import AnyQuestion, Knowledge
from diagnose.units import parse_quantity

#: ends of a line beside the usual ones: between single quotes they would be read as a blank
_BREAKS = re.compile("[\x85\u2028\u2029]")
_UNQUOTED = re.compile(r"yes|no|-?[0-9]+(\.[0-9]+)?")


class _Lines(dict[str, Any]):
    """Keys and values that are written a line each."""


def case_text(case: Case, knowledge: Knowledge) -> str:
    """Return the case as the YAML of a case file that reads back as the same answers."""
    data: dict[str, Any] = {"case": 1}
    if case.title:
        data["title"] = case.title
    data["answers"] = _Lines(_answers_plain(case, knowledge))
    about = case.about.told()
    if about:
        data["about"] = _Lines(about)
    data.update(case.extra)
    return _dumped(data)


def _dumped(data: dict[str, Any]) -> str:
    import yaml

    class Writer(yaml.SafeDumper):
        def ignore_aliases(self, data: Any) -> bool:
            return True  # an alias would be refused when the file is read

    def bare(writer: yaml.SafeDumper, text: Bare) -> yaml.ScalarNode:
        if _BREAKS.search(text):
            return escaped(writer, str(text))
        tag = writer.resolve(yaml.ScalarNode, str(text), (True, False))  # type: ignore[no-untyped-call]
        return yaml.ScalarNode(tag, str(text))

    def lines(writer: yaml.SafeDumper, items: _Lines) -> yaml.MappingNode:
        return writer.represent_mapping("tag:yaml.org,2002:map", items.items(), flow_style=False)

    def escaped(writer: yaml.SafeDumper, text: str) -> yaml.ScalarNode:
        style = '"' if _BREAKS.search(text) else None
        return writer.represent_scalar("tag:yaml.org,2002:str", text, style)

    Writer.add_representer(str, escaped)
    Writer.add_representer(Bare, bare)
    Writer.add_representer(_Lines, lines)
    return str(yaml.dump(data, Dumper=Writer, sort_keys=False, allow_unicode=True, default_flow_style=None, width=100))


def _answers_plain(case: Case, knowledge: Knowledge) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, told in case.answers.items():
        answer = told.answer
        if name not in knowledge.symptoms:
            found[name] = _answer_plain(told, knowledge.question(name))
        elif answer.source == "seen" or not answer.known:
            key = next(key for key, value in LISTS.items() if value == (answer.value or UNKNOWN))
            found.setdefault(key, []).append(name)
        else:
            found[name] = {"value": answer.value, "source": answer.source}
    return found


def _answer_plain(told: Told, entry: AnyQuestion) -> Any:
    answer = told.answer
    if not answer.known:
        return UNKNOWN
    value: Any = list(answer.value) if isinstance(answer.value, tuple) else answer.value
    default = "seen"
    if isinstance(answer.value, float):
        unit = "" if entry.unit in ("1", "count") else f" {entry.unit}"
        value = told.written or f"{answer.value!r}{unit}"
        default = "measured" if parse_quantity(value, entry.unit).has_unit else "seen"
    if isinstance(value, str) and _UNQUOTED.fullmatch(value):
        value = Bare(value)  # as a caster would write it: `painted: no`, `ratio_target: 50`
    return value if answer.source == default else {"value": value, "source": answer.source}
