"""Movements in both databases: only ever added, counts guarded, names that hold SQL are names."""

from __future__ import annotations

from sqlalchemy import text


def test_server(store) -> None:
    with store.reading() as connection:
        assert connection.execute(text("select count(*) from movement")).scalar() == 0
