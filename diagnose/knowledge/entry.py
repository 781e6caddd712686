"""One entry of the knowledge with all that it is linked to: what `diagnose knowledge show` prints.

Records first: the command puts them on the screen or out as JSON.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from diagnose.knowledge.kinds import COMMON_PRACTICE, Link
from diagnose.knowledge.model import (
    AnyQuestion,
    Cause,
    Check,
    Danger,
    Fact,
    Knowledge,
    Material,
    Practice,
    Remedy,
    Source,
    Symptom,
)

AnyEntry = Symptom | Fact | Check | Cause | Remedy | Danger | Source | Material | Practice
KINDS = ("symptoms", "causes", "checks", "facts", "remedies", "dangers", "materials", "practice", "sources")


class Linked(Struct, frozen=True):
    """A link to the entry *id*, or from it: by what *answer* or result, how strongly in a *word*, and the mechanism."""

    kind: str
    id: str
    title: str
    answer: str = ""
    word: str = ""
    why: str = ""
    p: float = 0.0


class Entry(Struct, frozen=True):
    """One entry: *texts* say what it is, why, how to tell and what to do, by heading;
    *links* by heading, the strongest first.
    """

    kind: str
    id: str
    title: str
    texts: Mapping[str, tuple[str, ...]]
    links: Mapping[str, tuple[Linked, ...]]
    sources: tuple[str, ...]


def entries_of(knowledge: Knowledge, name: str) -> list[tuple[str, AnyEntry]]:
    """Return the entries called *name*, each with its kind (a practice number may share its id with a fact)."""
    return [(kind, table[name]) for kind, table in tables_of(knowledge).items() if name in table]


def tables_of(knowledge: Knowledge) -> dict[str, Mapping[str, AnyEntry]]:
    """Return the tables of entries by kind."""
    return {kind: getattr(knowledge, kind) for kind in KINDS}


def matching(knowledge: Knowledge, letters: str) -> list[tuple[str, str]]:
    """Return kind and id of the entries whose id or name holds all words of *letters*, small or large."""
    wanted = letters.lower().replace("_", " ").split()
    found = []
    for kind, table in tables_of(knowledge).items():
        for name, entry in table.items():
            told = f"{name.replace('_', ' ')} {title_of(entry)}".lower()
            if wanted and all(word in told for word in wanted):
                found.append((kind, name))
    return found


def title_of(entry: AnyEntry) -> str:
    """Return the name of *entry* in the trade's words."""
    if isinstance(entry, Practice):
        return entry.about
    return entry.short if isinstance(entry, (Fact, Check)) else entry.title


def described(knowledge: Knowledge, kind: str, entry: AnyEntry) -> Entry:
    """Return *entry* with all that it is linked to."""
    texts = {heading: tuple(filter(None, said)) for heading, said in _texts(knowledge, entry).items()}
    links = {heading: tuple(found) for heading, found in _links(knowledge, entry).items()}
    ids = () if isinstance(entry, (Practice, Source)) else entry.sources
    sources = tuple(f"{knowledge.sources[one].title} ({one})" if one in knowledge.sources else one for one in ids)
    if isinstance(entry, Practice):
        sources = (entry.source,)
    return Entry(
        kind.removesuffix("s") if kind != "remedies" else "remedy",
        entry.id,
        title_of(entry),
        {heading: said for heading, said in texts.items() if said},
        {heading: found for heading, found in links.items() if found},
        sources if any(one != COMMON_PRACTICE for one in sources) else ("common practice, no source",),
    )


# -- texts -------------------------------------------------------------------------------------------------------------


def _texts(knowledge: Knowledge, entry: AnyEntry) -> dict[str, Iterable[str]]:
    if isinstance(entry, Cause):
        base = _nearest_word(knowledge, "share", entry.base)
        return {
            "what": [entry.help, _where(entry), f"In bad parts, before anything is told: {base}."],
            "why": [entry.mechanism],
        }
    if isinstance(entry, (Symptom, Fact, Check)):
        return _question_texts(knowledge, entry)
    if isinstance(entry, Remedy):
        return {"what to do": [entry.do, _effort(entry)], "how to tell": [entry.verify], "caution": [*_cautions(entry)]}
    if isinstance(entry, Danger):
        return {"what to do": [entry.say], "why": [entry.why], "asked": [entry.ask]}
    if isinstance(entry, Source):
        return {"what": [entry.about, f"Read: {entry.seen}."]}
    if isinstance(entry, Material):
        ratios = [f"{ratio:g} A to 100 B: {density:g} kg/m³ free rise" for ratio, density in entry.ratios]
        return {"what": [entry.help], "numbers": [*ratios, *_numbers(entry)]}
    builds = [f"{build.replace('_', ' ')}: {_span(entry, build)}" for build in entry.by_build]
    return {"what": [f"{entry.about}."], "numbers": builds or [_span(entry, None)]}


def _question_texts(knowledge: Knowledge, entry: AnyQuestion) -> dict[str, Iterable[str]]:
    effort = f"About {entry.minutes:g} min." if entry.minutes else ""
    doubt = f'Who says "{entry.doubt.said}" is often mistaken. Ask instead: {entry.doubt.ask}' if entry.doubt else ""
    no_use = f"Leave it {entry.pointless}." if entry.pointless else ""
    always = f"Never leave it out: {entry.always_ask}." if entry.always_ask else ""
    needs = ""
    if isinstance(entry, Fact) and entry.derived:
        needs = f"Worked out from {', '.join(knowledge.label(name) for name in entry.needs)}; never asked."
    asked = entry.title if entry.title != entry.short else ""
    return {
        "what": [asked, entry.help, needs, _where(entry)],
        "answers": [f"{name}: {title}" for name, title in entry.options.items()] if entry.kind != "symptom" else [],
        "how to tell": [entry.find_out, effort, doubt, no_use, always],
    }


