"""Names of the files in an out folder: a safe alphabet, whatever was typed, and never a way out of the folder."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
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
LONGEST: Final = 60
"""Of a name made of a text that anybody may have typed. [characters]"""
_OTHER: Final = re.compile(r"[^A-Za-z0-9._-]+")
_DOTS: Final = re.compile(r"\.{2,}")
_LETTERS: Final = str.maketrans(
    {
        "ß": "ss",
        "Ø": "O",
        "ø": "o",
        "Æ": "AE",
        "æ": "ae",
        "Œ": "OE",
        "œ": "oe",
        "Ł": "L",
        "ł": "l",
        "Đ": "D",
        "đ": "d",
    }
)


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


def safe_name(text: str) -> str:
    """A part of a file name of the letters ``A-Z a-z 0-9 . _ -``, never empty, no device, no way out.

    Examples
    --------
    >>> [safe_name(t) for t in ("K-204/front/1", "../x", "CON", "a:b", "Müller & Söhne", "...")]
    ['K-204-front-1', 'x', 'CON_', 'a-b', 'Muller-Sohne', 'x']
    """
    plain = unicodedata.normalize("NFKD", text.translate(_LETTERS)).encode("ascii", "ignore").decode("ascii")
    name = _DOTS.sub(".", _OTHER.sub("-", plain)).strip("-._")[:LONGEST].rstrip("-._") or "x"
    if not is_safe_name(name):
        # CON.txt is a device as well: the mark goes before the first dot
        head, dot, tail = name.partition(".")
        name = f"{head}_{dot}{tail}"
    return name


def distinct_names(texts: Iterable[str]) -> list[str]:
    """Safe names, no two alike even where case does not count: the later one gets a number.

    Examples
    --------
    >>> distinct_names(["a/b", "A:b", "a b"])
    ['a-b', 'A-b-2', 'a-b-3']
    """
    wanted = [safe_name(text) for text in texts]
    taken: set[str] = set()
    counts: dict[str, int] = {}
    out = []
    for name in wanted:
        key, number = name.lower(), 1
        chosen = name
        if key in taken:
            number = counts.get(key, 1)
            while chosen.lower() in taken:
                number += 1
                chosen = f"{name}-{number}"
            counts[key] = number
        taken.add(chosen.lower())
        out.append(chosen)
    return out
