"""Reports of cases about the small made-up trade of `small/bench.yaml`, of the worked cases, and of cases drawn at random."""

from __future__ import annotations

import io
import random
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml
from msgspec.structs import replace

from diagnose.assessment.assess import assess
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import Case, case_from_bytes, read_case
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.knowledge.files import SourceFile
from diagnose.knowledge.reader import compile_files
from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.report.document import Entry, Words
from diagnose.report.text.sections import Wanted, words_of
from diagnose.report.text.shown import Shown

#: the numbers of the small trade, so that its chances stay when the shipped words are tuned
NUMBERS: dict[str, dict[str, float]] = {
    "likelihood": {"always": 0.95, "usually": 0.75, "often": 0.5, "sometimes": 0.25, "seldom": 0.08},
    "ratio": {
        "decisive for": 30,
        "strong for": 10,
        "for": 4,
        "slightly for": 2,
        "neutral": 1,
        "slightly against": 0.5,
        "against": 0.25,
        "strong against": 0.1,
        "rules out": 0.03,
    },
    "share": {"very common": 10, "common": 5, "occasional": 2, "rare": 0.7},
    "background": {"ordinary": 0.02, "unusual": 0.01, "rare": 0.005},
    "answerable": {"nearly always": 0.95, "usually": 0.75, "half": 0.5, "sometimes": 0.3, "seldom": 0.12},
    "trust": {"measured": 1, "seen": 1, "told": 0.8, "remembered": 0.5},
    "misreport": {"measured": 0, "seen": 0.01, "told": 0.05, "remembered": 0.1},
    "limits": {"base total": 2, "ratio cap": 20, "not listed base": 0.12, "not listed link": 0.3},
}
HERE = Path(__file__).parent
ROOT = HERE.parents[1]
#: cases drawn at random
DRAWN = 150


