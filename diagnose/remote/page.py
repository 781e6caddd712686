"""The client's page: one HTML file that asks, warns and hands back a file, without a network.

Everything that it asks is data from the knowledge: the faults with their families and callers' words, the questions
with how to look, their order by what they tell (`order.py`), the dangers with the rule that finds them, the units.
The script knows no question of its own. The page names its one script and one style by hash in its content security
policy, and allows itself nothing else: no request can leave.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from importlib import resources
from typing import Any

from msgspec import Struct, field

from diagnose.casebook.sheet import next_pour_sheet
from diagnose.knowledge import Check, Danger, Fact, Knowledge, Symptom
from diagnose.prose.question import family_rank, family_title
from diagnose.reasoning.answers import ABSENT, SEEN, Answers
from diagnose.remote.drawings import drawing_of
from diagnose.remote.order import BUILDS, Order
from diagnose.units import unit_of

#: asked before everything else, because most other questions hang on them
FIRST_ASKED = ("build", "painted")
#: units offered on the page, by dimension: name, label, and the system whose default it is
_UNITS: dict[str, tuple[tuple[str, str, str], ...]] = {
    "temperature": (("degC", "°C", "metric"), ("degF", "°F", "us")),
    "mass": (("g", "g", "metric"), ("kg", "kg", ""), ("oz", "oz", "us"), ("lb", "lb", "")),
    "volume": (("mL", "mL", "metric"), ("L", "liters", ""), ("in3", "cubic inches", "us"), ("us qt", "US quarts", "")),
    "density": (("kg/m^3", "g per liter", "metric"), ("lb/ft^3", "lb per cubic foot", "us")),
    "length": (("mm", "mm", "metric"), ("cm", "cm", ""), ("in", "inches", "us")),
    "area": (("cm^2", "cm²", "metric"), ("in^2", "square inches", "us")),
    "time": (("s", "seconds", ""), ("min", "minutes", ""), ("h", "hours", ""), ("day", "days", ""),
             ("week", "weeks", ""), ("month", "months", "")),
    "percent": (("percent", "%", "metric"),),
    "ratio": (("parts_a_per_100_b", "A to 100 of B", "metric"),),
}  # fmt: skip
_EXAMPLES = {"ratio": "50 or 1:2", "percent": "45", "temperature": "21", "length": "0.5 or 1/2"}
#: words that say nothing of a fault, left out when a client's own words are matched
_IDLE = (
    "the and its it is are was were has have had got came come comes with when where that this they them there on in "
    "of at to "
    "an my we you he she but so for out up all just like some bit very really not no don does did been be as from if or"
)


class Errand(Struct, frozen=True):
    """What a page is for: *client*, the case *id* it goes on with (empty: a new one), *round* and, from the second
    on, what to *ask*, the answers of *before* as they stand in a case file, the same in words (*first*), and the
    dangers that stand already, the *numbers* that the sheet for the next pour still wants, and the *system* of units
    that the client writes in (`metric` or `us`).
    """

    client: str
    id: str = ""
    round: int = 1
    ask: tuple[str, ...] = ()
    before: Mapping[str, Any] = field(default_factory=dict)
    first: tuple[tuple[str, str], ...] = ()
    standing: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    system: str = "metric"
    title: str = field(default="Part report")

    @property
    def file_name(self) -> str:
        """The name under which the page saves its file: letters, digits and dashes only."""
        safe = "".join(c if c.isascii() and c.isalnum() else "-" for c in self.client).strip("-").lower() or "client"
        return "-".join(["part", safe, *([self.id.lower()] if self.id else []), str(self.round)]) + ".json"


def page_text(knowledge: Knowledge, errand: Errand, order: Order) -> str:
    """Return the page as HTML text. *order* ranks the questions of a first round (`order.kept_order`)."""
    style, script = _shipped("page.css"), _shipped("page.js")
    data = page_data(knowledge, errand, order)
    names = sorted({*data["symptoms"], *data["questions"]})
    from markupsafe import Markup

    page = environment().from_string(_shipped("page.html.j2"))
    made = page.render(
        title=errand.title,
        policy=Markup(policy(style, script)),
        style=Markup(style),
        script=Markup(script),
        data=data,
        round=errand.round,
        id=errand.id,
        ask=errand.ask,
        first=errand.first,
        unwell=next(danger for danger in knowledge.dangers.values() if danger.ask),
        lumps=_lump_words(knowledge) if errand.round == 1 else None,
        drawings=[(name, Markup(drawn.svg())) for name in names if (drawn := drawing_of(name)) is not None],
        file_name=errand.file_name,
        caution="The safety data sheets of your materials, local rules and licensed practice go before anything said "
        "here.",
    )
    return str(made)


def environment() -> Any:
    """Return the template room of this desk: everything is escaped and made plain, and a misspelt name is an error."""
    from jinja2 import Environment, StrictUndefined

    from diagnose.prose.text import clean

    room = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=lambda value: clean(value) if type(value) is str else value,
    )
    room.policies["json.dumps_kwargs"] = {"sort_keys": False, "separators": (",", ":")}  # in the order of the knowledge
    return room


def policy(style: str, script: str = "") -> str:
    """Return the content security policy of a page that may run its own *script* and style and nothing else, and ask
    nobody.
    """
    rules = [
        "default-src 'none'",
        f"style-src '{_digest(style)}'",
        "img-src blob: data:",
        "base-uri 'none'",
        "form-action 'none'",
    ]
    return "; ".join([*rules, f"script-src '{_digest(script)}'"] if script else rules)


def _digest(text: str) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"


def _shipped(name: str) -> str:
    return resources.files("diagnose.remote").joinpath(name).read_text(encoding="utf-8")


# -- the data of the page --------------------------------------------------------------------------------------------


def page_data(knowledge: Knowledge, errand: Errand, order: Order) -> dict[str, Any]:
    """Return all that the page's script works with, as JSON data."""
    first = errand.round == 1
    numbers = errand.numbers if errand.before else numbers_wanted(knowledge, {})
    asked = _asked(knowledge, order) if first else [name for name in errand.ask if knowledge.question_kind(name)]
    symptoms = _symptoms(knowledge) if first else {}
    families = sorted(
        {entry["family"] for entry in symptoms.values()}, key=lambda family: (family_rank(family), family)
    )
    return {
        "key": "-".join([errand.client, errand.id, str(errand.round), knowledge.content_key[:12]]),
        "id": errand.id,
        "client": errand.client,
        "round": errand.round,
        "knowledge": knowledge.content_key,
        "file_name": errand.file_name,
        "units": _units(),
        "system": errand.system,
        "families": [[family, family_title(family)] for family in families],
        "symptoms": symptoms,
        "questions": {name: _question(knowledge, name) for name in dict.fromkeys([*asked, *numbers])},
        "numbers": list(numbers),
        "order": order if first else {},
        "ask": None if first else asked,
        "first_asked": [name for name in FIRST_ASKED if name in asked],
        "dangers": [_danger(danger) for danger in knowledge.dangers.values()],
        "before": dict(errand.before),
        "standing": list(errand.standing),
        "idle": _IDLE.split(),
    }


