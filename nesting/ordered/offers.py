"""What may be placed next: the heads of the chains, groups, and pairs of equal width."""

from __future__ import annotations

from typing import Any

from ..optimizer.moves import inlined
from .problem import WIDTH


@inlined
def heads(
    ptr: Any, first: Any, racked: Any, ptype: Any, tchain: Any, tfirst: Any, tlast: Any, vrect: Any, uptr: Any,
    utype: Any, ucount: Any, own: int, open_racks: int, out: Any,
) -> int:  # fmt: skip
    """The variants of what may be placed next; their number.

    Rows of `out`: variant, the one upon it or -1, the chains of the two or -1, and whether the row before is of
    the same two in the other order.
    """
    n = 0
    begun = 0
    if open_racks > 0:
        for c in range(first.shape[0] - 1):
            if racked[c] != 0 and 0 < ptr[c] < first[c + 1] - first[c]:
                begun += 1
    for c in range(first.shape[0] - 1):
        size = first[c + 1] - first[c]
        if ptr[c] >= size:
            continue
        if open_racks > 0 and racked[c] != 0 and ptr[c] == 0 and size > 1 and begun >= open_racks:
            continue
        t = ptype[first[c] + ptr[c]]
        for v in range(tfirst[t], tlast[t]):
            out[n, 0], out[n, 1], out[n, 2], out[n, 3], out[n, 4] = v, -1, c, -1, 0
            n += 1
    for v in range(own, vrect.shape[0]):
        rect = vrect[v]
        fine = True
        for k in range(uptr[rect], uptr[rect + 1]):
            c = tchain[utype[k]]
            if c < 0 or first[c + 1] - first[c] - ptr[c] < ucount[k]:
                fine = False
                break
        if fine:
            out[n, 0], out[n, 1], out[n, 2], out[n, 3], out[n, 4] = v, -1, -1, -1, 0
            n += 1
    return n


@inlined
def pairs(
    ins: Any, n: int, shape: Any, ptr: Any, first: Any, racked: Any, ptype: Any, tfirst: Any, tlast: Any,
    bucket: Any, follow: Any, both: bool, open_racks: int,
) -> int:  # fmt: skip
    """Append the pairs of equal width: two heads, or a head and the next of its chain; their end.

    `both`: in either order, which matters where flaws are about.
    """
    limit = ins.shape[0]
    begun = 0
    if open_racks > 0:
        for c in range(first.shape[0] - 1):
            if racked[c] != 0 and 0 < ptr[c] < first[c + 1] - first[c]:
                begun += 1
    end = n
    for i in range(n):
        c = ins[i, 2]
        if c < 0:
            continue
        v = ins[i, 0]
        one = shape[v, WIDTH]
        begins = open_racks > 0 and racked[c] != 0 and ptr[c] == 0 and first[c + 1] - first[c] > 1
        j = bucket[one]
        while j >= 0:
            d = ins[j, 2]
            fine = d != c
            if fine and begins and racked[d] != 0 and ptr[d] == 0 and first[d + 1] - first[d] > 1:
                fine = begun + 2 <= open_racks
            if fine and end + 2 < limit:
                ins[end, 0], ins[end, 1], ins[end, 2], ins[end, 3], ins[end, 4] = v, ins[j, 0], c, d, 0
                end += 1
                if both:
                    ins[end, 0], ins[end, 1], ins[end, 2], ins[end, 3], ins[end, 4] = ins[j, 0], v, d, c, 1
                    end += 1
            j = follow[j]
        follow[i] = bucket[one]
        bucket[one] = i
        if ptr[c] + 1 < first[c + 1] - first[c]:
            t = ptype[first[c] + ptr[c] + 1]
            for u in range(tfirst[t], tlast[t]):
                if shape[u, WIDTH] == one and end < limit:
                    ins[end, 0], ins[end, 1], ins[end, 2], ins[end, 3], ins[end, 4] = v, u, c, c, 0
                    end += 1
    for i in range(n):
        if ins[i, 2] >= 0:
            bucket[shape[ins[i, 0], WIDTH]] = -1
    return end
