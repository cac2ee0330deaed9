"""What an event speaks of: the plan that stands now for the one it names, and a sheet of it."""

from __future__ import annotations

import json
from dataclasses import dataclass

from sqlalchemy import Connection, select

from panewright.io.store.events import Refused
from panewright.io.store.items import Item, item_of
from panewright.io.store.plan_lists import line_of, open_plans, stands_for
from panewright.io.store.schema import item, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.nesting.kept import FOLLOWS
from panewright.nesting.ledger import PlanState, SheetState
from panewright.nesting.text import tr


@dataclass(frozen=True, slots=True)
class PlanNow:
    """The plan that speaks for the sheets of another one.

    Parameters
    ----------
    told
        The plan that was named.
    known
        The same, or where the store does not have it one that follows it.
    id, state
        Of the one that stands for it now.
    line
        That plan and those that it follows, and the one named.
    """

    told: str
    known: str
    id: str
    state: PlanState
    line: tuple[str, ...]

    @property
    def is_open(self) -> bool:
        """Whether its sheets have glass."""
        return self.state is PlanState.OPEN


@dataclass(frozen=True, slots=True)
class SheetNow:
    """A sheet as it stands now, with the item that it is or was cut from."""

    plan: PlanNow
    number: int
    state: SheetState
    item: Item | None
    glass: str
    stock: str
    is_offcut: bool
    width: int
    height: int
    cut_by: str

    @property
    def name(self) -> str:
        """``PLAN.NUMBER``."""
        return f"{self.plan.id}.{self.number}"


def plan_now(connection: Connection, name: str) -> PlanNow:
    """The plan that speaks for this one; raises `Refused` where the store has no plan of its line."""
    known = connection.execute(select(plans.c.id).where(plans.c.id == name)).scalar() or _heir(
        connection, name
    )
    if known is None:
        raise Refused(
            tr("the store has no plan {plan}", plan=name),
            tr(
                "commit it first (`panewright stock reserve`); the open plans are {plans}",
                plans=", ".join(open_plans(connection)[:5]) or "-",
            ),
        )
    now = stands_for(connection, known)
    state = connection.execute(select(plans.c.state).where(plans.c.id == now)).scalar_one()
    if state == PlanState.FOLLOWED.value:
        # all that followed it were withdrawn: the last of them tells what is cut
        query = select(plans.c.id).where(plans.c.follows == now).order_by(plans.c.committed.desc())
        now = connection.execute(query).scalars().first() or now
        state = connection.execute(select(plans.c.state).where(plans.c.id == now)).scalar_one()
    line = line_of(connection, now)
    return PlanNow(name, known, now, PlanState(state), tuple(dict.fromkeys([*line, known])))


def _heir(connection: Connection, name: str) -> str | None:
    """A plan in the store whose file says that it follows this one, which the store does not have."""
    query = select(plans.c.id, plans.c.file).where(plans.c.file.contains(f'"{name}"', autoescape=True))
    for row in connection.execute(query.order_by(plans.c.committed.desc(), plans.c.id)):
        follows = json.loads(row.file).get(FOLLOWS, [])
        if name in (follows if isinstance(follows, list) else [follows]):
            return str(row.id)
    return None


def sheet_now(connection: Connection, plan: PlanNow, number: int) -> SheetNow:
    """A sheet of the plan that stands now; raises `Refused`."""
    s = plan_sheet.c
    row = connection.execute(select(plan_sheet).where(s.plan == plan.id, s.number == number)).one_or_none()
    if row is None:
        older = connection.execute(
            select(s.plan).where(s.plan.in_(list(plan.line)), s.number == number)
        ).scalar()
        if older is not None:
            raise Refused(
                tr(
                    "plan {now}, which stands in the place of plan {plan} now, has dropped sheet {number}",
                    now=plan.id,
                    plan=plan.told,
                    number=number,
                ),
                tr("look at the drawings of plan {now}", now=plan.id),
            )
        raise Refused(tr("plan {plan} has no sheet {number}", plan=plan.id, number=number))
    held = None
    if row.item is not None:
        held = item_of(connection.execute(select(item).where(item.c.id == row.item)).one())
    return SheetNow(
        plan=plan,
        number=number,
        state=SheetState(row.state),
        item=held,
        glass=row.glass,
        stock=row.stock,
        is_offcut=row.is_offcut,
        width=row.width,
        height=row.height,
        cut_by=row.cut_by,
    )


def set_sheet(connection: Connection, sheet: SheetNow, state: SheetState, held: int | None) -> None:
    """Write down how far a sheet is, and which item it has; not cut, that is."""
    connection.execute(
        plan_sheet.update()
        .where(plan_sheet.c.plan == sheet.plan.id, plan_sheet.c.number == sheet.number)
        .values(state=state.value, item=held, cut_at=None, cut_by="")
    )
