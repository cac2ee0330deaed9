"""In which order the stock may be taken: numbered sheets first, then sizes and single pieces."""

from __future__ import annotations

from collections.abc import Sequence

from ..optimizer.instance import Instance
from ..phantoms import is_phantom


class Ways:
    """The sequences of sheets worth trying for an instance.

    Parameters
    ----------
    instance
        What to cut.

    Notes
    -----
    Numbered sheets come in their order, none passed over (one that yields nothing goes whole), and before all others.
    Stock that is not there (see `phantoms`) ends a sequence that may run out.
    """

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        pieces = [sheet.piece for sheet in instance.sheets]
        total = sum(instance.demand)
        useful = [k for k in range(len(pieces)) if self._holds(k)]
        numbered = sorted((p.take, k) for k, p in enumerate(pieces) if p.take is not None)
        self.numbered = [k for _, k in numbered for _ in range(self._count(k, total))]
        rest = [k for k in useful if pieces[k].take is None]
        self.phantoms = [k for k in rest if is_phantom(pieces[k])]
        real = [k for k in rest if not is_phantom(pieces[k])]
        self.plenty = [k for k in real if pieces[k].never_runs_out(total)]
        single = sorted((-instance.sheets[k].area, k) for k in real if k not in self.plenty)
        self.limited = [k for _, k in single for _ in range(self._count(k, total))]

    def _holds(self, k: int) -> bool:
        """Whether some panel fits the piece."""
        sheet = self.instance.sheets[k]
        for r in self.instance.rects:
            upright = r.width <= sheet.width and r.height <= sheet.height
            if upright or (r.turns and r.height <= sheet.width and r.width <= sheet.height):
                return True
        return False

    def _count(self, k: int, total: int) -> int:
        piece = self.instance.sheets[k].piece
        return 1 if piece.is_offcut else total if piece.buyable else min(piece.on_hand, total)

    def first(self) -> list[list[int]]:
        """Where to begin: each plentiful size alone, and after the limited pieces, large or small first."""
        total = sum(self.instance.demand)
        out: list[list[int]] = []
        tails = [[k] * total for k in self.plenty] or [[]]
        # where stock may run out what there is goes first: without it panels would seem to have no glass
        without = [] if self.phantoms and self.limited else [list[int]()]
        for tail in tails:
            for limited in (*without, self.limited, self.limited[::-1]):
                self._add(out, limited, tail)
        return [w for w in out if w]

    def _add(self, out: list[list[int]], limited: Sequence[int], tail: Sequence[int]) -> None:
        total = sum(self.instance.demand)
        ends = [[last] * total for last in self.phantoms] or [[]]
        if len(self.phantoms) > 1:
            # each may be needed, by size or by what is bound to it
            ends.append(self.phantoms * total)
        for end in ends:
            way = [*self.numbered, *limited, *tail, *end]
            if way not in out:
                out.append(way)
