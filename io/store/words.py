"""Words that people give to things in the store: printable, of one line, no longer than their column."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from panewright.io.lengths import BadValue
from panewright.nesting.text import tr

NAME: Final = 60
"""Longest number of a case or offcut. [characters]"""
WORD: Final = 80
"""Longest place, supplier or name of a person. [characters]"""
NOTE: Final = 400
"""Longest note or reason. [characters]"""
_SIZE_NAME: Final = re.compile(r"\S+-[0-9.]+ [0-9.]+x[0-9.]+")


def checked_word(text: str, longest: int) -> str:
    """The text without blanks around it, letters in their composed form; empty where it holds nothing.

    Raises
    ------
    BadValue
        Control characters, direction marks, half characters, or more than `longest` characters.
    """
    text = unicodedata.normalize("NFC", " ".join(text.split(" "))).strip()
    if not text.isprintable():
        raise BadValue(tr("the text holds characters that cannot be printed"), tr("type it again"))
    if len(text) > longest:
        raise BadValue(tr("the text is longer than {limit} characters", limit=longest), tr("shorten it"))
    return text


def checked_number(text: str) -> str:
    """The number of a case or offcut.

    Raises
    ------
    BadValue
        As `checked_word`, or it reads like the name of a stock size, which plans could not tell from it.
    """
    text = checked_word(text, NAME)
    if _SIZE_NAME.fullmatch(text):
        raise BadValue(
            tr("this is the name of a stock size"), tr("give the case or offcut a number of its own")
        )
    return text
