"""Flaws have kinds, and sheets an order in which they are taken.

Flaws stand as JSON in columns that are there. A program that knows them without kinds would stop at one with a
kind; the new number of the schema lets it refuse the store in words.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column."""
    op.add_column("item", sa.Column("take", sa.Integer()))
