"""The panels of plan files in the store, many at a time: equal pieces of glass are read once."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final

from sqlalchemy import Connection, select

from panewright.io.plan_parts import Parts
from panewright.io.plan_values import Bad
from panewright.io.store.schema import plan as plans
from panewright.nesting.panels import Panel, Purpose

Found = tuple[Panel, dict[str, Any]]
"""A panel, and what its plan says beside it."""

_BEGIN: Final = '\n "panels": [\n'
_END: Final = '\n ],\n "sheets": ['
_GLASS: Final = '"glass": '
"""In the line of a panel: before it stands whose it is, from it on what it is. No text of a value can hold it,
for there a quotation mark has a backslash before it."""


class PlanPanels:
    """Reads the panels of plans, as `plan_file` writes them: one a line; any other form is read as a whole."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._known: dict[str, Found] = {}

    def of(self, name: str) -> list[Found]:
        """The panels of a plan, in the order of its file; what cannot be read here is left out."""
        query = select(plans.c.file).where(plans.c.id == name)
        text = str(self._connection.execute(query).scalar())
        try:
            return list(self._by_line(text))
        except (ValueError, KeyError, TypeError, Bad):
            return list(self._whole(text))

    def _by_line(self, text: str) -> Iterator[Found]:
        _, begin, rest = text.partition(_BEGIN)
        lines, end, _ = rest.partition(_END)
        if not begin or not end:
            raise ValueError("written otherwise")
        for raw in lines.split("\n"):
            line = raw.strip().rstrip(",")
            head, mark, what = line.partition(_GLASS)
            if not mark:
                raise ValueError("written otherwise")
            if what not in self._known:
                self._known[what] = _panel(json.loads(line, parse_float=Decimal))
            panel, beside = self._known[what]
            whose = json.loads(head.rstrip(" ,") + "}")
            yield (
                replace(
                    panel,
                    id=whose["id"],
                    order=whose["order"],
                    name=whose["name"],
                    due=Parts("").day(whose["due"], ""),
                    purpose=Purpose(whose["purpose"]),
                ),
                beside,
            )

    def _whole(self, text: str) -> Iterator[Found]:
        for entry in json.loads(text, parse_float=Decimal).get("panels", ()):
            try:
                yield _panel(entry)
            except Bad:
                continue


def _panel(entry: Any) -> Found:
    panel, beside, _ = Parts("").panel(entry, "")
    return panel, beside
