"""The stock: packs, and every change of them."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of the stock, and the one of single facts."""
    op.create_table(
        "packs",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("material_id", sa.Text, nullable=False),
        sa.Column("size_a_g", sa.Float, sa.CheckConstraint("size_a_g >= 0"), nullable=False),
        sa.Column("left_a_g", sa.Float, sa.CheckConstraint("left_a_g >= 0 AND left_a_g <= size_a_g"), nullable=False),
        sa.Column("size_b_g", sa.Float, sa.CheckConstraint("size_b_g >= 0"), nullable=False),
        sa.Column("left_b_g", sa.Float, sa.CheckConstraint("left_b_g >= 0 AND left_b_g <= size_b_g"), nullable=False),
        sa.Column("price", sa.Float, sa.CheckConstraint("price >= 0")),
        sa.Column("bought_on", sa.Text),
        sa.Column("opened_on", sa.Text),
    )
    op.create_table(
        "moves",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("pack_id", sa.Integer, nullable=False),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("change_a_g", sa.Float, nullable=False),
        sa.Column("change_b_g", sa.Float, nullable=False),
    )
    op.create_table("facts", sa.Column("key", sa.Text, primary_key=True), sa.Column("value", sa.Text, nullable=False))
