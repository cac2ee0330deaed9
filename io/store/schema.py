"""The tables of the stock store, in SQLAlchemy Core. The migrations make them; a test compares both.

Lengths are whole nanometres, money whole 1/10,000 of the currency, times whole microseconds since 1970
in UTC: all exact in both databases. `item` carries the balance of its movements, kept in the same
transaction and guarded by checks; `audit` adds the movements up again.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    false,
    text,
)

HEAD: Final = "0003"
"""The newest schema; the name of the last migration."""

NAMES: Final = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
metadata: Final = MetaData(naming_convention=NAMES)

# BIGINT as a primary key of SQLite does not count up by itself
Key: Final = BigInteger().with_variant(Integer(), "sqlite")

item: Final = Table(
    "item",
    metadata,
    Column("id", Key, primary_key=True, autoincrement=True),
    # sheet: a case of equal sheets; offcut: one piece
    Column("kind", String(10), nullable=False),
    Column("name", String(80), nullable=False, unique=True),
    Column("glass", String(40), nullable=False),
    Column("width", BigInteger, nullable=False),
    Column("height", BigInteger, nullable=False),
    Column("raw", String(40), nullable=False, server_default=""),
    Column("price", BigInteger),
    Column("supplier", String(80), nullable=False, server_default=""),
    Column("place", String(80), nullable=False, server_default=""),
    Column("note", String(400), nullable=False, server_default=""),
    Column("measured", BigInteger),
    # the day that the age counts from, as in 2027-03-08
    Column("since", String(10), nullable=False),
    Column("made_plan", String(20)),
    Column("made_sheet", Integer),
    # [x, y, width, height, kind] in nanometres of each flaw, as JSON; without a kind where nobody said one
    Column("flaws", Text, nullable=False, server_default="[]"),
    Column("on_hand", Integer, nullable=False, server_default="0"),
    Column("reserved", Integer, nullable=False, server_default="0"),
    Column("expected", Integer, nullable=False, server_default="0"),
    # sheets with a number are taken in rising order of it, before all others
    Column("take", Integer),
    CheckConstraint("on_hand >= 0 and reserved >= 0 and expected >= 0", name="counts"),
    CheckConstraint("reserved <= on_hand + expected", name="taken"),
    CheckConstraint("kind = 'sheet' or on_hand + expected <= 1", name="one_piece"),
    Index(None, "glass", "kind"),
    Index(None, "made_plan", "made_sheet"),
    Index(
        "ix_item_there",
        "id",
        sqlite_where=text("on_hand > 0 or expected > 0"),
        postgresql_where=text("on_hand > 0 or expected > 0"),
    ),
)

plan: Final = Table(
    "plan",
    metadata,
    Column("id", String(20), primary_key=True),
    Column("state", String(10), nullable=False),
    Column("follows", String(20)),
    Column("committed", BigInteger, nullable=False),
    Column("who", String(80), nullable=False, server_default=""),
    Column("why", String(400), nullable=False, server_default=""),
    # the whole plan file: a remake and a trace need no folder
    Column("file", Text, nullable=False),
    Index(None, "state"),
    Index(None, "follows"),
)

plan_sheet: Final = Table(
    "plan_sheet",
    metadata,
    Column("plan", ForeignKey("plan.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("state", String(20), nullable=False),
    Column("item", ForeignKey("item.id")),
    Column("glass", String(40), nullable=False),
    Column("stock", String(80), nullable=False),
    Column("is_offcut", Boolean, nullable=False),
    Column("width", BigInteger, nullable=False),
    Column("height", BigInteger, nullable=False),
    Column("day", String(10)),
    Column("cut_at", BigInteger),
    Column("cut_by", String(80), nullable=False, server_default=""),
    # areas of `Figures` (twice nm2) and cost as whole numbers, in JSON: no column type holds them exactly in both
    Column("figures", Text, nullable=False),
    Index(None, "item"),
    Index(None, "cut_at"),
    Index(None, "state"),
    # so many sheets of each plan in each state: counted in the index alone
    Index(None, "plan", "state"),
)

plan_panel: Final = Table(
    "plan_panel",
    metadata,
    Column("plan", ForeignKey("plan.id"), primary_key=True),
    Column("panel", String(400), primary_key=True),
    # no sheet: it is unplaced
    Column("sheet", Integer),
    Column("order", String(200), nullable=False),
    Column("name", String(200), nullable=False),
    Column("purpose", String(10), nullable=False),
    Column("glass", String(40), nullable=False),
    Column("due", String(10)),
    Column("width", BigInteger, nullable=False),
    Column("height", BigInteger, nullable=False),
    # which works it goes through after the table
    Column("edged", Boolean, nullable=False, server_default=false()),
    Column("drilled", Boolean, nullable=False, server_default=false()),
    Column("remakes", String(400)),
    Column("given_to", String(400)),
    Index(None, "panel"),
    Index(None, "order"),
    Index(None, "plan", "sheet"),
)

movement: Final = Table(
    "movement",
    metadata,
    Column("id", Key, primary_key=True, autoincrement=True),
    Column("at", BigInteger, nullable=False),
    Column("kind", String(20), nullable=False),
    Column("item", ForeignKey("item.id"), nullable=False),
    Column("on_hand", Integer, nullable=False, server_default="0"),
    Column("reserved", Integer, nullable=False, server_default="0"),
    Column("expected", Integer, nullable=False, server_default="0"),
    Column("who", String(80), nullable=False, server_default=""),
    Column("why", String(400), nullable=False, server_default=""),
    Column("plan", String(20)),
    Column("sheet", Integer),
    Column("panel", String(400)),
    Column("event", String(100)),
    # where a moved item went
    Column("place", String(80)),
    Index(None, "item", "id"),
    Index(None, "plan", "sheet"),
    Index(None, "at"),
    Index(None, "event"),
)

event: Final = Table(
    "event",
    metadata,
    Column("id", String(100), primary_key=True),
    Column("plan", String(20), nullable=False),
    Column("sheet", Integer),
    Column("what", String(20), nullable=False),
    Column("panel", String(400)),
    Column("at_step", String(20)),
    Column("offcut", String(80)),
    # size and flaw as JSON lists in nanometres; behind the flaw its kind, where it was said
    Column("size", Text),
    Column("flaw", Text),
    Column("undoes", String(100)),
    Column("stands", Boolean, nullable=False),
    Column("at", BigInteger, nullable=False),
    Column("who", String(80), nullable=False, server_default=""),
    Column("device", String(400), nullable=False, server_default=""),
    Column("note", String(400), nullable=False, server_default=""),
    Index(None, "plan", "sheet"),
    Index(None, "panel"),
    Index(None, "at"),
    Index(None, "undoes"),
)

purchase: Final = Table(
    "purchase",
    metadata,
    Column("id", Key, primary_key=True, autoincrement=True),
    # open: some of it is still to come; here: all has come; cancelled: no more will come
    Column("state", String(10), nullable=False),
    Column("glass", String(40), nullable=False),
    Column("width", BigInteger, nullable=False),
    Column("height", BigInteger, nullable=False),
    Column("sheets", Integer, nullable=False),
    Column("received", Integer, nullable=False, server_default="0"),
    # of one sheet
    Column("price", BigInteger),
    Column("supplier", String(80), nullable=False, server_default=""),
    # days, as in 2027-03-08; arrived: when the last of it came so far
    Column("ordered", String(10), nullable=False),
    Column("promised", String(10), nullable=False),
    Column("arrived", String(10)),
    Column("note", String(400), nullable=False, server_default=""),
    # what its list is known by
    Column("listed", String(100)),
    Column("at", BigInteger, nullable=False),
    Column("who", String(80), nullable=False, server_default=""),
    Column("why", String(400), nullable=False, server_default=""),
    CheckConstraint("sheets > 0 and received >= 0 and received <= sheets", name="counts"),
    Index(None, "state"),
    Index(None, "listed"),
)
