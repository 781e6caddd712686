"""The pages of faults, causes and remedies: why, how to tell, what to do, cautions, sources."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diagnose.knowledge import Cause, Evidence, Fact, Knowledge, Link, Remedy, Symptom
from diagnose.prose.answer import mends
from diagnose.prose.quantity import minutes
from diagnose.prose.question import family_title
from diagnose.prose.text import listed, lowered
from diagnose.report.handbook import words
from diagnose.report.handbook.links import Links
from diagnose.report.handbook.pages import Group, Item, Page, Ref, Section, page, section

#: when a remedy is done that saves the part in hand
_THIS_PART = "this_part"


def sources(links: Links, names: tuple[str, ...]) -> Section:
    """Return the sources of an entry."""
    return section("Sources", groups=[Group(links.sources(names))], key="sources")


def dangers(knowledge: Knowledge, symptoms: Iterable[str]) -> Section:
    """Return what must be said first where one of *symptoms* is seen."""
    wanted = set(symptoms)
    found = [
        Item(Ref("danger", name, danger.title), why=danger.say)
        for name, danger in knowledge.dangers.items()
        if wanted.intersection(danger.symptoms)
    ]
    return section("Before anything else", groups=[Group(tuple(found))], key="caution")


# -- faults --------------------------------------------------------------------------------------------------------


def fault_page(links: Links, symptom: Symptom, phrases: tuple[str, ...], drawing: str = "") -> Page:
    """Return the page of a fault, with *drawing* as SVG markup of our own or nothing."""
    knowledge = links.knowledge
    sections = [
        dangers(knowledge, [symptom.id]),
        section("How to make sure", [symptom.look, words.only_on(symptom.builds, symptom.painted)]),
        section(
            "Easily taken for",
            groups=[Group(tuple(Item(links.fault(name), why=how) for name, how in symptom.confused_with.items()))],
        ),
        section("The same thing, seen by a check", groups=[Group(tuple(_twins(links, symptom)))]),
        section(
            "What may be behind it",
            ["Likeliest first, by how common the cause is and how often it shows this."],
            [Group(tuple(_suspect(links, cause, link) for cause, link in links.behind[symptom.id]))],
        ),
        section(
            "How to tell which",
            ["Checks that part the likeliest causes."],
            [Group(tuple(_parting(links, symptom)))],
        ),
        section("What saves this part", groups=[Group(tuple(_savers(links, symptom)))]),
        section("What to do on the next pour", groups=_remedies_by_cause(links, symptom)),
        section("How callers say it", ["; ".join(phrases)] if phrases else [], key="callers"),
        sources(links, symptom.sources),
    ]
    return page(links.fault(symptom.id), family_title(symptom.family), symptom.help, sections, drawing)


def _twins(links: Links, symptom: Symptom) -> Iterable[Item]:
    for check, result in symptom.same_as:
        yield Item(links.check(check), why=lowered(links.knowledge.checks[check].results[result].title))


def _suspect(links: Links, cause: str, link: Link) -> Item:
    common = words.how_common(links.knowledge, links.knowledge.causes[cause].base)
    return Item(links.cause(cause), how=f"{common} cause, {link.word} shows it", why=link.why)


def _parting(links: Links, symptom: Symptom) -> Iterable[Item]:
    """The checks by which the likeliest causes of *symptom* differ most, with what each then shows."""
    suspects = links.behind[symptom.id][:6]
    found: dict[str, list[str]] = {}
    for cause, _ in suspects:
        for check in links.knowledge.causes[cause].checks:
            found.setdefault(check, []).append(cause)
    ranked = sorted(found, key=lambda name: (abs(2 * len(found[name]) - len(suspects)), name))
    for check in ranked[:4]:
        yield Item(links.check(check), notes=tuple(_shows(links, check, cause) for cause in found[check]))


def _shows(links: Links, check: str, cause: str) -> str:
    entry = links.knowledge.checks[check]
    results = [
        f"{link.word} {lowered(entry.results[result].title)}"
        for result, link in links.knowledge.causes[cause].checks[check].items()
    ]
    return f"{links.cause(cause).title}: {listed(results, 'or')}"


def _savers(links: Links, symptom: Symptom) -> Iterable[Item]:
    for name, remedy in links.knowledge.remedies.items():
        if symptom.id in remedy.mends_damage:
            yield Item(links.remedy(name), how=_effort(remedy), why=remedy.caution)


def _remedies_by_cause(links: Links, symptom: Symptom) -> list[Group]:
    """The best two remedies for each of the likeliest causes, under the cause."""
    found = []
    for cause, _ in links.behind[symptom.id][:8]:
        best = [(n, link) for n, link in links.mended[cause] if links.knowledge.remedies[n].when != _THIS_PART][:2]
        items = tuple(Item(links.remedy(name), how=mends(link.word)) for name, link in best)
        found.append(Group(items, ref=links.cause(cause)))
    return found


def _effort(remedy: Remedy) -> str:
    work = minutes(remedy.minutes)
    return f"{work} of work" + (f", {minutes(remedy.wait_minutes)} of waiting" if remedy.wait_minutes else "")


# -- causes --------------------------------------------------------------------------------------------------------


def cause_page(links: Links, cause: Cause) -> Page:
    """Return the page of a cause."""
    knowledge = links.knowledge
    common = words.how_common(knowledge, cause.base)
    opposite = [Item(links.cause(cause.opposite), why="the two can't hold together")] if cause.opposite else []
    sections = [
        section(
            "Why", [cause.mechanism, f"A {common} cause of bad parts. {words.only_on(cause.builds, cause.painted)}"]
        ),
        section("How to tell: look and test", groups=_tests(links, cause)),
        section("How to tell: what was done", groups=_evidence(links, cause)),
        section("What to do", groups=_by_when(links, links.mended[cause.id])),
        _cautions(links, cause),
        # the longest list last: on a phone nobody scrolls through twenty effects to find what to do
        section("The opposite fault", groups=[Group(tuple(opposite))]),
        section("What it does to the part", groups=[Group(tuple(_effects(links, cause)))]),
        sources(links, cause.sources),
    ]
    return page(links.cause(cause.id), f"Cause: {lowered(words.stage(cause.stage))}", cause.help, sections)


def _effects(links: Links, cause: Cause) -> Iterable[Item]:
    ranked = sorted(cause.symptoms.items(), key=lambda pair: -pair[1].p)
    for symptom, link in ranked:
        yield Item(links.fault(symptom), how=link.word, why=link.why)


def _tests(links: Links, cause: Cause) -> list[Group]:
    found = []
    for check, results in cause.checks.items():
        titles = links.knowledge.checks[check].results
        items = tuple(Item(text=titles[result].title, how=link.word, why=link.why) for result, link in results.items())
        found.append(Group(items, ref=links.check(check)))
    return found


def _evidence(links: Links, cause: Cause) -> list[Group]:
    found = []
    for name, evidence in cause.facts.items():
        fact = links.knowledge.facts[name]
        items = _of_curve(links, fact, evidence) if evidence.curve else _of_choices(links, fact, evidence)
        note = "" if items else "Each answer says next to nothing of it."
        found.append(Group(tuple(items), ref=links.fact(name), note=note))
    return found


def _of_curve(links: Links, fact: Fact, evidence: Evidence) -> list[Item]:
    reasons = tuple(dict.fromkeys(why for why in evidence.why.values() if why))
    return [Item(text=words.curve_words(links.knowledge, fact, evidence), notes=reasons)]


def _of_choices(links: Links, fact: Fact, evidence: Evidence) -> list[Item]:
    knowledge = links.knowledge
    said = [(words.answer_title(fact, answer), ratio, answer) for answer, ratio in evidence.choices.items()]
    if fact.kind == "many":
        said.append(("none of these, but something else", evidence.other, ""))
    return [
        Item(text=title, how=words.speaks(knowledge, ratio), why=evidence.why.get(answer, ""))
        for title, ratio, answer in said
        if not words.says_nothing(knowledge, ratio)
    ]


def _by_when(links: Links, pairs: Iterable[tuple[str, Link]]) -> list[Group]:
    groups: dict[str, list[Item]] = {"next_pour": [], "between_pours": [], _THIS_PART: []}
    for name, link in pairs:
        remedy = links.knowledge.remedies[name]
        item = Item(links.remedy(name), how=f"{mends(link.word)}, {_effort(remedy)}", why=link.why)
        groups.setdefault(remedy.when, []).append(item)
    return [Group(tuple(items), head=_headed(words.when(when))) for when, items in groups.items()]


def _headed(text: str) -> str:
    return text[:1].upper() + text[1:]


def _cautions(links: Links, cause: Cause) -> Section:
    found = [
        Item(Ref("danger", name, danger.title), why=danger.say)
        for name, danger in links.knowledge.dangers.items()
        if set(danger.symptoms).intersection(cause.symptoms)
    ]
    spoken = [
        Item(links.remedy(name), why=links.knowledge.remedies[name].caution)
        for name, _ in links.mended[cause.id]
        if links.knowledge.remedies[name].caution
    ]
    groups = [Group(tuple(found), head="If it shows that way"), Group(tuple(spoken), head="With the remedies")]
    return section("Cautions", groups=groups, key="caution")


# -- remedies ------------------------------------------------------------------------------------------------------


def remedy_page(links: Links, remedy: Remedy) -> Page:
    """Return the page of a remedy."""
    sections = [
        section("Caution", [remedy.caution], key="caution"),
        section(
            "What it takes",
            [f"{_headed(words.when(remedy.when))}: {_effort(remedy)}, {words.material(remedy.material)}."],
        ),
        section("What it mends, and why", groups=[Group(tuple(_mends(links, remedy.fixes)))]),
        section(
            "Damage that it saves a part from",
            groups=[Group(tuple(Item(links.fault(name)) for name in remedy.mends_damage))],
        ),
        section("How to see that it worked", [remedy.verify]),
        section("When not to", _until(remedy), _not_when(links, remedy), key="caution"),
        sources(links, remedy.sources),
    ]
    return page(links.remedy(remedy.id), f"Remedy: {words.when(remedy.when)}", remedy.do, sections)


def _mends(links: Links, fixes: Mapping[str, Link]) -> Iterable[Item]:
    for cause, link in sorted(fixes.items(), key=lambda pair: -pair[1].p):
        ref = links.cause(cause) if cause in links.knowledge.causes else None
        yield Item(ref, "" if ref else cause.replace("_", " "), how=mends(link.word), why=link.why)


def _until(remedy: Remedy) -> list[str]:
    return [] if remedy.until is None else [f"Only up to {minutes(remedy.until)} after demold."]


def _not_when(links: Links, remedy: Remedy) -> list[Group]:
    barred = tuple(Item(Ref("danger", name, links.knowledge.dangers[name].title)) for name in remedy.never_with)
    answers = tuple(
        Item(links.question(name), why=listed([_answer(links, name, value) for value in values], "or"))
        for name, values in remedy.not_when.items()
    )
    return [Group(barred, head="While one of these stands"), Group(answers, head="Where this was answered")]


def _answer(links: Links, name: str, value: str) -> str:
    knowledge = links.knowledge
    if name in knowledge.facts:
        return words.answer_title(knowledge.facts[name], value)
    if name in knowledge.checks and value in knowledge.checks[name].results:
        return lowered(knowledge.checks[name].results[value].title)
    return value.replace("_", " ")
