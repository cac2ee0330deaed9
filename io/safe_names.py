"""File names from texts that anybody may have typed."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from typing import Final

from panewright.io.file_names import is_safe_name

LONGEST: Final = 60

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
