"""Arrays that compiled code reads or writes without counting references: every count is an atomic instruction,
and in the inner loops of a search those took nearly half of the time."""

from __future__ import annotations

from typing import Any

from numba.core import cgutils
from numba.extending import intrinsic

from .moves import jit

_null: Any = cgutils.get_null_value


def _lent(context: Any, array: Any) -> Any:
    def generate(target: Any, builder: Any, signature: Any, args: Any) -> Any:
        out = target.make_array(array)(target, builder, args[0])
        out.meminfo = _null(out.meminfo.type)
        out.parent = _null(out.parent.type)
        return out._getvalue()

    return array(array), generate


lent: Any = intrinsic(_lent)
"""The same array without an owner: the array itself must be held until nothing reads the lent one."""


@jit
def held(arrays: Any) -> int:
    """A use of arrays, so that they live up to here."""
    return len(arrays)
