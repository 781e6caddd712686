"""The tables of the log as the queries see them, by names and types: the newest schema. `migrations` makes them, step
by step, with their keys and what must not be null.

`cases` is one narrow row a part, `documents` holds the long texts beside it. `faults` and `outcome_causes` repeat what
Monday's page groups by (date, mold, lots, person, season, ratio, cost), so that the engine counts from an index without
a join.
"""

from __future__ import annotations

from sqlalchemy import Column, Double, Integer, LargeBinary, MetaData, Table, Text

metadata = MetaData()


def _texts(*names: str) -> list[Column[str]]:
    return [Column(name, Text) for name in names]


#: settings of the log itself: its schema version, the first and the next running number
log = Table("log", metadata, Column("key", Text), Column("value", Integer))

#: what is told about a part and can be compared between parts; the same columns stand in `faults`
FACTORS = ("mold", "lot_a", "lot_b", "person", "season", "ratio")

cases = Table(
    "cases",
    metadata,
    Column("number", Integer),
    *_texts("id", "origin", "digest", "added", "date", "week", "title", "part", "client"),
    *_texts("mold", "lot_a", "lot_b", "person", "season", "ratio", "build", "painted", "state", "knowledge", "first"),
    Column("first_chance", Double),
    Column("ratio_error", Double),
)

documents = Table(
    "documents",
    metadata,
    Column("case_number", Integer),
    *_texts("case_json", "said"),
    Column("assessment", LargeBinary),
)

answers = Table(
    "answers",
    metadata,
    Column("case_number", Integer),
    Column("question", Text),
    *_texts("value", "source"),
)

faults = Table(
    "faults",
    metadata,
    Column("case_number", Integer),
    Column("symptom", Text),
    *_texts("date", *FACTORS),
    Column("cost", Double),
)

outcomes = Table(
    "outcomes",
    metadata,
    Column("number", Integer),
    Column("case_number", Integer),
    Column("current", Integer),
    *_texts("how", "next", "causes", "remedies", "date", "recorded", "case_date"),
    Column("cost", Double),
    Column("first_chance", Double),
    Column("right", Integer),
)

outcome_causes = Table(
    "outcome_causes",
    metadata,
    Column("outcome", Integer),
    Column("cause", Text),
    Column("case_number", Integer),
    Column("current", Integer),
    *_texts("case_date"),
    Column("cost", Double),
)

photos = Table(
    "photos",
    metadata,
    Column("digest", Text),
    Column("width", Integer),
    Column("height", Integer),
    Column("data", LargeBinary),
)

case_photos = Table(
    "case_photos",
    metadata,
    Column("case_number", Integer),
    Column("place", Integer),
    *_texts("name", "digest"),
)

learned = Table(
    "learned",
    metadata,
    Column("number", Integer),
    *_texts("recorded", "content"),
    Column("in_use", Integer),
    *_texts("ended", "digest"),
    Column("cases", Integer),
)
