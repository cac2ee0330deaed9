"""The one catalogue function through which every text for users goes.

The English text is its own key, as in gettext. `nesting` never reads a catalogue file; the command
line may install a translator once, before anything is shown.
"""

from __future__ import annotations

from collections.abc import Callable

_translate: Callable[[str], str] = str


def use_translator(translate: Callable[[str], str]) -> None:
    """Install the function that turns an English message into the user's language."""
    global _translate
    _translate = translate


def tr(message: str, /, **values: object) -> str:
    """A message for users: translated first, then filled in.

    Only the message is a template; braces inside values are left alone.

    Examples
    --------
    >>> tr("{count} sheets", count=3)
    '3 sheets'
    """
    text = _translate(message)
    return text.format(**values) if values else text


def tr_count(one: str, many: str, count: int, /, **values: object) -> str:
    """A message that counts something; both forms may hold ``{count}``.

    Examples
    --------
    >>> [tr_count("{count} sheet", "{count} sheets", n) for n in (0, 1, 2)]
    ['0 sheets', '1 sheet', '2 sheets']
    """
    return tr(one if count == 1 else many, count=count, **values)