def numbers_wanted(knowledge: Knowledge, answers: Answers, build: str | None = None) -> tuple[str, ...]:
    """Return the questions whose answers the sheet for the next pour still wants, for *build* or any, in the order of
    the job.
    """
    lines = [line for one in ([build] if build else BUILDS[1:]) for line in next_pour_sheet(answers, one, knowledge)]
    missing = dict.fromkeys(name for line in lines for name in line.missing)
    return tuple(name for name in missing if knowledge.question_kind(name) is not None)


def _asked(knowledge: Knowledge, order: Order) -> list[str]:
    """The questions that a first page may need: what leads, what tells of dangers, and all that is in the order."""
    ranked = {question for tables in order.values() for rows in tables.values() for question, *_ in rows}
    lumps = {name for danger in knowledge.dangers.values() if danger.lumps for name in (*_lump_names(), danger.id)}
    wanted = [*FIRST_ASKED, *sorted(ranked | lumps)]
    return [name for name in dict.fromkeys(wanted) if knowledge.question_kind(name) is not None]


def _symptoms(knowledge: Knowledge) -> dict[str, dict[str, Any]]:
    from diagnose.knowledge.store import load_callers

    phrases = load_callers(knowledge.folder).phrases
    return {name: _symptom(entry, phrases.get(name, ())) for name, entry in knowledge.symptoms.items()}


def _symptom(entry: Symptom, phrases: tuple[str, ...]) -> dict[str, Any]:
    return {
        "family": entry.family,
        "title": entry.title,
        "help": entry.help,
        "unlike": [[name, hint] for name, hint in entry.confused_with.items()],
        "words": list(phrases),
        **_gates(entry),
    }


