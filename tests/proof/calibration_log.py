"""How much of what a departure from the book costs a shop's own log wins back: `python -m tests.proof.calibration_log`.

Made-up shops that depart from the book pour, close what they find as people do, and learn by the log's own way: the cases go into a log of
SQLite, `learn` counts them and the replay judges them. Then fresh cases of the same shop are thought through by the book, by what was
learned after 30, 100 and 300 closed cases, and by one who knows the shop's true rates and links. Writes `docs/calibration-log.md` and its
picture; some minutes of one core.
"""

from __future__ import annotations

import math
import random
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from datetime import date, timedelta
from functools import cache
from multiprocessing import get_context
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from diagnose.assessment.consultation import ModelCache
from diagnose.casebook import Case as CaseFile
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.logbook.book import New, put_in
from diagnose.logbook.entry import About, Entry, Outcome
from diagnose.logbook.learn import learn
from diagnose.logbook.learned import LearnedModels
from diagnose.logbook.places import where_of
from diagnose.logbook.replay import believed, judge, scored
from diagnose.logbook.side_by_side import MOST, positive
from diagnose.logbook.store import Store, open_log
from diagnose.reasoning.answers import SEEN
from diagnose.reasoning.network import NOT_LISTED, Model, Overlay
from tests.proof.worlds import BUILDS, Case, Departure, Telling, World

ROOT = Path(__file__).parents[2]
#: closed cases after which it is looked, fresh cases that are thought through then, shops of each kind of world
AFTER, FRESH, SHOPS = (30, 100, 300), 100, 4
#: how a shop closes: a cause that had a part is named in so many cases, and so many cases are closed with a wrong one instead
NAMED, WRONG = 0.9, 0.05
TELLING = Telling(symptoms=0.35, absent=0.08, checks=0.15, facts=0.3)

WORLDS: tuple[tuple[str, Departure], ...] = (
    ("as the book says", Departure()),
    ("links off by 3", Departure(links=3.0)),
    ("base rates off by 3", Departure(bases=3.0)),
    ("3 habits of the shop, odds times 8", Departure(habits=3)),
    ("10 causes that the book lacks", Departure(missing=10)),
    ("all of it: links 3, bases 3, 3 habits, 3 missing", Departure(links=3.0, bases=3.0, habits=3, missing=3)),
)


class Tally(Struct, frozen=True):
    """How fresh cases were foretold: mean log score (natural), share with a right first cause, and the mean square error of "had a part"."""

    log_score: float
    first: float
    brier: float


class Row(Struct, frozen=True):
    """A kind of world: *name*, how the book foretold it, how the log did after each of `AFTER`, how one did who knows the shop (None
    where the book can't say it), and in how many of the shops the replay took in the end what was learned."""

    name: str
    book: Tally
    learned: tuple[Tally, ...]
    knowing: Tally | None
    taken: int

    def won_back(self, i: int) -> float | None:
        """The part of the log score lost by going by the book that was won back after `AFTER[i]` cases; None where nothing much was lost."""
        if self.knowing is None or self.knowing.log_score - self.book.log_score < 0.02:
            return None
        return (self.learned[i].log_score - self.book.log_score) / (self.knowing.log_score - self.book.log_score)


def true_model(world: World) -> Model:
    """Return the model of one who knows the world: its base rates and links in place of the book's."""
    links: dict[str, dict[str, float]] = {}
    for symptom, table in world.links.items():
        for cause, p in table.items():
            links.setdefault(cause, {})[symptom] = p
    for name, results in world.results.items():
        check = world.model.knowledge.checks[name]
        for cause in {cause for table in results.values() for cause in table}:
            above = 0.0
            for result in reversed(check.telling):
                if cause in results[result]:
                    p = results[result][cause] * (1.0 if check.kind == "many" else 1.0 - above)
                    links.setdefault(cause, {})[f"{name}:{result}"] = p
                    above += p
    base = {name: p for name, p in world.base.items() if name != NOT_LISTED}
    return Model(world.model.knowledge, world.model.build, world.model.painted, Overlay(base, links))


def cases(world: World, seed: str) -> Iterator[Case]:
    """Yield cases in which some symptom is told, without facts that a case file works out by itself.

    Those with over `MOST` findings seen are left out, for they take long; that depends on the answers alone, so it favors nobody.
    """
    facts, number = world.model.knowledge.facts, 0
    while True:
        case = world.case(TELLING, f"{seed} {number}")
        number += 1
        if case is not None:
            answers = {q: a for q, a in case.answers.items() if not (q in facts and facts[q].derived)}
            if len(positive(world.book.network(answers))) <= MOST:
                yield replace(case, answers=answers)


def causes_of(case: Case) -> list[str]:
    """Return the causes that had a part, as an outcome names them."""
    return sorted(case.guilty) or [NOT_LISTED]


