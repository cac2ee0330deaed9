"""Where the stock store is: an SQLite file, or the URL of a PostgreSQL database."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from panewright.io.store.errors import StoreError
from panewright.nesting.text import tr

DEFAULT_NAME: Final = "stock.db"
ENVIRONMENT: Final = "PANEWRIGHT_STOCK"
"""Holds the address where the command line gives none: a password has no place on a command line."""
ENDINGS: Final = (".db", ".sqlite", ".sqlite3")
_SLIP: Final = re.compile(r"(?i)\s*(postgres|psycopg).*[@:/]")
"""A URL with a slip of the pen, as in ``postgresql:/user@host``."""


@dataclass(frozen=True, slots=True)
class Address:
    """The address of a store.

    Parameters
    ----------
    url
        For SQLAlchemy.
    path
        Of an SQLite file, else None.
    """

    url: URL
    path: Path | None

    def __str__(self) -> str:
        # a URL is shown nowhere: it tells host, user and options, and by a slip of the pen a password
        if self.path is not None:
            return str(self.path)
        name = self.url.database or ""
        return f"PostgreSQL {name}" if re.fullmatch(r"[\w.-]{1,63}", name) else "PostgreSQL"

    def __repr__(self) -> str:
        return f"Address({self})"


def is_store(text: str) -> bool:
    """Whether a text means a store, and no stock list."""
    return "://" in text or text.lower().endswith(ENDINGS)


def address_of(text: str) -> Address:
    """The address in a text.

    Raises
    ------
    StoreError
        No file name and no URL of a kind that the store knows.
    """
    if "://" not in text:
        if _SLIP.match(text):
            # no file name, and it may hold a password
            raise StoreError(f"{text[:8]}...", tr("this is no address"), _remedy())
        path = Path(text)
        return Address(URL.create("sqlite", database=str(path)), path)
    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        raise StoreError(_hidden(text), tr("this is no address"), _remedy()) from None
    kind = url.get_backend_name()
    if kind == "sqlite":
        if not url.database or url.database == ":memory:" or url.query:
            raise StoreError(_hidden(text), tr("it names no file"), _remedy())
        path = Path(url.database)
        return Address(URL.create("sqlite", database=str(path)), path)
    if kind in ("postgresql", "postgres"):
        return Address(url.set(drivername="postgresql+psycopg"), None)
    raise StoreError(_hidden(text), tr("no store is of the kind {kind}", kind=kind[:40]), _remedy())


def found_address() -> str | None:
    """The address of the environment, else the store in the working folder, else None."""
    given = os.environ.get(ENVIRONMENT, "").strip()
    if given:
        return given
    return DEFAULT_NAME if Path(DEFAULT_NAME).is_file() else None


def _hidden(text: str) -> str:
    """The kind of address alone: what follows may hold a password."""
    return f"{text.partition('://')[0][:40]}://..."


def _remedy() -> str:
    return tr("give a file such as stock.db, or postgresql://user@host/database")
