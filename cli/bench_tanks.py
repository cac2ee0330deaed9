"""The set of drawn tanks: CPU time from tanks to panels, and of a thickness check."""

from __future__ import annotations

import time

from panewright.cli.bench_parts import Report, Wanted, seconds_json
from panewright.cli.tables import table
from panewright.io.bench_tanks import CHECKED, TANKS, measured
from panewright.nesting.text import tr


def tanks(wanted: Wanted) -> Report:
    """Time to build 10,000 tanks, and to check 200 of them one by one."""
    found = measured(wanted.draw, TANKS, CHECKED, time.process_time)
    checks = found.check_seconds
    middle, late, last = checks[len(checks) // 2], checks[len(checks) * 95 // 100], checks[-1]
    text = table(
        tr("Drawn tanks of all shapes, CPU time"),
        [
            tr("tanks"),
            tr("panels"),
            tr("to panels, s"),
            tr("checked"),
            tr("a check, middle, ms"),
            tr("95 of 100 within, ms"),
            tr("longest, ms"),
        ],
        [
            [
                str(found.tanks),
                str(found.panels),
                f"{found.build_seconds:.2f}",
                str(len(checks)),
                *(f"{1000 * value:.1f}" for value in (middle, late, last)),
            ]
        ],
        left=0,
    )
    return text, {
        "tanks": found.tanks,
        "panels": found.panels,
        "build_seconds": seconds_json(found.build_seconds),
        "checked": len(checks),
        "check_seconds_middle": seconds_json(middle),
        "check_seconds_95": seconds_json(late),
        "check_seconds_longest": seconds_json(last),
    }
