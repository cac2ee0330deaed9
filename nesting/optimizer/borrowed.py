"""Arrays that a compiled loop only borrows: no reference is counted at every view and call.

Counting is an atomic operation; in the beam it took two fifths of the time. The caller must keep the array.
"""

from __future__ import annotations

from typing import Any

from numba.core import cgutils as _cgutils
from numba.extending import intrinsic
from numba.np.arrayobj import make_array as _make_array

from .moves import jit

make_array: Any = _make_array
cgutils: Any = _cgutils


def _borrowed(_typing: Any, array: Any) -> Any:
    """The same array, not counted."""

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        (kind,) = signature.args
        view = make_array(kind)(context, builder, args[0])
        view.meminfo = cgutils.get_null_value(view.meminfo.type)
        view.parent = cgutils.get_null_value(view.parent.type)
        return view._getvalue()

    return array(array), code


borrowed: Any = intrinsic(_borrowed)


@jit
def held(arrays: Any) -> int:
    """A use of arrays that were lent inside compiled code, so that they live up to here."""
    return len(arrays)
