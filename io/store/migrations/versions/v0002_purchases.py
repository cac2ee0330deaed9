"""Purchases: what was ordered from suppliers, and how much of it has come."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    key = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

    def words(name: str, length: int) -> sa.Column[str]:
        return sa.Column(name, sa.String(length), nullable=False, server_default="")

    op.create_table(
        "purchase",
        sa.Column("id", key, autoincrement=True),
        sa.Column("state", sa.String(10), nullable=False),
        sa.Column("glass", sa.String(40), nullable=False),
        sa.Column("width", sa.BigInteger(), nullable=False),
        sa.Column("height", sa.BigInteger(), nullable=False),
        sa.Column("sheets", sa.Integer(), nullable=False),
        sa.Column("received", sa.Integer(), nullable=False, server_default="0"),
        sa.Column("price", sa.BigInteger()),
        words("supplier", 80),
        sa.Column("ordered", sa.String(10), nullable=False),
        sa.Column("promised", sa.String(10), nullable=False),
        sa.Column("arrived", sa.String(10)),
        words("note", 400),
        sa.Column("listed", sa.String(100)),
        sa.Column("at", sa.BigInteger(), nullable=False),
        words("who", 80),
        words("why", 400),
        sa.PrimaryKeyConstraint("id", name="pk_purchase"),
        sa.CheckConstraint(
            "sheets > 0 and received >= 0 and received <= sheets", name=op.f("ck_purchase_counts")
        ),
    )
    op.create_index("ix_purchase_state", "purchase", ["state"])
    op.create_index("ix_purchase_listed", "purchase", ["listed"])
