"""How far stated probabilities hold: `python -m tests.proof.calibration` writes `docs/calibration.md` and `docs/calibration.svg`, and
what a shop's log wins back (`calibration_log.py`).

Cases are drawn from the book's own model, then from worlds that depart from it and callers who forget, slip and err, all at stated rates, with
fixed seeds. Each case is thought through as the program does, and what it states of every cause is held against what truly was. One
process, some two minutes of one core; `python -m tests.proof.calibration CASES` takes another number of cases a row.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import NOT_LISTED
from tests.proof import calibration_log
from tests.proof.scoring import Bin, Brier, bins_of, brier_parts
from tests.proof.worlds import BUILDS, Case, Departure, Telling, World

ROOT = Path(__file__).parents[2]
CASES = 400
#: shops of each kind of world: what departs is drawn anew for each
SHOPS = 8
#: more seen at once than this is left out, for it takes long (the cases left out depend on the answers alone, so calibration stands)
MOST_SEEN = 13
_BOOK = Departure()
_USUAL = Telling()
_EARLY = Telling(symptoms=0.6, absent=0.12, checks=0.3, facts=0.3)


@dataclass(frozen=True)
class Scenario:
    """A row of the table: *name*, how the world departs, how callers answer; *drawn*: whether it is a line of the picture."""

    name: str
    departure: Departure = _BOOK
    telling: Telling = _USUAL
    drawn: bool = False


SCENARIOS: tuple[Scenario, ...] = (
    Scenario(
        "as the book says: symptoms, plain checks",
        telling=Telling(symptoms=0.35, checks=0.7, facts=0.0, plain=True),
        drawn=True,
    ),
    Scenario("and facts", telling=Telling(symptoms=0.35, checks=0.7, plain=True)),
    Scenario("facts and every check", drawn=True),
    Scenario("half of the answers dropped", telling=_USUAL.dropped(0.5)),
    Scenario("faults told, absences seldom", telling=_EARLY),
    Scenario("40 % remembered, 1 in 4 of them wrong", telling=Telling(remembered=0.4, slips=0.25)),
    Scenario("5 % wrong, said as seen", telling=Telling(wrong=0.05)),
    Scenario("10 % wrong, said as seen", telling=Telling(wrong=0.1), drawn=True),
    Scenario("links off by 1.5", Departure(links=1.5)),
    Scenario("links off by 2", Departure(links=2.0), drawn=True),
    Scenario("links off by 3", Departure(links=3.0)),
    Scenario("base rates off by 3", Departure(bases=3.0)),
    Scenario("ratios of facts off by 2", Departure(ratios=2.0)),
    Scenario("3 causes that the book lacks", Departure(missing=3)),
    Scenario("10 causes that the book lacks", Departure(missing=10)),
    Scenario("3 habits of the shop, odds times 8", Departure(habits=3)),
    Scenario(
        "all of it: links 2, bases 2, 3 missing, 2 habits, 30 % remembered, 5 % wrong",
        Departure(links=2.0, bases=2.0, missing=3, habits=2),
        Telling(remembered=0.3, slips=0.25, wrong=0.05),
        drawn=True,
    ),
)


@dataclass
class Stated:
    """What was stated, and what was so: *forecasts* and *outcomes* of "had a part" for every cause of every case; the same of "held", of the
    first cause alone, and of "something off the list had a part"."""

    forecasts: list[float] = field(default_factory=list)
    outcomes: list[bool] = field(default_factory=list)
    held: list[float] = field(default_factory=list)
    truly_held: list[bool] = field(default_factory=list)
    first: list[float] = field(default_factory=list)
    first_right: list[bool] = field(default_factory=list)
    unlisted: list[float] = field(default_factory=list)
    truly_unlisted: list[bool] = field(default_factory=list)
    left_out: int = 0

    @property
    def cases(self) -> int:
        """How many cases were thought through."""
        return len(self.first)

    @property
    def parts(self) -> Brier:
        """The Brier score of "had a part" in its parts."""
        return brier_parts(self.forecasts, self.outcomes)

    @property
    def bins(self) -> list[Bin]:
        """How often each printed figure of "had a part" came true."""
        return bins_of(self.forecasts, self.outcomes)


def think(world: World, case: Case, stated: Stated) -> None:
    """Think *case* through and note what is stated and what is so."""
    network = world.book.network(case.answers)
    if sum(finding.on > 0.0 for finding in network.findings) > MOST_SEEN:
        stated.left_out += 1
        return
    engine = Inference(network)
    part, present = engine.responsible, engine.present
    names = [name for name in engine.names if name != NOT_LISTED]
    chances = [min(1.0, float(part[engine.index[name]])) for name in names]
    stated.forecasts += chances
    stated.outcomes += [name in case.guilty for name in names]
    stated.held += [min(1.0, float(present[engine.index[name]])) for name in names]
    stated.truly_held += [name in case.held for name in names]
    best = max(range(len(names)), key=lambda i: (round(chances[i], 10), -i))
    stated.first.append(chances[best])
    stated.first_right.append(names[best] in case.guilty)
    stated.unlisted.append(min(1.0, engine.unexplained))
    stated.truly_unlisted.append(case.unlisted)


def run(knowledge: Knowledge, scenario: Scenario, cases: int, shops: int = SHOPS) -> Stated:
    """Draw and think through *cases* cases of *scenario*, evenly of *shops* shops of the four builds in turn."""
    stated = Stated()
    for shop in range(shops):
        world = World(knowledge, BUILDS[shop % len(BUILDS)], scenario.departure, f"{scenario.name} {shop}")
        wanted = stated.cases + cases // shops + (shop < cases % shops)
        number = 0
        while stated.cases < wanted:
            case = world.case(scenario.telling, f"{scenario.name} {shop} {number}")
            number += 1
            if case is not None:
                think(world, case, stated)
    return stated


# -- the page ------------------------------------------------------------------------------------------------------


def _mean(values: Sequence[float] | Sequence[bool]) -> float:
    return sum(values) / len(values)


def _percent(value: float) -> str:
    return f"{100.0 * value:.0f} %"


def summary(found: Iterable[tuple[Scenario, Stated]]) -> list[str]:
    """Return the table of all scenarios: scores times 1000, and what was stated of the first cause and of what is off the list."""
    lines = [
        "| world and callers | Brier | reliability | resolution | uncertainty | first cause: stated | right | off the list: stated | true |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for scenario, stated in found:
        parts = stated.parts
        scores = (parts.score, parts.reliability, parts.resolution, parts.uncertainty)
        cells = [
            scenario.name,
            *(f"{1000.0 * value:.1f}" if value != parts.reliability else f"{1000.0 * value:.2f}" for value in scores),
            *map(_percent, map(_mean, (stated.first, stated.first_right, stated.unlisted, stated.truly_unlisted))),
        ]
        lines.append(f"| {' | '.join(cells)} |")
    return lines


def reliability_table(found: Sequence[tuple[Scenario, Stated]]) -> list[str]:
    """Return how often each printed figure came true, a row a figure, a column a scenario that is drawn: frequency ± error, number."""
    drawn = [(scenario, {b.percent: b for b in stated.bins}) for scenario, stated in found if scenario.drawn]
    lines = [f"| printed | {' | '.join(s.name for s, _ in drawn)} |", "| --- " * (len(drawn) + 1) + "|"]
    for percent in range(0, 101, 10):
        cells = [_bin(bins.get(percent)) for _, bins in drawn]
        lines.append(f"| {_printed(percent)} | {' | '.join(cells)} |")
    return lines


def _printed(percent: int) -> str:
    from diagnose.prose.chance import figure

    return figure(percent / 100.0)


def _bin(found: Bin | None) -> str:
    if found is None:
        return "none"
    digits = 1 if found.percent == 0 else 0
    return f"{100 * found.came_true:.{digits}f} ± {100 * found.error:.{digits}f} % of {found.count} (stated {100 * found.stated:.{digits}f} %)"


def picture(found: Sequence[tuple[Scenario, Stated]], path: Path) -> None:
    """Draw how often what was stated came true, a line a scenario that is drawn, as SVG at *path*; told apart by marks and dashes too."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context({"svg.hashsalt": "calibration", "svg.fonttype": "path", "font.size": 9}):
        figure = Figure(figsize=(6.4, 6.0), layout="constrained")
        axes = figure.subplots()
        axes.plot([0, 100], [0, 100], color="#999", linewidth=1, label="as stated")
        looks = (
            ("#111", "o", "-"),
            ("#0b57a4", "s", "-"),
            ("#8a5a00", "^", "--"),
            ("#1a6b3c", "D", "-."),
            ("#8a1c14", "v", ":"),
        )
        for (scenario, stated), (color, mark, dash) in zip([f for f in found if f[0].drawn], looks, strict=False):
            bins = [b for b in stated.bins if b.count >= 10]
            axes.errorbar(
                [100 * b.stated for b in bins],
                [100 * b.came_true for b in bins],
                yerr=[100 * b.error for b in bins],
                color=color,
                marker=mark,
                linestyle=dash,
                markersize=4.5,
                linewidth=1.2,
                elinewidth=0.6,
                label=scenario.name.split(":")[0],
            )
        axes.set(xlabel="stated: had a part, %", ylabel="came true, %", xlim=(0, 100), ylim=(0, 100), aspect="equal")
        axes.grid(color="#ddd", linewidth=0.5)
        axes.legend(loc="upper left", frameon=False)
        figure.savefig(path, format="svg", metadata={"Date": None, "Creator": None})


