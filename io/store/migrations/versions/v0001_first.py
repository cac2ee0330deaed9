"""The first schema: items, plans with their sheets and panels, movements, events.

A migration never reads `schema.py`: that file tells how the tables are today, this one how they were.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    key = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

    def words(name: str, length: int) -> sa.Column[str]:
        return sa.Column(name, sa.String(length), nullable=False, server_default="")

    def count(name: str) -> sa.Column[int]:
        return sa.Column(name, sa.Integer(), nullable=False, server_default="0")

    there = sa.text("on_hand > 0 or expected > 0")
    op.create_table(
        "item",
        sa.Column("id", key, autoincrement=True),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("glass", sa.String(40), nullable=False),
        sa.Column("width", sa.BigInteger(), nullable=False),
        sa.Column("height", sa.BigInteger(), nullable=False),
        words("raw", 40),
        sa.Column("price", sa.BigInteger()),
        words("supplier", 80),
        words("place", 80),
        words("note", 400),
        sa.Column("measured", sa.BigInteger()),
        sa.Column("since", sa.String(10), nullable=False),
        sa.Column("made_plan", sa.String(20)),
        sa.Column("made_sheet", sa.Integer()),
        sa.Column("flaws", sa.Text(), nullable=False, server_default="[]"),
        count("on_hand"),
        count("reserved"),
        count("expected"),
        sa.PrimaryKeyConstraint("id", name="pk_item"),
        sa.UniqueConstraint("name", name="uq_item_name"),
        sa.CheckConstraint("on_hand >= 0 and reserved >= 0 and expected >= 0", name=op.f("ck_item_counts")),
        sa.CheckConstraint("reserved <= on_hand + expected", name=op.f("ck_item_taken")),
        sa.CheckConstraint("kind = 'sheet' or on_hand + expected <= 1", name=op.f("ck_item_one_piece")),
    )
    op.create_index("ix_item_glass_kind", "item", ["glass", "kind"])
    op.create_index("ix_item_made_plan_made_sheet", "item", ["made_plan", "made_sheet"])
    op.create_index("ix_item_there", "item", ["id"], sqlite_where=there, postgresql_where=there)
    op.create_table(
        "plan",
        sa.Column("id", sa.String(20), nullable=False),
        sa.Column("state", sa.String(10), nullable=False),
        sa.Column("follows", sa.String(20)),
        sa.Column("committed", sa.BigInteger(), nullable=False),
        words("who", 80),
        words("why", 400),
        sa.Column("file", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_plan"),
    )
    op.create_index("ix_plan_state", "plan", ["state"])
    op.create_index("ix_plan_follows", "plan", ["follows"])
    op.create_table(
        "plan_sheet",
        sa.Column("plan", sa.String(20), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("item", key),
        sa.Column("glass", sa.String(40), nullable=False),
        sa.Column("stock", sa.String(80), nullable=False),
        sa.Column("is_offcut", sa.Boolean(), nullable=False),
        sa.Column("width", sa.BigInteger(), nullable=False),
        sa.Column("height", sa.BigInteger(), nullable=False),
        sa.Column("day", sa.String(10)),
        sa.Column("cut_at", sa.BigInteger()),
        words("cut_by", 80),
        sa.Column("figures", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("plan", "number", name="pk_plan_sheet"),
        sa.ForeignKeyConstraint(["plan"], ["plan.id"], name="fk_plan_sheet_plan"),
        sa.ForeignKeyConstraint(["item"], ["item.id"], name="fk_plan_sheet_item"),
    )
    op.create_index("ix_plan_sheet_item", "plan_sheet", ["item"])
    op.create_index("ix_plan_sheet_cut_at", "plan_sheet", ["cut_at"])
    op.create_index("ix_plan_sheet_state", "plan_sheet", ["state"])
    op.create_index("ix_plan_sheet_plan_state", "plan_sheet", ["plan", "state"])
    op.create_table(
        "plan_panel",
        sa.Column("plan", sa.String(20), nullable=False),
        sa.Column("panel", sa.String(400), nullable=False),
        sa.Column("sheet", sa.Integer()),
        sa.Column("order", sa.String(200), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("purpose", sa.String(10), nullable=False),
        sa.Column("glass", sa.String(40), nullable=False),
        sa.Column("due", sa.String(10)),
        sa.Column("width", sa.BigInteger(), nullable=False),
        sa.Column("height", sa.BigInteger(), nullable=False),
        sa.Column("edged", sa.Boolean(), nullable=False, server_default=sa.false()),
        sa.Column("drilled", sa.Boolean(), nullable=False, server_default=sa.false()),
        sa.Column("remakes", sa.String(400)),
        sa.Column("given_to", sa.String(400)),
        sa.PrimaryKeyConstraint("plan", "panel", name="pk_plan_panel"),
        sa.ForeignKeyConstraint(["plan"], ["plan.id"], name="fk_plan_panel_plan"),
    )
    op.create_index("ix_plan_panel_panel", "plan_panel", ["panel"])
    op.create_index("ix_plan_panel_order", "plan_panel", ["order"])
    op.create_index("ix_plan_panel_plan_sheet", "plan_panel", ["plan", "sheet"])
    op.create_table(
        "movement",
        sa.Column("id", key, autoincrement=True),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("item", key, nullable=False),
        count("on_hand"),
        count("reserved"),
        count("expected"),
        words("who", 80),
        words("why", 400),
        sa.Column("plan", sa.String(20)),
        sa.Column("sheet", sa.Integer()),
        sa.Column("panel", sa.String(400)),
        sa.Column("event", sa.String(100)),
        sa.Column("place", sa.String(80)),
        sa.PrimaryKeyConstraint("id", name="pk_movement"),
        sa.ForeignKeyConstraint(["item"], ["item.id"], name="fk_movement_item"),
    )
    op.create_index("ix_movement_item_id", "movement", ["item", "id"])
    op.create_index("ix_movement_plan_sheet", "movement", ["plan", "sheet"])
    op.create_index("ix_movement_at", "movement", ["at"])
    op.create_index("ix_movement_event", "movement", ["event"])
    op.create_table(
        "event",
        sa.Column("id", sa.String(100), nullable=False),
        sa.Column("plan", sa.String(20), nullable=False),
        sa.Column("sheet", sa.Integer()),
        sa.Column("what", sa.String(20), nullable=False),
        sa.Column("panel", sa.String(400)),
        sa.Column("at_step", sa.String(20)),
        sa.Column("offcut", sa.String(80)),
        sa.Column("size", sa.Text()),
        sa.Column("flaw", sa.Text()),
        sa.Column("undoes", sa.String(100)),
        sa.Column("stands", sa.Boolean(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        words("who", 80),
        words("device", 400),
        words("note", 400),
        sa.PrimaryKeyConstraint("id", name="pk_event"),
    )
    op.create_index("ix_event_plan_sheet", "event", ["plan", "sheet"])
    op.create_index("ix_event_panel", "event", ["panel"])
    op.create_index("ix_event_at", "event", ["at"])
    op.create_index("ix_event_undoes", "event", ["undoes"])
    _only_added_to()


def _only_added_to() -> None:
    """The database itself refuses to change or remove a movement."""
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            "create function movement_stays() returns trigger language plpgsql as "
            "$$ begin raise exception 'movements are only ever added'; end $$"
        )
        op.execute(
            "create trigger movement_stays before update or delete on movement "
            "for each row execute function movement_stays()"
        )
        return
    for what in ("update", "delete"):
        op.execute(
            f"create trigger movement_no_{what} before {what} on movement "
            "begin select raise(abort, 'movements are only ever added'); end"
        )
