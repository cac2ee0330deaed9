"""What can go wrong with the stock store, worded for the user; the address is named without its password."""

from __future__ import annotations

from collections.abc import Sequence

from panewright.nesting.errors import NestingError
from panewright.nesting.text import tr


class StoreError(NestingError):
    """A store that cannot be opened, read or written; nothing was changed in it.

    Parameters
    ----------
    where
        The store, as it may be shown.
    reason, remedy
        Worded for the user.
    """

    def __init__(self, where: str, reason: str, remedy: str) -> None:
        self.where, self.reason, self.remedy = where, reason, remedy
        super().__init__(where, reason, remedy)

    def __str__(self) -> str:
        return tr(
            "store {where}: {reason}; {remedy}", where=self.where, reason=self.reason, remedy=self.remedy
        )


class NotThere(NestingError):
    """A movement that would take more than there is; the whole change was left out."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(name)

    def __str__(self) -> str:
        return tr("there is not enough of {name} for this, or a plan has taken it", name=self.name)


class NotTaken(NestingError):
    """A plan that the store does not take as it stands, with every reason found; nothing was changed."""

    def __init__(self, plan: str, reasons: Sequence[str]) -> None:
        self.plan, self.reasons = plan, tuple(reasons)
        super().__init__(plan, self.reasons)

    def __str__(self) -> str:
        return tr(
            "plan {plan} cannot take its glass: {reasons}", plan=self.plan, reasons="; ".join(self.reasons)
        )


class UnknownName(NestingError, LookupError):
    """A name that the store does not know, with the nearest that it does."""

    def __init__(self, name: str, near: Sequence[str] = ()) -> None:
        self.name, self.near = name, tuple(near)
        super().__init__(name, self.near)

    def __str__(self) -> str:
        if self.near:
            return tr(
                "the store knows no {name}; did you mean {near}?", name=self.name, near=", ".join(self.near)
            )
        return tr("the store knows no {name}", name=self.name)