def page(found: Sequence[tuple[Scenario, Stated]]) -> str:
    """Return the text of `docs/calibration.md`."""
    cases = found[0][1].cases
    left = sum(stated.left_out for _, stated in found)
    text = (Path(__file__).parent / "calibration.in.md").read_text(encoding="utf-8")
    filled = {
        "CASES": str(cases),
        "SHOPS": str(SHOPS),
        "LEFT": str(left),
        "ALL": str(sum(stated.cases for _, stated in found)),
        "SEEN": str(MOST_SEEN),
        "SUMMARY": "\n".join(summary(found)),
        "TABLE": "\n".join(reliability_table(found)),
    }
    for name, value in filled.items():
        text = text.replace(f"@{name}@", value)
    return text


def main(cases: int, tell: Callable[[str], None] = print) -> None:
    """Run every scenario and write the page and the picture."""
    knowledge = load_knowledge(str(ROOT / "knowledge"))
    found = []
    for scenario in SCENARIOS:
        stated = run(knowledge, scenario, cases)
        found.append((scenario, stated))
        tell(
            f"{scenario.name}: Brier {1000 * stated.parts.score:.1f}, reliability {1000 * stated.parts.reliability:.2f} (of a thousand)"
        )
    (ROOT / "docs" / "calibration.md").write_text(page(found), encoding="utf-8")
    picture(found, ROOT / "docs" / "calibration.svg")
    tell("written: docs/calibration.md, docs/calibration.svg")
    calibration_log.main(tell=tell)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else CASES)
