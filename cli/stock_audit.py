"""`panewright stock audit`: whether the balances are the sums of their movements."""

from __future__ import annotations

import click

from panewright.cli.failures import Exit
from panewright.cli.output import err, out, out_json
from panewright.cli.stock_options import Desk, at_the_store
from panewright.nesting.text import tr, tr_count


@click.command("audit", short_help="Add all movements up again and compare.")
@at_the_store()
def command(desk: Desk) -> Exit:
    """Add all movements up again; the exit code is 1 where a balance is not their sum.

    \b
    Example:
      panewright stock audit
    """
    from panewright.cli.tables import table
    from panewright.io.store.ledger import audit
    from panewright.io.store.rack import size_of_store

    with desk.store().reading() as connection:
        found = audit(connection)
        items, movements = size_of_store(connection)
    if desk.as_json:
        rows_json = [
            {
                "number": d.name,
                "balance": [d.balance.on_hand, d.balance.reserved, d.balance.expected],
                "movements": [d.summed.on_hand, d.summed.reserved, d.summed.expected],
            }
            for d in found
        ]
        code = Exit.LEFT_OVER if found else Exit.DONE
        out_json({"exit_code": int(code), "items": items, "movements": movements, "discrepancies": rows_json})
        return code
    if not found:
        out(
            tr_count(
                "{count} movement of {items} cases and offcuts: all balances are right",
                "{count} movements of {items} cases and offcuts: all balances are right",
                movements,
                items=items,
            )
        )
        return Exit.DONE
    rows = [
        [
            d.name,
            *(
                f"{a} / {b}"
                for a, b in (
                    (d.balance.on_hand, d.summed.on_hand),
                    (d.balance.reserved, d.summed.reserved),
                    (d.balance.expected, d.summed.expected),
                )
            ),
        ]
        for d in found
    ]
    headings = [tr("number"), tr("in the rack"), tr("reserved"), tr("expected")]
    out(table(tr("Balances that are not the sums of their movements (balance / sum)"), headings, rows))
    err(tr("the store is damaged: something else changed it; go back to its last copy"))
    return Exit.LEFT_OVER
