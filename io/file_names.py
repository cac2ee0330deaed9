"""Names of the files in an out folder: a safe alphabet, and never a way out of the folder."""

from __future__ import annotations

import re
from typing import Final

PLAN_FILE: Final = "plan.json"
RECORD_ENDING: Final = ".record.json"

_SAFE: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,149}")
_DEVICES: Final = frozenset(
    {"con", "prn", "aux", "nul", "conin$", "conout$"}
    | {f"{port}{number}" for port in ("com", "lpt") for number in range(10)}
)
"""Names that Windows keeps for devices, with any suffix."""
_PLAN_ID: Final = re.compile(r"[0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4}")


def is_safe_name(name: str) -> bool:
    """Whether a file may bear this name on every system: one part, safe letters, no device.

    Examples
    --------
    >>> [is_safe_name(n) for n in ("plan.json", "../plan.json", "CON.txt", "a:b", "end.")]
    [True, False, False, False, False]
    """
    return (
        _SAFE.fullmatch(name) is not None
        and not name.endswith(".")
        and name.split(".", 1)[0].lower() not in _DEVICES
    )


def is_plan_id(text: object) -> bool:
    """Whether this is a plan id: eight letters of Crockford's base32, ``Q7K2-9DMX``."""
    return isinstance(text, str) and _PLAN_ID.fullmatch(text) is not None


def contents_name(plan_id: str) -> str:
    """Name of the list of files that a plan wrote."""
    return f"contents-{plan_id}.json"
