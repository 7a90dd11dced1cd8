"""The tables of the store. Times are UTC, ISO 8601, as text; grams and minutes are plain numbers.

Nothing that was done is deleted: what was taken back keeps its row, with `undone_at` on its entry.
"""

from sqlalchemy import CheckConstraint, Column, Float, ForeignKey, Integer, MetaData, Table, Text, UniqueConstraint

METADATA = MetaData()


def _id() -> "Column[int]":
    return Column("id", Integer, primary_key=True)


PACKS = Table(
    "packs",
    METADATA,
    _id(),
    Column("material_id", Text, nullable=False),
    Column("size_a_g", Float, CheckConstraint("size_a_g >= 0"), nullable=False),
    Column("left_a_g", Float, CheckConstraint("left_a_g >= 0 AND left_a_g <= size_a_g"), nullable=False),
    Column("size_b_g", Float, CheckConstraint("size_b_g >= 0"), nullable=False),
    Column("left_b_g", Float, CheckConstraint("left_b_g >= 0 AND left_b_g <= size_b_g"), nullable=False),
    Column("price", Float, CheckConstraint("price >= 0")),
    Column("bought_on", Text),
    Column("opened_on", Text),
)
MOVES = Table(
    "moves",
    METADATA,
    _id(),
    Column("pack_id", Integer, nullable=False),  # no reference: the log outlives a pack that was thrown away
    Column("at", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("change_a_g", Float, nullable=False),
    Column("change_b_g", Float, nullable=False),
    Column("entry_id", Integer),
)
FACTS = Table("facts", METADATA, Column("key", Text, primary_key=True), Column("value", Text, nullable=False))
JOBS = Table("jobs", METADATA, _id(), Column("name", Text, nullable=False, unique=True), Column("due", Text))
PLANS = Table(
    "plans",
    METADATA,
    _id(),
    Column("job_id", Integer, ForeignKey("jobs.id"), nullable=False),
    Column("kept_at", Text, nullable=False),
    Column("digest", Text, nullable=False, unique=True),
    Column("made_from", Text, nullable=False),
    Column("made_by", Text, nullable=False),
    Column("folder", Text, nullable=False),
    Column("content", Text, nullable=False),
)
RUNS = Table(
    "runs",
    METADATA,
    _id(),
    Column("plan_id", Integer, ForeignKey("plans.id"), nullable=False),
    Column("part", Text, nullable=False),
    Column("begun_at", Text, nullable=False),
    Column("moulds", Integer, CheckConstraint("moulds >= 1"), nullable=False),
    Column("temperature_c", Float),
    Column("way", Text),
    Column("material", Text),
)
ENTRIES = Table(
    "entries",
    METADATA,
    _id(),
    Column("run_id", Integer, ForeignKey("runs.id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("at", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("step", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("undone_at", Text),
    UniqueConstraint("run_id", "number"),
)
CLOCKS = Table(
    "clocks",
    METADATA,
    _id(),
    Column("entry_id", Integer, ForeignKey("entries.id"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("started_at", Text, nullable=False),
    Column("ends_at", Text, nullable=False),
    Column("warn_at", Text),
)
MEASUREMENTS = Table(
    "measurements",
    METADATA,
    _id(),
    Column("entry_id", Integer, ForeignKey("entries.id"), nullable=False),
    Column("what", Text, nullable=False),
    Column("material_id", Text),
    Column("value", Float, nullable=False),
    Column("wanted", Float),
    Column("unit", Text, nullable=False),
)
OUTCOMES = Table(
    "outcomes",
    METADATA,
    _id(),
    Column("entry_id", Integer, ForeignKey("entries.id"), nullable=False),
    Column("mould", Integer, nullable=False),
    Column("shot", Integer, nullable=False),
    Column("good", Integer, nullable=False),
    Column("defects", Text, nullable=False),
)
PHOTOS = Table(
    "photos",
    METADATA,
    _id(),
    Column("entry_id", Integer, ForeignKey("entries.id"), nullable=False),
    Column("file", Text, nullable=False),
    Column("sha256", Text, nullable=False),
)
FORGOTTEN = Table(
    "forgotten",
    METADATA,
    _id(),
    Column("what", Text, nullable=False),
    Column("about", Text, nullable=False),
    Column("at", Text, nullable=False),
)