def logged(world: World, case: Case, place: int, rng: random.Random) -> New:
    """Return *case* as a shop keeps and closes it."""
    knowledge, answers = world.book.knowledge, case.answers
    symptoms = [q for q in answers if q in knowledge.symptoms]
    plain: dict[str, object] = {
        "symptoms": [q for q in symptoms if answers[q].value == SEEN],
        "symptoms_absent": [q for q in symptoms if answers[q].value != SEEN],
    }
    texts = {q: a.value for q, a in answers.items() if q not in symptoms}
    plain |= {
        q: list(v) if isinstance(v, tuple) else f"{v:.10g}" if isinstance(v, float) else v for q, v in texts.items()
    }
    told = tuple((q, _text(a.value), a.source) for q, a in sorted(answers.items()))
    day = (date(2024, 1, 1) + timedelta(days=place)).isoformat()
    build, painted = world.model.build or "", "yes" if world.model.painted else "no"
    seen = tuple(q for q in symptoms if answers[q].value == SEEN)
    file = {"case": 1, "answers": {q: v for q, v in plain.items() if v != []}, "about": {"date": day}}
    entry = Entry(file, "", About(day), build, painted, seen, told, False, None)
    return New(entry, (_outcome(world, case, rng, day),))


def _text(value: object) -> str:
    return ", ".join(value) if isinstance(value, tuple) else f"{value:.10g}" if isinstance(value, float) else str(value)


def _outcome(world: World, case: Case, rng: random.Random, day: str) -> Outcome:
    named = [cause for cause in causes_of(case) if rng.random() < NAMED] or [NOT_LISTED]
    if rng.random() < WRONG:
        named = [rng.choice(sorted(world.book.causes))]
    return Outcome(tuple(named), "looked", rng.choice(("good", "good", "bad")), date=day)


def tally(models: Sequence[Model], fresh: Sequence[Case], names: Sequence[str]) -> list[Tally]:
    """Return how each of *models* foretells the *fresh* cases; *names*: the causes that the book knows."""
    made = []
    for model in models:
        found = believed([model.network(case.answers) for case in fresh])
        chances = [_listed(chances, names) for chances in found]
        pairs = [scored(c, causes_of(case)) for c, case in zip(chances, fresh, strict=True)]
        scores = [pair for pair in pairs if pair is not None]
        square = math.fsum(
            (c.get(name, 0.0) - (name in case.guilty)) ** 2
            for c, case in zip(chances, fresh, strict=True)
            for name in names
        )
        mean = math.fsum(score for score, _ in scores) / len(scores)
        first = sum(right for _, right in scores) / len(scores)
        made.append(Tally(mean, first, square / len(fresh) / len(names)))
    return made


def _listed(chances: Mapping[str, float], names: Sequence[str]) -> dict[str, float]:
    """The chances of the causes *names*, and of what is off the list."""
    return {name: min(1.0, chances[name]) for name in (*names, NOT_LISTED) if name in chances}


def shop(knowledge: Knowledge, name: str, departure: Departure, number: int, store: Store) -> tuple[list[Tally], bool]:
    """Return how fresh cases of one shop are foretold (by the book, after each of `AFTER`, by one who knows), and whether the replay took it."""
    world = World(knowledge, BUILDS[number % len(BUILDS)], departure, f"log {name} {number}")
    known, rng = world.book.knowledge, random.Random(f"closing {name} {number}")
    drawn, file = cases(world, f"log {name} {number}"), _file(world)
    models, place = [ModelCache(known).of(file)], 0
    for most in AFTER:
        with store.writing() as connection:
            put_in(connection, [logged(world, next(drawn), i, rng) for i in range(place, most)])
        place = most
        with store.reading() as connection:
            models.append(LearnedModels(known, learn(connection, known).only("rates", "links", "results")).of(file))
    taken = judge(store, known, None, None).accepted
    if not departure.missing:
        models.append(true_model(world))
    return tally(models, [next(drawn) for _ in range(FRESH)], sorted(world.book.causes)), taken


def _file(world: World) -> CaseFile:
    from diagnose.logbook.entry import case_of

    painted = "yes" if world.model.painted else "no"
    return case_of({"case": 1, "answers": {"build": world.model.build, "painted": painted}}, world.model.knowledge)


def one(task: tuple[str, Departure, int]) -> tuple[list[Tally], bool]:
    """Return what `shop` finds, on a log of its own that is gone afterward."""
    with tempfile.TemporaryDirectory() as folder:
        store = open_log(where_of(str(Path(folder) / "log.db")), write=True)
        found = shop(_shipped(), *task, store)
        store.close()
    return found


@cache
def _shipped() -> Knowledge:
    return load_knowledge(str(ROOT / "knowledge"))


def run(name: str, departure: Departure, shops: int = SHOPS, executor: Executor | None = None) -> Row:
    """Return the row of one kind of world, a mean over its *shops*; they may be worked out by the *executor*."""
    tasks = [(name, departure, number) for number in range(shops)]
    found = list(executor.map(one, tasks) if executor is not None else map(one, tasks))
    means = [_mean(column) for column in zip(*(tallies for tallies, _ in found), strict=True)]
    knowing = means[-1] if len(means) == len(AFTER) + 2 else None
    return Row(name, means[0], tuple(means[1 : len(AFTER) + 1]), knowing, sum(taken for _, taken in found))


