"""The pages that list: the fault-finder by family, all of a kind, dangers, numbers and materials, sources."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from diagnose.bench.catalogue import CALCULATIONS
from diagnose.knowledge import Knowledge, Material, Practice
from diagnose.prose.quantity import number, quantity
from diagnose.prose.question import family_rank, family_title
from diagnose.prose.text import first_sentence
from diagnose.report.handbook import words
from diagnose.report.handbook.links import Links
from diagnose.report.handbook.pages import Group, Item, Page, Ref, Section, Table, section

_UNITS = {"density": "kg/m^3", "temperature": "degC"}


def finder(links: Links, drawings: Mapping[str, str]) -> tuple[Section, ...]:
    """Return the fault-finder: a section a family, its faults by what one sees, in words and by its drawing in
    *drawings*, SVG markup of our own by symptom.
    """
    knowledge = links.knowledge
    families = sorted({symptom.family for symptom in knowledge.symptoms.values()}, key=lambda f: (family_rank(f), f))
    return tuple(
        section(
            family_title(family),
            groups=[
                Group(
                    tuple(
                        Item(links.fault(name), why=first_sentence(symptom.help), drawing=drawings.get(name, ""))
                        for name, symptom in knowledge.symptoms.items()
                        if symptom.family == family
                    )
                )
            ],
        )
        for family in families
    )


def list_pages(links: Links) -> list[Page]:
    """Return the lists of causes, checks, facts, remedies and sums, and the pages of dangers, numbers and sources."""
    return [
        Page("causes.html", "list", "Causes", "By where in the job they start", "", _causes(links)),
        Page("checks.html", "list", "Checks", "A look, a touch, a bench test", "", _checks(links)),
        Page(
            "facts.html",
            "list",
            "What was done",
            "Questions about the pour, and what follows from them",
            "",
            _facts(links),
        ),
        Page("remedies.html", "list", "Remedies", "By when they are done", "", _remedies(links)),
        Page("sums.html", "list", "Sums", "In the order of a job", "", _sums()),
        Page("dangers.html", "list", "Dangers", "What comes before everything else", _DEFER, _dangers(links)),
        Page(
            "numbers.html", "list", "Numbers", "What shops go by, and typical systems", _OWN, _numbers(links.knowledge)
        ),
        Page("sources.html", "list", "Sources", "Where values and rules come from", "", _sources(links.knowledge)),
    ]


_DEFER = (
    "These are the usual cautions. The safety data sheets of the very cans in hand, the local codes and licensed "
    "practice go before "
    "anything printed here."
)
_OWN = "Your suppliers' sheets go before every number here; a shop's own file may set any of them anew."


def _by(
    names: Iterable[str], key: Callable[[str], str], head: Callable[[str], str], item: Callable[[str], Item]
) -> dict[str, list[Item]]:
    groups: dict[str, list[Item]] = {}
    for name in names:
        groups.setdefault(key(name), []).append(item(name))
    return {head(name): items for name, items in groups.items()}


def _made(groups: Mapping[str, Iterable[Item]]) -> tuple[Section, ...]:
    return tuple(section(head, groups=[Group(tuple(items))]) for head, items in groups.items())


def _causes(links: Links) -> tuple[Section, ...]:
    causes = links.knowledge.causes
    ranked = sorted(causes, key=lambda name: (words.stage_rank(causes[name].stage), causes[name].title))
    found = _by(
        ranked,
        lambda name: causes[name].stage,
        words.stage,
        lambda name: Item(
            links.cause(name),
            how=words.how_common(links.knowledge, causes[name].base),
            why=first_sentence(causes[name].help),
        ),
    )
    return _made(found)


def _checks(links: Links) -> tuple[Section, ...]:
    checks = links.knowledge.checks
    found: dict[str, list[Item]] = {"With what is on the bench": [], "With a new sample or a wait": []}
    for name, check in sorted(checks.items(), key=lambda pair: (pair[1].minutes, pair[1].title)):
        heading = "With what is on the bench" if check.in_hand else "With a new sample or a wait"
        found[heading].append(Item(links.check(name), why=check.title))
    return _made({head: items for head, items in found.items() if items})


def _facts(links: Links) -> tuple[Section, ...]:
    facts = links.knowledge.facts
    asked = [Item(links.fact(name), why=fact.title) for name, fact in facts.items() if not fact.derived]
    derived = [Item(links.fact(name), why=first_sentence(fact.help)) for name, fact in facts.items() if fact.derived]
    return _made({"Asked": asked, "Worked out": derived})


def _remedies(links: Links) -> tuple[Section, ...]:
    remedies = links.knowledge.remedies
    order = {"next_pour": 0, "between_pours": 1, "this_part": 2}
    ranked = sorted(remedies, key=lambda name: (order.get(remedies[name].when, 3), remedies[name].title))
    found = _by(
        ranked,
        lambda name: remedies[name].when,
        lambda when: words.when(when)[:1].upper() + words.when(when)[1:],
        lambda name: Item(links.remedy(name), why=first_sentence(remedies[name].do)),
    )
    return _made(found)


def _sums() -> tuple[Section, ...]:
    return (
        section("All sums", groups=[Group(tuple(Item(Ref("sum", item.name, item.title)) for item in CALCULATIONS))]),
    )


def _dangers(links: Links) -> tuple[Section, ...]:
    knowledge = links.knowledge
    found = []
    for name, danger in knowledge.dangers.items():
        seen = [Item(links.fault(symptom)) for symptom in danger.symptoms]
        told = [
            Item(links.question(question), why="; ".join(value.replace("_", " ") for value in values))
            for question, values in danger.answers.items()
        ]
        over = [
            Item(links.question(question), why=f"over {quantity(value, links.knowledge.facts[question].unit)}")
            if question in knowledge.facts
            else Item(links.question(question), why=f"over {quantity(value, knowledge.checks[question].unit)}")
            for question, value in danger.over.items()
        ]
        groups = [
            Group((*seen, *told, *over), head="It stands where this is seen, answered or measured"),
            Group(links.sources(danger.sources), head="Sources"),
        ]
        found.append(section(danger.title, [danger.say, danger.why, danger.ask], groups, key=f"anchor-danger-{name}"))
    return tuple(found)


def _numbers(knowledge: Knowledge) -> tuple[Section, ...]:
    rows = tuple((_capital(entry.about), _span(entry), entry.source) for entry in knowledge.practice.values())
    anchors = tuple(f"number-{name}" for name in knowledge.practice)
    systems = tuple((entry.title, entry.help, _system(entry)) for entry in knowledge.materials.values())
    held = tuple(f"material-{name}" for name in knowledge.materials)
    return (
        section("What shops go by", table=Table(("What", "Usual, and the ends in use", "Source"), rows, anchors)),
        section(
            "Typical systems",
            ["Nobody's product: generic systems of our own, so that the sums have something to start from."],
            table=Table(("System", "For", "Its numbers"), systems, held),
        ),
    )


def _span(entry: Practice) -> str:
    def said(low: float, mid: float, high: float) -> str:
        if low == mid == high:
            return quantity(mid, entry.unit)
        return f"{quantity(mid, entry.unit)} ({number(low)} to {number(high)})"

    whole = said(entry.low, entry.mid, entry.high)
    builds = [f"{words.only_on((build,), None)[8:-1]} {said(*span)}" for build, span in entry.by_build.items()]
    return "; ".join([whole, *builds])


def _system(entry: Material) -> str:
    ratios = [
        f"{quantity(density, 'kg/m^3')} at {number(parts)} parts of A to 100 of B" for parts, density in entry.ratios
    ]
    values = [
        f"{_capital(name.replace('_', ' ')).lower()} {_value(name, value)}" for name, value in entry.values.items()
    ]
    return "; ".join([*ratios, *values])


def _value(name: str, value: float) -> str:
    for word, unit in _UNITS.items():
        if word in name:
            return quantity(value, unit)
    if value >= 5400.0:
        return quantity(value / 3600.0, "h")
    return quantity(value / 60.0, "min") if value >= 120.0 else quantity(value, "s")


def _sources(knowledge: Knowledge) -> tuple[Section, ...]:
    entries = sorted(knowledge.sources.items(), key=lambda pair: (pair[1].title, pair[0]))
    rows = tuple((source.title, source.about, source.seen) for _, source in entries)
    return (
        section(
            "All sources",
            [
                "What was read: the excerpt that holds the value, the abstract, the catalogue's scope, or nothing "
                "(from memory)."
            ],
            table=Table(
                ("Source", "What is taken from it", "Read"), rows, tuple(f"source-{name}" for name, _ in entries)
            ),
        ),
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
