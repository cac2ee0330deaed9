"""Errors of the domain. Each keeps its values as attributes and says got, expected and what to do."""

from __future__ import annotations

from .text import tr


class NestingError(Exception):
    """Root of all errors that the domain raises."""


class InvalidOutline(NestingError, ValueError):
    """An outline that cannot be a piece of glass.

    Parameters
    ----------
    reason
        What is wrong with it, already worded for the user.
    remedy
        What to change.
    """

    def __init__(self, reason: str, remedy: str) -> None:
        self.reason, self.remedy = reason, remedy
        super().__init__(reason, remedy)

    def __str__(self) -> str:
        return tr("{reason}; {remedy}", reason=self.reason, remedy=self.remedy)


class InvalidRule(NestingError, ValueError):
    """A shop rule outside its sane range."""

    def __init__(self, name: str, got: str, expected: str) -> None:
        self.name, self.got, self.expected = name, got, expected
        super().__init__(name, got, expected)

    def __str__(self) -> str:
        return tr(
            "{name} is {got}, expected {expected}", name=self.name, got=self.got, expected=self.expected
        )


class NoLeastThickness(NestingError, LookupError):
    """A nominal glass whose least thickness no known standard gives.

    Parameters
    ----------
    nominal
        Its designation in mm.
    """

    def __init__(self, nominal: str) -> None:
        self.nominal = nominal
        super().__init__(nominal)

    def __str__(self) -> str:
        return tr(
            "no least thickness is known of {nominal} mm glass; its strength is not checked",
            nominal=self.nominal,
        )


class PlanFault(NestingError, RuntimeError):
    """A fresh plan that the independent checker refused: a fault of the program, never of the user."""

    def __init__(self, violations: tuple[str, ...]) -> None:
        self.violations = violations
        super().__init__(violations)

    def __str__(self) -> str:
        first = "; ".join(self.violations[:3])
        return tr(
            "the checker refused the plan ({count} violations): {first}",
            count=len(self.violations),
            first=first,
        )
