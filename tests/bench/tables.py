"""What was found, as tables with ratios, and held against the goals."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median

from tests.bench import nets
from tests.bench.cells import Found
from tests.bench.runs import PGMPY_ANSWERS, Bench, medians


def milliseconds(seconds: float | None, failure: str = "") -> str:
    """A time in milliseconds with three figures, or why there is none."""
    if seconds is None:
        return failure or "-"
    value = seconds * 1e3
    return f"{value:.3g}" if value < 999.5 else f"{value:,.0f}"


def ratio(ours: Found, theirs: Found, present: int, kind: str) -> float | None:
    """How many times as long as ours, the median over the cases that both have done."""
    pairs = zip(ours.records.get(present, []), theirs.records.get(present, []), strict=False)
    return median([other[kind] / mine[kind] for mine, other in pairs] or [0.0]) or None


def times(value: float | None) -> str:
    """A ratio with three figures."""
    return "-" if value is None else f"{value:.3g} ×"


def _error(found: Found, sure: Found, present: int, parts: bool) -> float | None:
    """The greatest difference from the reference over all causes of all cases."""
    pairs = list(zip(found.records.get(present, []), sure.records.get(present, []), strict=False))
    kinds = ("held", "part") if parts else ("held",)
    return max(
        (abs(a - b) for mine, truth in pairs for kind in kinds for a, b in zip(mine[kind], truth[kind], strict=True)),
        default=None,
    )


def _figure(value: float | None) -> str:
    return "-" if value is None else f"{value:.0e}"


def net_table(bench: Bench, net: str, best: dict[str, str], presents: Sequence[int]) -> Iterator[str]:
    """Yield the table of one net: a row for each count of findings present, with "held" alone and with parts."""
    heads = ["present", "asked", "ours: inference", "and making ready"]
    for library in best:
        heads += [f"{library}: inference", "of ours", "and making ready", "of ours"]
    yield "| " + " | ".join([*heads, "error: " + ", ".join(["ours", *best])]) + " |"
    yield "| --- " * (len(heads) + 1) + "|"
    ours, sure = bench.cell("answer", net, presents, "ours"), bench.cell("reference", net, presents, "")
    for present in presents:
        for parts in (False, True):
            founds = {library: bench.cell("answer", net, presents, peer, parts) for library, peer in best.items()}
            alone, whole = (medians(ours, present, kind) for kind in ("alone", "whole"))
            cells = [str(present or "1 to 5"), "held and part" if parts else "held"]
            cells += [milliseconds(alone, ours.failures.get(present, "").partition(":")[0]), milliseconds(whole)]
            for found in founds.values():
                for kind in ("alone", "whole"):
                    theirs = medians(found, present, kind)
                    cells += [
                        milliseconds(theirs, found.failures.get(present, "")),
                        times(ratio(ours, found, present, kind)),
                    ]
            errors = [_error(found, sure, present, parts) for found in (ours, *founds.values())]
            yield "| " + " | ".join([*cells, ", ".join(map(_figure, errors))]) + " |"


def memory_table(bench: Bench, best: dict[str, str], presents: Sequence[int], names: Sequence[str]) -> Iterator[str]:
    """Yield the table of memory held on top, with parts, the most of the cases."""
    yield (
        "| net, MiB at findings present: ours"
        + "".join(f" / {name}" for name in best)
        + " | "
        + " | ".join(map(str, presents))
        + " |"
    )
    yield "| --- " * (len(presents) + 1) + "|"
    for net in names:
        founds = [bench.cell("answer", net, presents, peer) for peer in ("ours", *best.values())]
        yield (
            f"| {net} | "
            + " | ".join(" / ".join(_most(found, present) for found in founds) for present in presents)
            + " |"
        )


def _most(found: Found, present: int) -> str:
    records = found.records.get(present, [])
    return f"{max(record['memory'] for record in records):.3g}" if records else "-"


def step_table(bench: Bench, best: dict[str, str], steps: Sequence[tuple[str, int]]) -> Iterator[str]:
    """Yield the table of the step to the next question."""
    heads = ["net", "present", "answers", "ours at once", "ours again for each", "of ours"]
    for library in best:
        heads += [f"{library} again for each: inference", "of ours", "and making ready", "of ours"]
    yield "| " + " | ".join(heads) + " |"
    yield "| --- " * len(heads) + "|"
    for net, present in steps:
        once = bench.cell("predict", net, (present,), "ours")
        again = bench.cell("again", net, (present,), "ours")
        now, mine = medians(once, present, "alone"), medians(again, present, "alone")
        cells = [net, str(present or "1 to 5"), f"{medians(once, present, 'answers') or 0:.0f}"]
        cells += [
            milliseconds(now, once.failures.get(present, "")),
            milliseconds(mine, again.failures.get(present, "")),
            times(ratio(once, again, present, "alone")),
        ]
        for library, peer in best.items():
            found = bench.cell("again", net, (present,), peer, most=PGMPY_ANSWERS if library == "pgmpy" else 0)
            for kind in ("alone", "whole"):
                theirs = medians(found, present, kind)
                cells += [
                    milliseconds(theirs, found.failures.get(present, "")),
                    times(ratio(once, found, present, kind)),
                ]
        yield "| " + " | ".join(cells) + " |"


# -- goals ---------------------------------------------------------------------------------------------------------


def goals(bench: Bench, best: dict[str, str], presents: Sequence[int], names: Sequence[str]) -> Iterator[str]:
    """Yield a line for each goal: what was found, met or missed, or that it was not measured."""
    for library, goal in (("pyAgrum", 20.0), ("pgmpy", 200.0)):
        if library in best:
            for net in (nets.WORKED, *names) if len(names) > 1 else names:
                counts, present = ((0,), 0) if net == nets.WORKED else (presents, 6 if 6 in presents else presents[-1])
                yield _ratio_goal(bench, net, counts, present, best[library], goal)
    for net in [name for name in names if name.startswith("60 x 200")]:
        ours = bench.cell("answer", net, presents, "ours")
        for present, most in ((10, 2.0), (20, 20.0)):
            took = medians(ours, present, "alone")
            said = f"{milliseconds(took)} ms" if took is not None else ours.failures.get(present, "not measured")
            verdict = "Not measured" if said == "not measured" else _met(took is not None and took * 1e3 < most)
            yield f"- {verdict}: under {most:g} ms with {present} present on {net}: {said}"
    worst = worst_error(bench, presents, names)
    yield f"- {_met(worst < 1e-12)}: error below 1e-12 throughout: {worst:.1e}"


def _met(yes: bool) -> str:
    return "Met" if yes else "**Missed**"


def _ratio_goal(bench: Bench, net: str, presents: Sequence[int], present: int, peer: str, goal: float) -> str:
    """Held and part by inference alone, by which the goal is met or missed, then with making ready."""
    ours, theirs = (bench.cell("answer", net, presents, name) for name in ("ours", peer))
    at = "" if net == nets.WORKED else f" with {present} present"
    name = f"{goal:g} times {peer} on {net}{at}"
    alone, whole = (ratio(ours, theirs, present, kind) for kind in ("alone", "whole"))
    if alone is not None and whole is not None:
        return f"- {_met(alone >= goal)}: {name}: {alone:.3g} times by inference alone, {whole:.3g} times with making ready"
    mine, why = medians(ours, present, "alone"), theirs.failures.get(present, "not measured")
    if mine is None or why in ("not measured", "not tried"):
        return f"- Not measured: {name}"
    if why.endswith(" s"):
        least = bench.limit / mine
        return f"- {_met(least >= goal)}: {name}: over {least:,.0f} times (it was stopped: {why})"
    return f"- No ratio: {name}: it could not be done ({why})"


def worst_error(bench: Bench, presents: Sequence[int], names: Sequence[str]) -> float:
    """The greatest error of ours over all that was measured."""
    worked = [(nets.WORKED, (0,))] if len(names) > 1 else []
    found = [
        _error(bench.cell("answer", net, counts, "ours"), bench.cell("reference", net, counts, ""), present, True)
        for net, counts in [*worked, *((name, presents) for name in names)]
        for present in counts
    ]
    return max(error for error in found if error is not None)
