"""A million cases: `python tests/logbook/generate.py WHERE [COUNT]` fills a new log with made-up parts, to measure how it answers.

Five years of a shop: forty molds, lots that change, eight people; half the parts good, the bad ones with two faults or three, most of
them closed. One mold starves at the tips, so that there is something to find.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from diagnose.knowledge import load_knowledge
from diagnose.logbook.book import New, put_in
from diagnose.logbook.entry import About, Entry, Outcome, Said
from diagnose.logbook.places import where_of
from diagnose.logbook.store import open_log

BLOCK = 20_000


def parts(count: int, seed: int = 1) -> Iterator[New]:
    """Yield *count* parts, oldest first."""
    draw, knowledge = random.Random(seed), load_knowledge()
    causes, symptoms = sorted(knowledge.causes), sorted(knowledge.symptoms)[:40]
    days = 5 * 365
    for i in range(count):
        day = (date(2021, 1, 4) + timedelta(days=i * days // count)).isoformat()
        lot = i * 400 // count
        mold = f"mold {draw.randrange(40) + 1}"
        about = About(
            day,
            "head",
            mold,
            f"A-{lot}",
            f"B-{lot // 2}",
            f"person {draw.randrange(8) + 1}",
            f"client {draw.randrange(20)}",
        )
        good = draw.random() < 0.5
        shown = () if good else tuple(sorted({symptoms[int(draw.random() ** 2 * 40)] for _ in range(3)}))
        if not good and mold == "mold 7" and draw.random() < 0.3:
            shown = tuple(sorted({*shown, "rounded_tips"}))
        yield New(_entry(i, about, good, shown, draw, causes), _outcome(good, day, draw, causes))


def _entry(i: int, about: About, good: bool, shown: tuple[str, ...], draw: random.Random, causes: list[str]) -> Entry:
    answers: dict[str, object] = {
        "build": "bare_foam",
        "painted": "no",
        "mold_temperature": f"{draw.randrange(10, 35)} degC",
    }
    if shown:
        answers["symptoms"] = list(shown)
    told = {"date": about.date, "part": about.part, "mold": about.mold, "lot_a": about.lot_a, "lot_b": about.lot_b}
    case = {
        "case": 1,
        "title": f"part {i}",
        "answers": answers,
        "about": {**told, "person": about.person, "client": about.client},
    }
    known = (
        ("build", "bare_foam", "seen"),
        ("mold_temperature", "21", "measured"),
        *((s, "seen", "seen") for s in shown),
    )
    said = Said("made up", () if good else ((draw.choice(causes), round(draw.random(), 6)),))
    return Entry(case, f"part {i}", about, "bare_foam", "no", shown, known, good, round(draw.gauss(0, 2), 3), said)


def _outcome(good: bool, day: str, draw: random.Random, causes: list[str]) -> tuple[Outcome, ...]:
    if good or draw.random() < 0.1:
        return ()
    named = (causes[int(draw.random() ** 2 * len(causes))],)
    return (
        Outcome(
            named,
            draw.choice(("looked", "fixed", "tested")),
            draw.choice(("good", "bad")),
            (),
            float(draw.randrange(200)),
            day,
        ),
    )


def fill(where: str, count: int) -> None:
    """Put *count* parts into the log at *where*."""
    store = open_log(where_of(where), write=True)
    made, block = parts(count), []
    for new in made:
        block.append(new)
        if len(block) == BLOCK:
            with store.writing() as connection:
                put_in(connection, block)
            block = []
    if block:
        with store.writing() as connection:
            put_in(connection, block)
    store.close()


if __name__ == "__main__":
    fill(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 1_000_000)
