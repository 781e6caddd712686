"""Monday's page in words: parts of the page as tables with a remark, and the lines that a terminal prints of them.

What comes in is the page as JSON data, as `diagnose log page --json` prints it. No share stands without its interval or
its counts, and no p-value stands alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct

from diagnose.knowledge import Knowledge
from diagnose.prose.text import clean, counted, shortened

Plain = Mapping[str, Any]

#: rows of a table on the terminal, and weeks
MOST, WEEKS = 10, 12
FACTOR = {
    "mold": "mold",
    "lot_a": "lot of A",
    "lot_b": "lot of B",
    "person": "person",
    "season": "season",
    "ratio": "ratio",
}
SIGNAL = {
    "above": "over the limit",
    "below": "under the limit",
    "run_above": "nine or more in a row over the center",
    "run_below": "nine or more in a row under the center",
}


class Part(Struct, frozen=True):
    """One part of the page: *key* for looks and tests, a title, a table with its head, and what to know about it."""

    key: str
    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    remark: str = ""


def page_title(page: Plain) -> str:
    """Return the heading of the page: the span it covers."""
    days = " to ".join(filter(None, (page["from"] or "", page["to"] or "")))
    if days and not (page["from"] and page["to"]):
        days = f"from {days}" if page["from"] else f"up to {days}"
    return f"The house log, {days or 'all of it'}"


def page_summary(page: Plain) -> str:
    """Return what the page says in one line."""
    n, bad = page["n"], page["bad"]
    if not n:
        return "No part is logged for these days."
    words = f"{counted(n, 'part')}, {bad} bad ({percent(bad / n)})"
    return words + (f"; {page['waiting']} wait for an outcome" if page["waiting"] else "")


def page_parts(page: Plain, knowledge: Knowledge) -> list[Part]:
    """Return the parts of the page that have anything to say."""
    made = [
        _pareto(page["pareto_faults"], knowledge, "faults", "Faults, the most frequent first", "Fault"),
        _pareto(page["pareto_causes"], knowledge, "causes", "Causes of closed parts, the most frequent first", "Cause"),
        _chart(page["p_chart"]),
        _together(page, knowledge),
        _plans(page["plans"]),
        _calibration(page["calibration"]),
    ]
    return [part for part in made if part.rows or part.key == "together"] if page["n"] else []


def page_lines(page: Plain, knowledge: Knowledge) -> Iterator[str]:
    """Yield the page as lines for a terminal or a mail."""
    yield page_title(page)
    yield page_summary(page)
    for part in page_parts(page, knowledge):
        rows = part.rows[-WEEKS:] if part.key == "weeks" else part.rows[:MOST]
        yield ""
        yield part.title.upper()
        yield from _columns((part.head, *rows) if rows else ())
        if len(rows) < len(part.rows):
            yield f"  and {len(part.rows) - len(rows)} more"
        if part.remark:
            yield f"  {part.remark}"


def _columns(rows: Sequence[tuple[str, ...]]) -> Iterator[str]:
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))] if rows else []
    for row in rows:
        cells = [
            cell.ljust(w) if i == 0 else cell.rjust(w) for i, (cell, w) in enumerate(zip(row, widths, strict=True))
        ]
        yield ("  " + "  ".join(cells)).rstrip()


def percent(share: float) -> str:
    """Return *share* in whole percent."""
    return f"{100 * share:.0f} %"


def label(knowledge: Knowledge, name: str) -> str:
    """Return the name of a cause or symptom as the page writes it."""
    return "None of the causes known here" if name == "not_listed" else shortened(knowledge.label(name), 60)


def _pareto(bars: Sequence[Plain], knowledge: Knowledge, key: str, title: str, what: str) -> Part:
    rows = tuple(
        (label(knowledge, b["id"]), str(b["count"]), percent(b["share"]), percent(b["cumulative"]), money(b["cost"]))
        for b in bars
    )
    remark = ""
    dear = sorted((b for b in bars if b["cost"] > 0), key=lambda b: (-b["cost"], b["id"]))
    if dear and dear[0]["id"] != bars[0]["id"]:
        remark = f"By cost the first is: {label(knowledge, dear[0]['id'])} ({money(dear[0]['cost'])})."
    return Part(key, title, (what, "count", "share", "so far", "cost"), rows, remark)


def money(amount: float) -> str:
    """Return an amount in the shop's own money, whole."""
    return f"{amount:,.0f}" if amount else "-"


def _chart(chart: Plain) -> Part:
    rows = tuple(
        (
            point["period"],
            str(point["n"]),
            str(point["bad"]),
            percent(point["p"]),
            f"{percent(point['low'])} to {percent(point['high'])}",
            "; ".join(SIGNAL[signal] for signal in point["signals"]),
        )
        for point in chart["points"]
    )
    remark = (
        f"Center {percent(chart['center'])}. Within the limits a week differs from the others by chance; a signal is "
        f"worth a look "
        "for what was different."
    )
    return Part(
        "weeks", "Share of bad parts by week", ("Week", "parts", "bad", "share", "limits", "signal"), rows, remark
    )


def _together(page: Plain, knowledge: Knowledge) -> Part:
    rows = tuple(
        (
            f"{label(knowledge, a['fault'])}, {FACTOR[a['factor']]} {shortened(clean(a['level']), 40)}",
            f"{a['seen']} of {a['of']}",
            f"{a['seen_elsewhere']} of {a['of_elsewhere']}",
            f"{a['odds_ratio']:.1f} ({a['low']:.1f} to {a['high']:.1f})",
            f"{a['q']:.2g}",
        )
        for a in page["associations"]
    )
    tested = counted(page["pairs_tested"], "pair")
    remark = (
        f"{tested.capitalize()} of fault and circumstance tested (Fisher's exact test); of those shown at most one "
        f"in ten is to be expected to be "
        "chance (q, Benjamini and Hochberg). What goes together need not be the cause."
        if rows
        else f"Nothing stands out ({tested} tested)."
    )
    head = ("Fault and where", "there", "elsewhere", "odds ratio (95 %)", "q")
    return Part("together", "What goes with what", head, rows, remark)


def _plans(plans: Plain) -> Part:
    if not plans["tried"]:
        return Part("plans", "", (), ())
    share = percent(plans["good"] / plans["tried"])
    row = (f"{plans['good']} of {plans['tried']}", share, f"{percent(plans['low'])} to {percent(plans['high'])}")
    return Part("plans", "The next pour came good", ("Parts", "share", "95 % interval"), (row,))


def _calibration(bands: Sequence[Plain]) -> Part:
    rows = tuple(
        (
            f"{percent(b['from'])} to {percent(b['to'])}",
            percent(b["said"]),
            f"{b['right']} of {b['n']}",
            percent(b["right"] / b["n"]),
            f"{percent(b['low'])} to {percent(b['high'])}",
        )
        for b in bands
    )
    head = ("First cause said to be", "on average", "was right", "share", "95 % interval")
    return Part("calibration", "Is the first cause as sure as it is said to be?", head, rows)
