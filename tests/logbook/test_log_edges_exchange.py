"""The log at its edges: lines that go out and come in, the first running number, and outcomes that meet."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest
from log_edges import entry
from msgspec.structs import replace

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import Knowledge
from diagnose.logbook.book import Kept, New, add, kept, listed
from diagnose.logbook.entry import Said
from diagnose.logbook.exchange import Anonymous, Taken, export_lines, export_table, import_file
from diagnose.logbook.movers import merge
from diagnose.logbook.places import where_of
from diagnose.logbook.store import Store, open_log

LINE: dict[str, Any] = {
    "log": 1,
    "id": "mine",
    "case": {"case": 1, "answers": {"build": "bare_foam", "symptoms": ["thin_skin"]}},
}


def outcome(cause: str, day: str) -> dict[str, Any]:
    """It was this, told on that day."""
    return {"causes": [cause], "how": "fixed", "next": "good", "date": day}


def taken(store: Store, models: ModelCache, folder: Path, *lines: Any) -> Taken:
    """Import these lines."""
    path = folder / "lines.jsonl"
    path.write_text("\n".join(json.dumps(line) for line in lines), encoding="utf-8")
    return import_file(store, path, models)


def test_the_very_first_parts_go_along(file_store: Store, knowledge: Knowledge, tmp_path: Path) -> None:
    """Running numbers begin anywhere from nought on: of 0, 1 and 2 none is left behind, in an export or a merge."""
    with file_store.writing() as connection:
        connection.exec_driver_sql("UPDATE log SET value = 0 WHERE key = 'next'")
    names = [
        add(file_store, New(replace(entry(knowledge, "thin_skin"), title=f"Gr\u00f6\u00dfe {i}"))) for i in range(3)
    ]
    out = io.StringIO()
    assert export_lines(file_store, out) == 3
    assert [json.loads(line)["id"] for line in out.getvalue().splitlines()] == names
    assert export_table(file_store, io.StringIO(), knowledge) == 3
    other = open_log(where_of(str(tmp_path / "other.db")), write=True)
    found = merge(other, file_store)
    assert (found.added, found.already, found.closed, found.renamed, found.refused, found.refused_count) == (
        3,
        0,
        0,
        {},
        [],
        0,
    )
    assert {each.id for each in listed(other)} == set(names)
    other.close()


def test_a_line_is_plain_letters(file_store: Store, models: ModelCache, tmp_path: Path) -> None:
    """So that it survives any mail: what is beyond ASCII is written as \\u and read back as it was; a line without an id renames nobody."""
    told = {**LINE, "case": {**LINE["case"], "title": "Gr\u00f6\u00dfe \U0001f989"}}
    del told["id"]
    found = taken(file_store, models, tmp_path, told, told)
    assert (found.added, found.renamed) == (2, {})
    out = io.StringIO()
    export_lines(file_store, out)
    assert out.getvalue().isascii()
    assert {json.loads(line)["case"]["title"] for line in out.getvalue().splitlines()} == {"Gr\u00f6\u00dfe \U0001f989"}


def test_a_table_has_no_column_for_what_is_worked_out(file_store: Store, knowledge: Knowledge) -> None:
    """Every fault, check and fact that may be told, by name; with what the log adds before them."""
    out = io.StringIO()
    assert export_table(file_store, out, knowledge) == 0
    (head,) = csv.reader(io.StringIO(out.getvalue()))
    asked = [name for name in head if name in knowledge.symptoms or name in knowledge.checks or name in knowledge.facts]
    told = {
        *knowledge.symptoms,
        *knowledge.checks,
        *(name for name, fact in knowledge.facts.items() if not fact.derived),
    }
    assert set(asked) == told
    assert head[-len(told) :] == sorted(told)
    assert head[: -len(told)] == [
        "id", "state", "title", "date", "part", "mold", "lot_a", "lot_b", "person", "client", "remarks", "first", "first_chance", "causes", "how",
        "next", "remedies", "cost", "closed",
    ]  # fmt: skip


def test_a_time_of_day_may_tell_who_it_was() -> None:
    """What is hidden keeps the day alone, and an id of somebody's own becomes a number."""
    told = Kept(
        "ragnhild-7",
        False,
        {"case": 1, "answers": {}, "about": {"date": "2026-03-02 14:30", "part": "head"}},
        Said(),
        None,
        (),
        (),
    )
    hide = Anonymous()
    first = hide.hidden(told)
    assert (first.id, first.case) == (
        "case-1",
        {"case": 1, "answers": {}, "about": {"date": "2026-03-02", "part": "part 1"}},
    )
    assert hide.hidden(replace(told, id="another")).id == "case-2"
    assert hide.hidden(told).id == "case-1"
    assert hide.hidden(replace(told, id="22222")).id == "22222", "one that this program gave tells nothing"


@pytest.mark.parametrize(
    ("day", "cause"), [("2026-03-03", "a_rich"), ("2026-03-02", "mold_cold"), ("2026-03-01", "mold_cold")]
)
def test_the_last_of_their_outcomes_meets_the_last_of_ours(
    day: str, cause: str, file_store: Store, models: ModelCache, tmp_path: Path
) -> None:
    """Both were corrected: only the outcomes that hold are compared, and the later of the two holds."""
    taken(
        file_store,
        models,
        tmp_path,
        {**LINE, "outcome": outcome("mold_cold", "2026-03-02"), "earlier": [outcome("b_wet", "2026-12-31")]},
    )
    theirs = {
        **LINE,
        "outcome": outcome("a_rich", day),
        "earlier": [outcome("b_wet", "2026-11-30"), outcome("b_aged", "2026-11-29")],
    }
    found = taken(file_store, models, tmp_path, theirs)
    assert (found.added, found.already, found.closed) == (0, 1, int(cause == "a_rich"))
    assert kept(file_store, "mine").outcomes[0].causes == (cause,)
    assert len(kept(file_store, "mine").outcomes) == 2 + found.closed


def test_what_waits_here_is_closed_by_what_is_told_there(file_store: Store, models: ModelCache, tmp_path: Path) -> None:
    """Under its own id or the one that it came with; a case of another content under that id is another case."""
    taken(file_store, models, tmp_path, LINE)
    another = {**LINE, "case": {**LINE["case"], "title": "another"}}
    (new,) = taken(file_store, models, tmp_path, another).renamed.values()
    for name in ("mine", new):
        closed = {**another, "id": name, "outcome": outcome("a_rich", "2026-03-02")}
        found = taken(file_store, models, tmp_path, closed)
        assert (found.added, found.already, found.closed) == (0, 1, int(name == "mine"))
    assert {each.id: each.state for each in listed(file_store)} == {"mine": "open", new: "closed"}
