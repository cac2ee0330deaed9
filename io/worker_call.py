"""What a worker does with a call that it is sent; it imports nothing heavy before it is prepared."""

from __future__ import annotations

import pickle
from typing import Any, Final

from panewright.io import kernel_cache

_READY: Final[list[bool]] = []


def run_packed(call: bytes) -> Any:
    """The result of a packed call (see `engines.packed`), or its error."""
    if not _READY:
        kernel_cache.prepare()
        _hush()
        _READY.append(True)
    function, args, kwargs = pickle.loads(call)
    return function(*args, **kwargs)


def _hush() -> None:
    from panewright.io import solver_banner

    solver_banner.hush()