def _where(entry: Cause | AnyQuestion) -> str:
    where = [f"on {' or '.join(build.replace('_', ' ') for build in entry.builds)}"] if entry.builds else []
    where += [] if entry.painted is None else [f"on {'' if entry.painted else 'un'}painted parts"]
    return f"Only {', '.join(where)}." if where else ""


def _effort(remedy: Remedy) -> str:
    when = {"next_pour": "for the next pour", "this_part": "for this part", "between_pours": "between pours"}[
        remedy.when
    ]
    wait = f", {remedy.wait_minutes:g} min of waiting" if remedy.wait_minutes else ""
    return f"{when.capitalize()}: {remedy.minutes:g} min of work{wait}; material: {remedy.material}."


def _cautions(remedy: Remedy) -> Iterator[str]:
    yield remedy.caution
    yield f"Never while this stands: {', '.join(remedy.never_with)}." if remedy.never_with else ""
    yield f"Only within {remedy.until:g} min of demold." if remedy.until is not None else ""
    for question, values in remedy.not_when.items():
        yield f"Not where {question} is {' or '.join(values)}."


def _numbers(material: Material) -> Iterator[str]:
    units = {"sheet_temperature": "°C", "density": "kg/m³", "density_a": "kg/m³", "density_b": "kg/m³"}
    for name, value in material.values.items():
        yield f"{name.replace('_', ' ')}: {value:g} {units.get(name, 's')}"


def _span(practice: Practice, build: str | None) -> str:
    low, mid, high = practice.of(build)
    unit = "" if practice.unit == "1" else f" {practice.unit}"
    return f"{mid:g}{unit}" if low == high else f"{low:g} to {high:g}, usually {mid:g}{unit}"


def _nearest_word(knowledge: Knowledge, table: str, number: float) -> str:
    return min(knowledge.words[table], key=lambda word: abs(knowledge.words[table][word] - number))


# -- links -------------------------------------------------------------------------------------------------------------


def _links(knowledge: Knowledge, entry: AnyEntry) -> dict[str, Iterable[Linked]]:
    if isinstance(entry, Cause):
        return {
            "shows as": _strongest(_to(knowledge, "symptom", name, link) for name, link in entry.symptoms.items()),
            "shows in": _strongest(
                _to(knowledge, "check", name, link, result)
                for name, links in entry.checks.items()
                for result, link in links.items()
            ),
            "told by": [
                _to(knowledge, "fact", name, link, answer)
                for name, evidence in entry.facts.items()
                for answer, link in evidence.said.items()
            ],
            "mended by": _strongest(
                _to(knowledge, "remedy", remedy.id, remedy.fixes[entry.id])
                for remedy in knowledge.remedies.values()
                if entry.id in remedy.fixes
            ),
            "can't hold together with": _plainly(knowledge, "cause", [entry.opposite] if entry.opposite else []),
        }
    if isinstance(entry, Symptom):
        return {
            "caused by": _causes(knowledge, ((c, "", c.symptoms.get(entry.id)) for c in knowledge.causes.values())),
            "not to be mixed up with": [
                Linked("symptom", name, knowledge.label(name), why=text) for name, text in entry.confused_with.items()
            ],
            "the same as": [Linked("check", check, knowledge.label(check), result) for check, result in entry.same_as],
            "damage mended by": _plainly(
                knowledge, "remedy", (r.id for r in knowledge.remedies.values() if entry.id in r.mends_damage)
            ),
        }
    if isinstance(entry, Check):
        found = [(c, r, link) for c in knowledge.causes.values() for r, link in c.checks.get(entry.id, {}).items()]
        order = {result: place for place, result in enumerate(entry.results)}
        ranked = sorted(found, key=lambda one: (order[one[1]], -one[2].p))
        return {"shows": [_to(knowledge, "cause", cause.id, link, result) for cause, result, link in ranked]}
    if isinstance(entry, Fact):
        bears = ((c, c.facts[entry.id]) for c in knowledge.causes.values() if entry.id in c.facts)
        return {
            "bears on": [
                _to(knowledge, "cause", c.id, link, answer) for c, e in bears for answer, link in e.said.items()
            ],
            "better than": _plainly(knowledge, "fact", entry.better_than),
        }
    if isinstance(entry, Remedy):
        damage = _plainly(knowledge, "symptom", entry.mends_damage)
        return {
            "mends": _strongest(_to(knowledge, "cause", n, link) for n, link in entry.fixes.items()),
            "saves": damage,
        }
    if isinstance(entry, Danger):
        return {"stands where": _plainly(knowledge, "symptom", entry.symptoms)}
    return {}


def _to(knowledge: Knowledge, kind: str, name: str, link: Link, answer: str = "") -> Linked:
    return Linked(kind, name, knowledge.label(name), answer, link.word, link.why, link.p)


def _plainly(knowledge: Knowledge, kind: str, names: Iterable[str]) -> list[Linked]:
    return [Linked(kind, name, knowledge.label(name)) for name in names]


def _causes(knowledge: Knowledge, found: Iterable[tuple[Cause, str, Link | None]]) -> list[Linked]:
    return _strongest(_to(knowledge, "cause", cause.id, link, told) for cause, told, link in found if link is not None)


def _strongest(links: Iterable[Linked]) -> list[Linked]:
    return sorted(links, key=lambda link: -link.p)
