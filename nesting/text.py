"""The one catalogue function through which every text for users goes.

The English text is its own key, as in gettext. `nesting` never reads a catalogue file; the command
line may choose a language before anything is shown (`panewright.io.language`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final


def _english_count(one: str, many: str, count: int) -> str:
    return one if count == 1 else many


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """How texts and numbers for people are written.

    Parameters
    ----------
    code
        As in ISO 639-1.
    translate
        Turns an English message into this language.
    translate_count
        The same of a message that counts: its two English forms and the count.
    decimal, thousands
        Signs, one character each, in decimal numbers for people. Numbers in files for programs keep the point.
    """

    code: str = "en"
    translate: Callable[[str], str] = str
    translate_count: Callable[[str, str, int], str] = _english_count
    decimal: str = "."
    thousands: str = ","


ENGLISH: Final = Language()
_language = ENGLISH


def use_language(language: Language) -> None:
    """Set the language of all texts that are made from now on."""
    global _language
    _language = language


def current_language() -> Language:
    """The language set by `use_language`."""
    return _language


class _Number(float):
    """A number that is filled into a message: it takes the signs of the language."""

    def __format__(self, spec: str) -> str:
        return local_number(format(float(self), spec))


def local_number(text: str) -> str:
    """A number written as in English, with the signs of the language: ``1,203.5`` is ``1.203,5`` in German.

    Parameters
    ----------
    text
        A number alone, with its unit at most.
    """
    if _language.decimal == ENGLISH.decimal and _language.thousands == ENGLISH.thousands:
        return text
    return text.translate(str.maketrans(".,", _language.decimal + _language.thousands))


def tr(message: str, /, **values: object) -> str:
    """A message for users: translated first, then filled in.

    Only the message is a template; braces inside values are left alone.

    Examples
    --------
    >>> tr("{count} sheets", count=3)
    '3 sheets'
    """
    return _fill(_language.translate(message), values)


def tr_count(one: str, many: str, count: int, /, **values: object) -> str:
    """A message that counts something; both forms may hold ``{count}``.

    Examples
    --------
    >>> [tr_count("{count} sheet", "{count} sheets", n) for n in (0, 1, 2)]
    ['0 sheets', '1 sheet', '2 sheets']
    """
    return _fill(_language.translate_count(one, many, count), {"count": count, **values})


def _fill(text: str, values: dict[str, object]) -> str:
    if not values:
        return text
    return text.format(**{k: _Number(v) if isinstance(v, float) else v for k, v in values.items()})
