"""Commands whose help is in the language of the run; the English one stays as it is."""

from __future__ import annotations

import copy
from typing import TypeVar

import click

from panewright.nesting.text import ENGLISH, current_language, tr

C = TypeVar("C", bound=click.Command)


def translated(command: C) -> C:
    """This command in the language of the run: a copy with other texts, made when it is asked for."""
    if current_language() is ENGLISH:
        return command
    out = copy.copy(command)
    for name in ("help", "epilog", "short_help"):
        text = getattr(out, name)
        setattr(out, name, tr(text) if text else text)
    if hasattr(out, "_help_option"):
        out._help_option = None  # click keeps the option --help once made, with its text
    out.params = [_parameter(one) for one in command.params]
    if isinstance(out, click.Group):
        out.commands = {name: translated(one) for name, one in out.commands.items()}
    return out


def _parameter(parameter: click.Parameter) -> click.Parameter:
    if not isinstance(parameter, click.Option) or not parameter.help:
        return parameter
    out = copy.copy(parameter)
    out.help = tr(parameter.help)
    return out


def help_texts(command: click.Command) -> list[str]:
    """All texts of a command, its options and the commands below it that `translated` looks up."""
    out = [text for text in (command.help, command.epilog, command.short_help) if text]
    out += [one.help for one in command.params if isinstance(one, click.Option) and one.help]
    if isinstance(command, click.Group):
        for one in getattr(command, "commands", {}).values():
            out += help_texts(one)
    return out