def _gates(entry: Fact | Check | Symptom) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if entry.builds:
        found["builds"] = list(entry.builds)
    if entry.painted is not None:
        found["painted"] = entry.painted
    if entry.ask_when:
        found["when"] = {name: list(values) for name, values in entry.ask_when.items()}
    return found


def _question(knowledge: Knowledge, name: str) -> dict[str, Any]:
    if name in knowledge.symptoms:
        symptom = knowledge.symptoms[name]
        options = [[SEEN, "Yes, it is so"], [ABSENT, "No, I looked and it is not"]]
        title = f"Do you see this: {symptom.title}?"
        return {
            "kind": "symptom",
            "title": title,
            "how": symptom.look,
            "help": symptom.help,
            "options": options,
            **_gates(symptom),
        }
    entry: Fact | Check = knowledge.facts.get(name) or knowledge.checks[name]
    found = {"kind": entry.kind, "title": entry.title, "how": entry.find_out, "help": entry.help, **_gates(entry)}
    if name in knowledge.facts and name not in FIRST_ASKED:
        found["past"] = True
    if name in FIRST_ASKED:
        found["gates"] = True
    return {**found, **(_number(entry) if entry.kind == "number" else _choices(knowledge, entry))}


def _number(entry: Fact | Check) -> dict[str, Any]:
    dimension = unit_of(entry.unit).dimension
    span = {"low": entry.plausible[0], "high": entry.plausible[1]} if entry.plausible else {}
    return {"unit": entry.unit, "dimension": dimension, "example": _EXAMPLES.get(dimension, "12"), **span}


def _choices(knowledge: Knowledge, entry: Fact | Check) -> dict[str, Any]:
    if entry.kind == "yes_no":
        return {"options": [["yes", "Yes"], ["no", "No"]]}
    if entry.kind == "id":
        return {"options": [[name, material.title] for name, material in knowledge.materials.items()]}
    table: Any = entry.choices if isinstance(entry, Fact) else entry.results
    alone = entry.base if isinstance(entry, Check) else "nothing"
    return {"options": [[value, option.title] for value, option in table.items()], "alone": alone}


def _units() -> dict[str, list[dict[str, Any]]]:
    """The units on offer: name, label, factor and offset to the base of the dimension, system, and whether it is that
    system's default.
    """
    found: dict[str, list[dict[str, Any]]] = {}
    for dimension, rows in _UNITS.items():
        units = [(name, label, system, unit_of(name)) for name, label, system in rows]
        found[dimension] = [
            {"n": name, "l": label, "f": unit.factor, "o": unit.offset, "s": system, "d": bool(system)}
            for name, label, system, unit in units
        ]
    return found


# -- dangers ---------------------------------------------------------------------------------------------------------


def _lump_names() -> tuple[str, ...]:
    from diagnose.casebook.dangers import AGE, MASS, SECTION, WARMTH

    return (*(name for names in MASS for name in names), SECTION, AGE, WARMTH)


def _danger(danger: Danger) -> dict[str, Any]:
    """One danger with the rule that finds it, as `casebook.dangers` applies it at the desk."""
    return {
        "id": danger.id,
        "title": danger.title,
        "say": danger.say,
        "why": danger.why,
        "ask": bool(danger.ask),
        "symptoms": list(danger.symptoms),
        "answers": {name: list(values) for name, values in danger.answers.items()},
        "over": dict(danger.over),
        "lumps": _lump_rule(danger),
    }


def _lump_rule(danger: Danger) -> dict[str, Any] | None:
    from diagnose.casebook.dangers import AGE, MASS, SECTION, WARMTH

    if danger.lumps is None:
        return None
    return {
        "mass": [list(names) for names in MASS],
        "section": SECTION,
        "age": AGE,
        "warmth": WARMTH,
        "mass_over": danger.lumps.mass,
        "section_over": danger.lumps.section,
        "age_under": danger.lumps.age_under,
        "cool_under": danger.lumps.cool_under,
    }


def _lump_words(knowledge: Knowledge) -> dict[str, str] | None:
    """The limits of a dangerous lump in both systems: `2 kg (4.4 lb)`."""
    lumps = next((danger.lumps for danger in knowledge.dangers.values() if danger.lumps), None)
    if lumps is None:
        return None
    pounds, inches = lumps.mass / unit_of("lb").factor, lumps.section / unit_of("in").factor
    return {
        "mass_words": f"{lumps.mass / 1000:.3g} kg ({pounds:.2g} lb)",
        "section_words": f"{lumps.section:.3g} mm ({inches:.2g} in)",
        "age_words": f"{lumps.age_under:.3g} hours",
    }
