"""Jobs, their plans, and what is done at the bench."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of plans and of the bench; a move of the stock knows the entry that it came of."""
    op.add_column("moves", sa.Column("entry_id", sa.Integer))
    _make_plans()
    _make_runs()
    _make_what_was_seen()


def _make_plans() -> None:
    op.create_table(
        "jobs",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", sa.Text, nullable=False, unique=True),
        sa.Column("due", sa.Text),
    )
    op.create_table(
        "plans",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("job_id", sa.Integer, sa.ForeignKey("jobs.id"), nullable=False),
        sa.Column("kept_at", sa.Text, nullable=False),
        sa.Column("digest", sa.Text, nullable=False, unique=True),
        sa.Column("made_from", sa.Text, nullable=False),
        sa.Column("made_by", sa.Text, nullable=False),
        sa.Column("folder", sa.Text, nullable=False),
        sa.Column("content", sa.Text, nullable=False),
    )
    if op.get_bind().dialect.name == "sqlite":
        op.execute(
            "CREATE TRIGGER a_plan_stays_as_it_was_made BEFORE UPDATE ON plans "
            "BEGIN SELECT RAISE(ABORT, 'a kept plan is never changed'); END"
        )


def _make_runs() -> None:
    op.create_table(
        "runs",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("plan_id", sa.Integer, sa.ForeignKey("plans.id"), nullable=False),
        sa.Column("part", sa.Text, nullable=False),
        sa.Column("begun_at", sa.Text, nullable=False),
        sa.Column("moulds", sa.Integer, sa.CheckConstraint("moulds >= 1"), nullable=False),
        sa.Column("temperature_c", sa.Float),
    )
    op.create_table(
        "entries",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("run_id", sa.Integer, sa.ForeignKey("runs.id"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("step", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("undone_at", sa.Text),
        sa.UniqueConstraint("run_id", "number"),
    )


def _make_what_was_seen() -> None:
    op.create_table(
        "clocks",
        *_of_entry(),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("started_at", sa.Text, nullable=False),
        sa.Column("ends_at", sa.Text, nullable=False),
        sa.Column("warn_at", sa.Text),
    )
    op.create_table(
        "measurements",
        *_of_entry(),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("material_id", sa.Text),
        sa.Column("value", sa.Float, nullable=False),
        sa.Column("wanted", sa.Float),
        sa.Column("unit", sa.Text, nullable=False),
    )
    op.create_table(
        "outcomes",
        *_of_entry(),
        sa.Column("mould", sa.Integer, nullable=False),
        sa.Column("shot", sa.Integer, nullable=False),
        sa.Column("good", sa.Integer, nullable=False),
        sa.Column("defects", sa.Text, nullable=False),
    )
    op.create_table(
        "photos",
        *_of_entry(),
        sa.Column("file", sa.Text, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
    )
    op.create_table(
        "forgotten",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("about", sa.Text, nullable=False),
        sa.Column("at", sa.Text, nullable=False),
    )


def _of_entry() -> "tuple[sa.Column[int], sa.Column[int]]":
    return (
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("entry_id", sa.Integer, sa.ForeignKey("entries.id"), nullable=False),
    )
