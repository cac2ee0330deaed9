"""`panewright stock`: the stock store, its racks and what happened in them."""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Iterator, MutableMapping
from typing import Final

import click

COMMANDS: Final = {
    "receive": "panewright.cli.stock_receive",
    "order": "panewright.cli.stock_order",
    "ordered": "panewright.cli.stock_ordered",
    "list": "panewright.cli.stock_rack",
    "fits": "panewright.cli.stock_fits",
    "count": "panewright.cli.stock_count",
    "flaw": "panewright.cli.stock_flaw",
    "move": "panewright.cli.stock_move",
    "scrap": "panewright.cli.stock_scrap",
    "adjust": "panewright.cli.stock_adjust",
    "value": "panewright.cli.stock_value",
    "history": "panewright.cli.stock_history",
    "plans": "panewright.cli.stock_plans",
    "reserve": "panewright.cli.stock_reserve",
    "withdraw": "panewright.cli.stock_withdraw",
    "trace": "panewright.cli.stock_trace",
    "figures": "panewright.cli.stock_figures",
    "breakage": "panewright.cli.stock_breakage",
    "audit": "panewright.cli.stock_audit",
}
"""Name -> module that holds `command`."""


class LazyCommands(MutableMapping[str, click.Command]):
    """The commands of a group, each imported when it is asked for.

    Parameters
    ----------
    modules
        Name -> module; a module that is not there is left out.
    """

    def __init__(self, modules: dict[str, str]) -> None:
        self._modules = {n: m for n, m in modules.items() if importlib.util.find_spec(m) is not None}
        self._known: dict[str, click.Command] = {}

    def __getitem__(self, name: str) -> click.Command:
        if name not in self._known:
            command = importlib.import_module(self._modules[name]).command
            if not isinstance(command, click.Command):
                raise TypeError(f"{self._modules[name]}.command is no command")
            self._known[name] = command
        return self._known[name]

    def __setitem__(self, name: str, command: click.Command) -> None:
        self._modules.setdefault(name, command.callback.__module__ if command.callback else "")
        self._known[name] = command

    def __delitem__(self, name: str) -> None:
        del self._modules[name]
        self._known.pop(name, None)

    def __iter__(self) -> Iterator[str]:
        return iter(self._modules)

    def __len__(self) -> int:
        return len(self._modules)


class _InOrder(click.Group):
    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names in the order of the table: from what comes in to what is looked up."""
        return list(self.commands)


@click.group("stock", cls=_InOrder, commands=LazyCommands(COMMANDS))
def command() -> None:
    """Keep the stock store: what came in, what is in the racks, what plans have taken, what it is worth.

    The store is a file, stock.db in the working folder, or a PostgreSQL database (environment PANEWRIGHT_STOCK
    or --stock). Every change is a movement that stays; a mistake is put right by another one.

    \b
    Example:
      panewright stock receive delivery.csv
      panewright stock list
      panewright stock fits --offcut R-118
    """
