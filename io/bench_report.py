"""The numbers of a bench run, per class and in total, as data for tables and JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from panewright.io.bench_run import Result


@dataclass(slots=True)
class ClassRow:
    """Sums over the problems of one class.

    Parameters
    ----------
    group
        Class; 0 for the total.
    problems, sheets, bound, proven
        Problems run, sheets taken, sum of the best lower bounds, problems where both meet.
    own_bound, own_proven
        Sum of the program's own bounds, problems that met theirs.
    published
        Best upper bound in print for the whole class, or None.
    best_of_all
        Sheets of the reference, the best variant for each problem taken.
    by_variant
        Sheets of each variant of the reference.
    seconds, reference_seconds
        CPU time.
    """

    group: int
    problems: int = 0
    sheets: int = 0
    bound: int = 0
    proven: int = 0
    own_bound: int = 0
    own_proven: int = 0
    published: int | None = None
    best_of_all: int = 0
    by_variant: Counter[str] = field(default_factory=Counter)
    seconds: float = 0.0
    reference_seconds: float = 0.0

    def add(self, result: Result, bound: int, reference: Counter[str], reference_seconds: float) -> None:
        """Add one problem; `bound` is the best lower bound known; an empty reference was not run."""
        self.problems += 1
        self.sheets += result.sheets
        self.bound += bound
        self.proven += result.sheets == bound
        self.own_bound += result.bound
        self.own_proven += result.proven
        self.best_of_all += min(reference.values(), default=0)
        self.by_variant.update(reference)
        self.seconds += result.seconds
        self.reference_seconds += reference_seconds


def total(rows: Sequence[ClassRow]) -> ClassRow:
    """The sum of all classes; published only where every class has a value."""
    out = ClassRow(0)
    for row in rows:
        out.problems += row.problems
        out.sheets += row.sheets
        out.bound += row.bound
        out.proven += row.proven
        out.own_bound += row.own_bound
        out.own_proven += row.own_proven
        out.best_of_all += row.best_of_all
        out.by_variant.update(row.by_variant)
        out.seconds += row.seconds
        out.reference_seconds += row.reference_seconds
    known = [row.published for row in rows]
    out.published = sum(p for p in known if p is not None) if None not in known else None
    return out


def best_single(row: ClassRow) -> tuple[str, int] | None:
    """The variant of the reference that takes the fewest sheets over all these problems; None: not run."""
    return min(row.by_variant.items(), key=lambda item: (item[1], item[0]), default=None)


def gap(cost: int, bound: int) -> Fraction | None:
    """How far a cost lies above its bound, as a share of the bound; None for a bound of nothing."""
    return None if bound <= 0 else Fraction(cost - bound, bound)
