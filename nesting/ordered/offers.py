"""What may be placed next: the heads of the chains, groups, and pairs of equal width."""

from __future__ import annotations

from typing import Any

from ..optimizer.moves import jit


@jit
def heads(
    ptr: Any, first: Any, racked: Any, ptype: Any, tchain: Any, tplace: Any, tfirst: Any, tlast: Any,
    vrect: Any, uptr: Any, utype: Any, ucount: Any, own: int, open_racks: int, out: Any, out_chain: Any,
) -> int:  # fmt: skip
    """The variants of what may be placed next; their number."""
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
            out[n] = v
            out_chain[n] = c
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
            out[n] = v
            out_chain[n] = -1
            n += 1
    return n


@jit
def pairs(
    ins: Any, ins2: Any, at: Any, n: int, wclass: Any, ptr: Any, first: Any, racked: Any, ptype: Any,
    tfirst: Any, tlast: Any, bucket: Any, follow: Any, both: bool, open_racks: int, limit: int,
) -> int:  # fmt: skip
    """Append the pairs of equal width: two heads, or a head and the next of its chain; their end.

    `both`: in either order, which matters where flaws are about.
    """
    begun = 0
    if open_racks > 0:
        for c in range(first.shape[0] - 1):
            if racked[c] != 0 and 0 < ptr[c] < first[c + 1] - first[c]:
                begun += 1
    end = n
    for i in range(n):
        c = at[i]
        if c < 0:
            continue
        v = ins[i]
        one = wclass[v]
        begins = open_racks > 0 and racked[c] != 0 and ptr[c] == 0 and first[c + 1] - first[c] > 1
        j = bucket[one]
        while j >= 0:
            d = at[j]
            fine = d != c
            if fine and begins and racked[d] != 0 and ptr[d] == 0 and first[d + 1] - first[d] > 1:
                fine = begun + 2 <= open_racks
            if fine and end + 2 < limit:
                ins[end] = v
                ins2[end] = ins[j]
                at[end] = c
                end += 1
                if both:
                    ins[end] = ins[j]
                    ins2[end] = v
                    at[end] = d
                    end += 1
            j = follow[j]
        follow[i] = bucket[one]
        bucket[one] = i
        if ptr[c] + 1 < first[c + 1] - first[c]:
            t = ptype[first[c] + ptr[c] + 1]
            for u in range(tfirst[t], tlast[t]):
                if wclass[u] == one and end < limit:
                    ins[end] = v
                    ins2[end] = u
                    at[end] = c
                    end += 1
    for i in range(n):
        if at[i] >= 0:
            bucket[wclass[ins[i]]] = -1
    return end