class Screen(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


#: a case by name, thought through, and ready to be told
Told = tuple[str, Consultation, Shown]


def _knowledge(*changes: tuple[str, str]) -> Knowledge:
    text = (HERE / "small" / "bench.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    texts = {"words.yaml": _words(), "practice.yaml": _practice(text), "bench.yaml": text.encode()}
    return compile_files([SourceFile(name, data, "k") for name, data in texts.items()])[0]


def _practice(trade: str) -> bytes:
    """The shipped numbers that shops go by, bounding only what the small trade knows."""
    known = yaml.safe_load(trade)
    facts = {**known["facts"], **known.get("derived", {})}
    numbers = yaml.safe_load((ROOT / "knowledge" / "practice.yaml").read_text(encoding="utf-8"))
    for number in numbers["practice"].values():
        bounds = {fact: side for fact, side in number.pop("bounds", {}).items() if fact in facts}
        number.update({"bounds": bounds} if bounds else {})
    return yaml.safe_dump(numbers, allow_unicode=True, sort_keys=False).encode()


def _words() -> bytes:
    """The shipped tables of words with the numbers of the small trade in them."""
    tables = yaml.safe_load((ROOT / "knowledge" / "words.yaml").read_text(encoding="utf-8"))
    for name, numbers in NUMBERS.items():
        tables["words"][name]["values"].update(
            {word: number for word, number in numbers.items() if word in tables["words"][name]["values"]}
        )
    return yaml.safe_dump(tables, allow_unicode=True, sort_keys=False).encode()


@pytest.fixture(scope="session")
def texts() -> Callable[[Words, str], list[str]]:
    """All lines of one section, entries as heading, remark and rows."""
    return _texts_of


@pytest.fixture(scope="session")
def card() -> Callable[[Words], dict[str, str]]:
    """The card as label and text, with plain spaces."""
    return lambda words: {row.label: " ".join(" ".join(row.lines).split()) for row in words.card.rows}


def _texts_of(words: Words, key: str) -> list[str]:
    found: list[str] = []
    for section in words.sections:
        for block in section.blocks if section.key == key else ():
            if isinstance(block, Entry):
                found.append(f"{block.head} ({block.aside})")
                found.extend(f"{row.label}: {line}" for row in block.rows for line in row.lines)
            elif isinstance(block, str):
                found.append(block)
    return [" ".join(line.split()) for line in found]


@pytest.fixture(scope="session")
def trade() -> Knowledge:
    """The small trade as it stands."""
    return _knowledge()


@pytest.fixture
def consult(trade: Knowledge) -> Callable[..., Consultation]:
    """Look at a case, given as the text below `answers:`; *changes* rewrite the small trade first."""

    def look(
        answers: str, *changes: tuple[str, str], title: str = "A part", knowledge: Knowledge | None = None
    ) -> Consultation:
        known = knowledge or (_knowledge(*changes) if changes else trade)
        text = f"case: 1\ntitle: {title}\nanswers:\n" + "".join(f"  {line}\n" for line in answers.strip().splitlines())
        return Consultation(ModelCache(known), case_from_bytes(text.encode(), "case.yaml", known))

    return look


def _shown(consultation: Consultation, full: bool = True) -> Shown:
    """Assess a case and make it ready to be told."""
    return Shown.of(assess(consultation, full), consultation.case, consultation.knowledge)


@pytest.fixture
def shown(consult: Callable[..., Consultation]) -> Callable[..., Shown]:
    """A case given as for `consult`, assessed in full."""
    return lambda answers, *changes, **more: _shown(consult(answers, *changes, **more))


@pytest.fixture
def worded(shown: Callable[..., Shown]) -> Callable[..., Words]:
    """The whole report in words of a case given as for `consult`."""
    return lambda answers, *changes, **more: words_of(shown(answers, *changes, **more), Wanted(full=True, sums=True))


@pytest.fixture(scope="session")
def shipped() -> Knowledge:
    """The knowledge that ships."""
    return load_knowledge(str(ROOT / "knowledge"))


@pytest.fixture(scope="session")
def models(shipped: Knowledge) -> ModelCache:
    """Its models, made once."""
    return ModelCache(shipped)


@pytest.fixture(scope="session")
def cases() -> list[Path]:
    """The worked cases."""
    found = sorted((ROOT / "tests" / "cases").glob("*.yaml"))
    assert len(found) >= 20
    return found


@pytest.fixture(scope="session")
def worked(models: ModelCache, cases: list[Path]) -> list[Told]:
    """The worked cases, thought through."""
    made = []
    for path in cases:
        consultation = Consultation(models, read_case(path, models.knowledge))
        made.append((path.stem, consultation, _shown(consultation)))
    return made


@pytest.fixture(scope="session")
def drawn(models: ModelCache) -> list[Told]:
    """Cases drawn from the knowledge: a cause or two at work, what they show, and answers at random beside it."""
    made = []
    for seed in range(DRAWN):
        consultation = Consultation(models, _drawn(models.knowledge, random.Random(f"report {seed}")))
        made.append((f"drawn {seed}", consultation, _shown(consultation, full=False)))
    return made


def _drawn(knowledge: Knowledge, dice: random.Random) -> Case:
    build, painted = dice.choice(["bare_foam", "skin_and_foam"]), dice.choice(["yes", "no"])
    answers: dict[str, Answer] = {"build": Answer(build), "painted": Answer(painted)}

    def fits(name: str) -> bool:
        return knowledge.applies(name, build, painted == "yes")

    causes = [cause for cause in knowledge.causes.values() if any(fits(symptom) for symptom in cause.symptoms)]
    for cause in dice.choices(causes, [cause.base for cause in causes], k=dice.randint(1, 2)):
        symptoms = [name for name in cause.symptoms if fits(name)]
        answers[dice.choices(symptoms, [cause.symptoms[name].p for name in symptoms])[0]] = Answer(SEEN)
        for name, results in cause.checks.items():
            check = knowledge.checks[name]
            if fits(name) and check.kind != "number" and dice.random() < 0.5:
                result = dice.choice(list(results))
                answers[name] = Answer((result,) if check.kind == "many" else result, _source(dice))
        for name in cause.facts:
            if fits(name) and not knowledge.facts[name].derived and dice.random() < 0.5:
                answers[name] = _any_answer(knowledge, name, dice)
    others = [name for name in knowledge.symptoms if fits(name) and name not in answers]
    answers |= {name: Answer(ABSENT) for name in dice.sample(others, 3)}
    return replace(Case.of(answers), title=f"Case {dice.randint(1, 999)}")


def _source(dice: random.Random) -> str:
    return dice.choice(["seen", "measured", "told", "remembered"])


def _any_answer(knowledge: Knowledge, name: str, dice: random.Random) -> Answer:
    """One of the answers in which a fact is asked."""
    fact = knowledge.facts[name]
    if fact.kind == "number":
        return Answer(dice.choice([value for value, _ in fact.typical]), _source(dice))
    value = dice.choice(list(fact.choices)) if fact.choices else None
    if value is None:
        return Answer(None)
    return Answer((value,) if fact.kind == "many" else value, _source(dice))


@pytest.fixture
def wide(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], Screen]:
    """A screen of so many columns, tall and without color."""
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("LINES", "500")

    def screen(columns: int) -> Screen:
        monkeypatch.setenv("COLUMNS", str(columns))
        return Screen()

    return screen
