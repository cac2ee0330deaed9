"""Words for the movements and states of the store: ``cut`` alone is a measure elsewhere."""

from __future__ import annotations

from panewright.nesting.ledger import Move, SheetState
from panewright.nesting.text import tr

_MOVES = {
    Move.RECEIVED: "received",
    Move.RESERVED: "reserved",
    Move.RELEASED: "released",
    Move.CUT: "cut up",
    Move.EXPECTED: "offcut expected",
    Move.KEPT: "offcut kept",
    Move.NOT_MADE: "offcut not made",
    Move.BROKEN: "broken",
    Move.SCRAPPED: "thrown away",
    Move.COUNTED: "counted",
    Move.MOVED: "moved",
    Move.ADJUSTED: "adjusted",
    Move.MARKED: "flaws marked",
}
_STATES = {
    SheetState.TO_BUY: "to buy",
    SheetState.RESERVED: "reserved",
    SheetState.CUT: "cut up",
    SheetState.WITHOUT_GLASS: "without glass",
    SheetState.RELEASED: "released",
}


def move_word(kind: Move) -> str:
    """A kind of movement, for people."""
    return tr(_MOVES[kind])


def state_word(state: SheetState) -> str:
    """How far a sheet is, for people."""
    return tr(_STATES[state])
