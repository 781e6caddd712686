"""The pages of what is asked: checks (a look, a touch, a bench test) and facts (what was done or measured)."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.knowledge import Check, Fact
from diagnose.prose.quantity import minutes, quantity
from diagnose.prose.text import lowered
from diagnose.report.handbook import words
from diagnose.report.handbook.entries import sources
from diagnose.report.handbook.links import Links
from diagnose.report.handbook.pages import Group, Item, Page, Ref, Section, page, section


def check_page(links: Links, check: Check, drawing: str = "") -> Page:
    """Return the page of a check, with *drawing* as SVG markup of our own or nothing."""
    sections = [
        _how(links, check),
        _doubt(check),
        section("What each result says", groups=_results(links, check)),
        section("Results that are a fault seen another way", groups=[Group(tuple(_twins(links, check)))]),
        sources(links, check.sources),
    ]
    ref = Ref("check", check.id, check.title)
    in_hand = "with what is on the bench" if check.in_hand else "takes a new sample or a wait"
    kicker = f"Check: {in_hand}, {minutes(check.minutes)}"
    return page(ref, kicker, check.help, sections, drawing)


def fact_page(links: Links, fact: Fact) -> Page:
    """Return the page of a question about the pour, or of a fact that is worked out from others."""
    ref = Ref("fact", fact.id, fact.title or _capital(fact.short))
    kicker = "Worked out from other answers" if fact.derived else f"What was done: {minutes(fact.minutes)} to find out"
    sections = [
        _how(links, fact),
        _doubt(fact),
        section("Worked out from", groups=[Group(tuple(Item(links.question(name)) for name in fact.needs))]),
        section("Tells more than", groups=[Group(tuple(Item(links.question(name)) for name in fact.better_than))]),
        section("Usual answers", groups=[Group(tuple(_usual(links, fact)))]),
        section("What each answer says", groups=_speaks(links, fact)),
        section("Sums that take it", groups=[Group(tuple(_sums(links, fact)))]),
        sources(links, fact.sources),
    ]
    return page(ref, kicker, fact.help, sections)


def _how(links: Links, entry: Check | Fact) -> Section:
    pointless = f"No point in asking {entry.pointless}." if entry.pointless else ""
    paragraphs = [
        entry.find_out,
        words.answerable(links.knowledge, entry.answerable),
        words.only_on(entry.builds, entry.painted),
        pointless,
    ]
    return section("How to find out", paragraphs)


def _doubt(entry: Check | Fact) -> Section:
    if entry.doubt is None:
        return section("What people say and it isn't so")
    said, ask = entry.doubt.said, entry.doubt.ask
    return section("What people say and it isn't so", [f"\u201c{said}\u201d", f"Then ask: {ask}"])


def _results(links: Links, check: Check) -> list[Group]:
    """From the most telling result to the base, each with the causes that show it."""
    found = []
    for name in [*reversed(check.telling), check.base]:
        causes = tuple(
            Item(links.cause(cause), how=link.word, why=link.why) for cause, link in links.shown_as[check.id][name]
        )
        note = "What shows when none of the causes listed here acts." if name == check.base else ""
        if name != check.base:
            leak = check.results[name].background or links.knowledge.words["background"]["ordinary"]
            note = f"{_capital(words.by_itself(links.knowledge, leak))}."
        found.append(Group(causes, head=check.results[name].title, note=note))
    return found


def _twins(links: Links, check: Check) -> Iterable[Item]:
    for name, symptom in links.knowledge.symptoms.items():
        results = [check.results[result].title for twin, result in symptom.same_as if twin == check.id]
        if results:
            yield Item(links.fault(name), why="; ".join(lowered(title) for title in results))


def _usual(links: Links, fact: Fact) -> Iterable[Item]:
    """The answers with how usual each is where nothing is wrong."""
    options = (
        [(quantity(value, fact.unit), share) for value, share in fact.typical]
        if fact.kind == "number"
        else [(choice.title or name, choice.share) for name, choice in fact.choices.items()]
    )
    most = max((share for _, share in options), default=1.0)
    for title, share in options:
        yield Item(text=title, how=_usualness(share / most))


def _usualness(part: float) -> str:
    if part > 0.6:
        return "usual"
    return "less usual" if part > 0.25 else "unusual" if part > 0.08 else "rare"


def _speaks(links: Links, fact: Fact) -> list[Group]:
    knowledge = links.knowledge
    if fact.kind == "number":
        items = tuple(
            Item(links.cause(name), why=words.curve_words(knowledge, fact, knowledge.causes[name].facts[fact.id]))
            for name in links.told_by[fact.id]
        )
        return [Group(items)]
    found = []
    for answer, choice in fact.choices.items():
        items = tuple(_of_answer(links, fact, answer))
        found.append(Group(items, head=choice.title or answer))
    named = {item.ref.id for group in found for item in group.items if item.ref is not None}
    rest = tuple(Item(links.cause(name)) for name in links.told_by[fact.id] if name not in named)
    return [*found, Group(rest, head="Asked for these too, though no answer says much by itself")]


def _of_answer(links: Links, fact: Fact, answer: str) -> Iterable[Item]:
    """What *answer* says of each cause, what says most first."""
    knowledge = links.knowledge
    said = []
    for name in links.told_by[fact.id]:
        evidence = knowledge.causes[name].facts[fact.id]
        ratio = evidence.choices.get(answer, 1.0)
        if not words.says_nothing(knowledge, ratio):
            said.append((-round(ratio, 10), name, evidence.why.get(answer, "")))
    for ratio, name, why in sorted(said):
        yield Item(links.cause(name), how=words.speaks(knowledge, -ratio), why=why)


def _sums(links: Links, fact: Fact) -> Iterable[Item]:
    from diagnose.bench.catalogue import by_name

    for name in links.opened.get(fact.id, ()):
        yield Item(Ref("sum", name, by_name(name).title))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
