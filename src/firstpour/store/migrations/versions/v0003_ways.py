"""A run knows in which kind of mould, and of which material, its copies are made."""

import json

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

RUNS = sa.table(
    "runs", sa.column("id"), sa.column("plan_id"), sa.column("part"), sa.column("way"), sa.column("material")
)
PLANS = sa.table("plans", sa.column("id"), sa.column("content"))


def upgrade() -> None:
    """Add both, and fill them in for what was done before from the plan that it went by."""
    op.add_column("runs", sa.Column("way", sa.Text))
    op.add_column("runs", sa.Column("material", sa.Text))
    connection = op.get_bind()
    rows = connection.execute(
        sa.select(RUNS.c.id, RUNS.c.part, PLANS.c.content).where(RUNS.c.plan_id == PLANS.c.id)
    ).all()
    for number, part, content in rows:
        way, material = _way_of(content, part)
        connection.execute(sa.update(RUNS).where(RUNS.c.id == number).values(way=way, material=material))


def _way_of(content: str, part: str) -> tuple[str | None, str | None]:
    """Kind of mould and casting material; None where the plan does not tell."""
    plan = json.loads(content)
    for one in plan.get("parts", []):
        if one.get("name") == part:
            casting = (one.get("materials") or {}).get("casting") or {}
            return (one.get("mould") or {}).get("kind"), casting.get("material")
    printed = next((one for one in plan.get("printed", []) if one.get("name") == part), None)
    return (None, None) if printed is None else ("printed", printed.get("material"))