def _mean(found: Sequence[Tally]) -> Tally:
    count = len(found)
    return Tally(*(math.fsum(getattr(t, key) for t in found) / count for key in ("log_score", "first", "brier")))


def table(rows: Sequence[Row]) -> list[str]:
    """Return the table: log score, right first cause and Brier score by the book, after each of `AFTER`, and by one who knows."""
    after = " | ".join(f"after {n}" for n in AFTER)
    lines = [
        f"| world | what | the book | {after} | who knows the shop | won back |",
        "| --- " * (len(AFTER) + 5) + "|",
    ]
    for row in rows:
        ways = [row.book, *row.learned, *([row.knowing] if row.knowing else [])]
        blank = [] if row.knowing else ["-"]
        won = [row.won_back(i) for i in range(len(AFTER))]
        shares = ", ".join("-" if share is None else f"{100 * share:.0f} %" for share in won)
        scores = [*(f"{way.log_score:.2f}" for way in ways), *blank, shares]
        firsts = [*(f"{100 * way.first:.0f} %" for way in ways), *blank, ""]
        briers = [*(f"{1000 * way.brier:.1f}" for way in ways), *blank, ""]
        taken = [*[""] * len(AFTER), str(row.taken), "", ""]
        lines.append(f"| {row.name} | log score | {' | '.join(scores)} |")
        lines.append(f"| | first cause right | {' | '.join(firsts)} |")
        lines.append(f"| | Brier, thousandths | {' | '.join(briers)} |")
        lines.append(f"| | taken by the replay, of {SHOPS} shops | {' | '.join(taken)} |")
    return lines


def picture(rows: Sequence[Row], path: Path) -> None:
    """Draw the log score by cases closed, a line a kind of world, with a mark at the right for one who knows the shop, as SVG at *path*."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context({"svg.hashsalt": "calibration-log", "svg.fonttype": "path", "font.size": 9}):
        figure = Figure(figsize=(6.4, 4.6), layout="constrained")
        axes = figure.subplots()
        looks = (
            ("#111", "o", "-"),
            ("#0b57a4", "s", "-"),
            ("#8a5a00", "^", "--"),
            ("#1a6b3c", "D", "-."),
            ("#8a1c14", "v", ":"),
            ("#5a2d82", "P", "--"),
        )
        end = len(AFTER) + 1
        for row, (color, mark, dash) in zip(rows, looks, strict=False):
            scores = [way.log_score for way in (row.book, *row.learned)]
            axes.plot(range(end), scores, color=color, marker=mark, linestyle=dash, markersize=5, label=row.name)
            if row.knowing is not None:
                axes.plot([end], [row.knowing.log_score], color=color, marker=mark, markersize=7, fillstyle="none")
        names = ["the book", *(f"{n} closed" for n in AFTER), "who knows"]
        axes.set_xticks(range(end + 1), names)
        axes.set_ylabel("log score (0 is perfect)")
        axes.grid(color="#ddd", linewidth=0.5)
        figure.legend(loc="outside lower center", ncols=2, frameon=False)
        figure.savefig(path, format="svg", metadata={"Date": None, "Creator": None})


def page(rows: Sequence[Row]) -> str:
    """Return the text of `docs/calibration-log.md`."""
    text = (Path(__file__).parent / "calibration_log.in.md").read_text(encoding="utf-8")
    filled = {
        "SHOPS": SHOPS,
        "MOST": AFTER[-1],
        "FRESH": FRESH,
        "ALL": len(rows) * SHOPS * AFTER[-1],
        "FOUND": len(rows) * SHOPS * FRESH,
        "AFTER": ", ".join(map(str, AFTER[:-1])) + f" and {AFTER[-1]}",
        "SYMPTOMS": round(100 * TELLING.symptoms),
        "ABSENT": round(100 * (TELLING.absent or 0.0)),
        "CHECKS": round(100 * TELLING.checks),
        "FACTS": round(100 * TELLING.facts),
        "SEEN": MOST,
        "NAMED": round(100 * NAMED),
        "WRONG": round(100 * WRONG),
        "TABLE": "\n".join(table(rows)),
    }
    for name, value in filled.items():
        text = text.replace(f"@{name}@", str(value))
    return text


def write(rows: Sequence[Row]) -> None:
    """Write the page and the picture."""
    (ROOT / "docs" / "calibration-log.md").write_text(page(rows), encoding="utf-8")
    picture(rows, ROOT / "docs" / "calibration-log.svg")


def main(jobs: int = 1, tell: Callable[[str], None] = print) -> None:
    """Run every kind of world on *jobs* processes and write the page and the picture: the same bytes however many."""
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as executor:
        rows = []
        for name, departure in WORLDS:
            rows.append(run(name, departure, executor=executor))
            tell("\n".join(table(rows[-1:])[2:]))
    write(rows)
    tell("written: docs/calibration-log.md, docs/calibration-log.svg")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1)
