"""Languages of the program: the compiled catalogues beside this module, read by the library's gettext."""

from __future__ import annotations

import gettext
from functools import lru_cache
from pathlib import Path
from typing import Final

from panewright.nesting.text import ENGLISH, Language

DOMAIN: Final = "panewright"
LOCALE: Final = Path(__file__).parent / "locale"
NAMES: Final = {"en": "English", "de": "Deutsch"}
"""Codes of ISO 639-1, each with the language's own name."""
_SIGNS: Final = {"de": (",", ".")}
"""Sign of decimals and of thousands, where they are not the English ones."""


@lru_cache
def language(code: str) -> Language:
    """A language with its catalogue.

    Parameters
    ----------
    code
        One of `NAMES`.

    Raises
    ------
    KeyError
        When there is no such language.
    OSError
        When its catalogue is not there.
    """
    if code == ENGLISH.code:
        return ENGLISH
    decimal, thousands = _SIGNS[code]
    with (LOCALE / code / "LC_MESSAGES" / f"{DOMAIN}.mo").open("rb") as stream:
        catalogue = gettext.GNUTranslations(stream)
    return Language(
        code=code,
        # the empty message is the head of the catalogue
        translate=lambda message: catalogue.gettext(message) if message else "",
        translate_count=catalogue.ngettext,
        decimal=decimal,
        thousands=thousands,
    )
