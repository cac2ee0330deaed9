"""The language of a run: `--language`, else PANEWRIGHT_LANGUAGE, else the shop file, else English.

The language of the system does not count: desks of one shop should not write different files unasked.
"""

from __future__ import annotations

import gettext
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Final

import click

from panewright.io.language import DOMAIN, LOCALE, NAMES, language
from panewright.nesting.text import ENGLISH, current_language, use_language

OPTION: Final = "--language"
VARIABLE: Final = "PANEWRIGHT_LANGUAGE"
_asked = False


@contextmanager
def spoken(args: Sequence[str]) -> Iterator[None]:
    """Speak the language that is asked for while a command runs; the one of before comes back after it.

    Parameters
    ----------
    args
        Of the command line; looked at early, so that a complaint about it is in this language too.
    """
    global _asked
    before, domain, word = current_language(), gettext.textdomain(), os.environ.get("LANGUAGE")
    _asked = False
    try:
        _speak(ENGLISH.code)
        for code in (_before_command(args), os.environ.get(VARIABLE)):
            if code in NAMES:
                ask(code)
                break
        yield
    finally:
        use_language(before)
        gettext.textdomain(domain)
        _set_variable(word)


def ask(code: str) -> None:
    """Speak a language that the user asks for: no shop file changes it in this run."""
    global _asked
    _asked = True
    _speak(code)


def of_the_shop(code: str) -> None:
    """Speak the language of the shop file, unless the user asks for another."""
    if not _asked:
        _speak(code)


def _speak(code: str) -> None:
    use_language(language(code))
    if code == ENGLISH.code:
        gettext.textdomain("messages")
        return
    # click asks the library's gettext for its own words, by the variable of the GNU gettext manual
    gettext.bindtextdomain(DOMAIN, str(LOCALE))
    gettext.textdomain(DOMAIN)
    _set_variable(code)


def _set_variable(word: str | None) -> None:
    if word is None:
        os.environ.pop("LANGUAGE", None)
    else:
        os.environ["LANGUAGE"] = word


def _before_command(args: Sequence[str]) -> str | None:
    """The language named before the command, which `--help` in front of it does not know yet."""
    found, words = None, iter(args)
    for word in words:
        if word == OPTION:
            found = next(words, None)
        elif word.startswith(f"{OPTION}="):
            found = word.partition("=")[2]
        elif not word.startswith("-"):
            break
    return found


def _choose(ctx: click.Context, _: click.Parameter, value: str | None) -> None:
    if value is not None and not ctx.resilient_parsing:
        ask(value)


language_option = click.option(
    OPTION,
    type=click.Choice(sorted(NAMES)),
    envvar=VARIABLE,
    expose_value=False,
    is_eager=True,
    callback=_choose,
    help="Language of all texts; default: what PANEWRIGHT_LANGUAGE or the shop file says, else English.",
)
