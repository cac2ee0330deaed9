"""Keeps the LP solver's licence text off the standard output, which carries data."""

from __future__ import annotations

import os
import sys


def hush() -> None:
    """Make the first solver of this process while its output goes nowhere; later ones are silent."""
    import highspy

    sys.stdout.flush()
    try:
        kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    except OSError:  # no standard output at all
        return
    try:
        os.dup2(nowhere, 1)
        highspy.Highs()  # type: ignore[no-untyped-call]
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
