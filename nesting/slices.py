"""Work in slices: generators that yield where a caller may stop, and give their result at the end."""

from __future__ import annotations

from collections.abc import Generator
from typing import TypeVar

Result = TypeVar("Result")


def to_the_end(work: Generator[object, None, Result]) -> Result:
    """Do all of it at once; its result.

    Examples
    --------
    >>> def work():
    ...     yield
    ...     return 7
    >>> to_the_end(work())
    7
    """
    while True:
        try:
            next(work)
        except StopIteration as end:
            result: Result = end.value
            return result
