"""The tables of the log as the queries see them: the newest schema. `migrations` makes them, step by step.

`cases` is one narrow row a part, `documents` holds the long texts beside it. `faults` and `outcome_causes` repeat what
Monday's page groups by (date, mold, lots, person, season, ratio, cost), so that the engine counts from an index without
a join.
"""

from __future__ import annotations

from sqlalchemy import Column, Double, Integer, LargeBinary, MetaData, Table, Text

metadata = MetaData()


def _texts(*names: str) -> list[Column[str]]:
    return [Column(name, Text, nullable=False) for name in names]


#: settings of the log itself: its schema version, the first and the next running number
log = Table("log", metadata, Column("key", Text, primary_key=True), Column("value", Integer, nullable=False))

#: what is told about a part and can be compared between parts; the same columns stand in `faults`
FACTORS = ("mold", "lot_a", "lot_b", "person", "season", "ratio")

cases = Table(
    "cases",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    *_texts("id", "origin", "digest", "added", "date", "week", "title", "part", "client"),
    *_texts("mold", "lot_a", "lot_b", "person", "season", "ratio", "build", "painted", "state", "knowledge", "first"),
    Column("first_chance", Double),
    Column("ratio_error", Double),
)

documents = Table(
    "documents",
    metadata,
    Column("case_number", Integer, primary_key=True, autoincrement=False),
    *_texts("case_json", "said"),
    Column("assessment", LargeBinary),
)

answers = Table(
    "answers",
    metadata,
    Column("case_number", Integer, primary_key=True, autoincrement=False),
    Column("question", Text, primary_key=True),
    *_texts("value", "source"),
)

faults = Table(
    "faults",
    metadata,
    Column("case_number", Integer, primary_key=True, autoincrement=False),
    Column("symptom", Text, primary_key=True),
    *_texts("date", *FACTORS),
    Column("cost", Double, nullable=False),
)

outcomes = Table(
    "outcomes",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("case_number", Integer, nullable=False),
    Column("current", Integer, nullable=False),
    *_texts("how", "next", "causes", "remedies", "date", "recorded", "case_date"),
    Column("cost", Double),
    Column("first_chance", Double),
    Column("right", Integer, nullable=False),
)

outcome_causes = Table(
    "outcome_causes",
    metadata,
    Column("outcome", Integer, primary_key=True, autoincrement=False),
    Column("cause", Text, primary_key=True),
    Column("case_number", Integer, nullable=False),
    Column("current", Integer, nullable=False),
    *_texts("case_date"),
    Column("cost", Double, nullable=False),
)

photos = Table(
    "photos",
    metadata,
    Column("digest", Text, primary_key=True),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("data", LargeBinary, nullable=False),
)

case_photos = Table(
    "case_photos",
    metadata,
    Column("case_number", Integer, primary_key=True, autoincrement=False),
    Column("place", Integer, primary_key=True, autoincrement=False),
    *_texts("name", "digest"),
)

learned = Table(
    "learned",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    *_texts("recorded", "content"),
    Column("in_use", Integer, nullable=False),
)
