"""Text in the order in which it is read from left to right, for paper, which has no right-to-left order of its own.

The bidirectional algorithm of the Unicode standard (UAX 9, revision 48) for one line whose main
direction is left to right, without explicit directions (`problems.shown` lets none through), and the
joined forms of Arabic letters (chapter 9.2 of the standard), which Unicode has as characters.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from typing import Final

_PAIRS: Final = {"(": ")", "[": "]", "{": "}", "<": ">", "«": "»", "‹": "›", "≤": "≥"}
_MIRROR: Final = {**_PAIRS, **{b: a for a, b in _PAIRS.items()}}
_BRACKETS: Final = {"(": ")", "[": "]", "{": "}"}
_RIGHT_TO_LEFT: Final = frozenset(("R", "AL", "AN"))
_NEUTRAL: Final = frozenset(("B", "S", "WS", "ON"))
_LAM: Final = "\u0644"


def visual(text: str) -> str:
    """The characters of a line from left to right, as paper shows them.

    Examples
    --------
    >>> visual("front (3)")
    'front (3)'
    >>> visual("\u05d0\u05d1 12") == "12 \u05d1\u05d0"
    True
    """
    if text.isascii():
        return text
    kinds = [unicodedata.bidirectional(c) or "L" for c in text]
    if not _RIGHT_TO_LEFT.intersection(kinds):
        return text
    shaped, kinds = _joined(text, kinds)
    return _reordered(shaped, _levels(shaped, kinds))


# ---------------------------------------------------------------- Arabic letters


@cache
def _forms() -> dict[str, dict[str, str]]:
    """Joined forms by plain letters: ``isolated``, ``final``, ``initial``, ``medial``."""
    out: dict[str, dict[str, str]] = {}
    for code in (*range(0xFB50, 0xFBB2), *range(0xFBD3, 0xFC00), *range(0xFE80, 0xFEFD)):
        form, _, plain = unicodedata.decomposition(chr(code)).partition(" ")
        if plain:
            letters = "".join(chr(int(part, 16)) for part in plain.split())
            out.setdefault(letters, {}).setdefault(form.strip("<>"), chr(code))
    return out


def _joined(text: str, kinds: list[str]) -> tuple[str, list[str]]:
    """Arabic letters in the forms that join them to their neighbours; lam and alef become one."""
    forms = _forms()
    if not any(c in forms for c in text):
        return text, kinds
    letters: list[tuple[str, str]] = []
    for c, kind in zip(text, kinds, strict=True):
        if letters and letters[-1][0] == _LAM and _LAM + c in forms:
            letters[-1] = (_LAM + c, kind)
        else:
            letters.append((c, kind))
    plain = [i for i, (_, kind) in enumerate(letters) if kind != "NSM"]
    out = [c for c, _ in letters]
    for here, i in enumerate(plain):
        known = forms.get(letters[i][0])
        if known is None:
            continue
        before = here > 0 and _joins_on(letters[plain[here - 1]][0])
        after = "initial" in known and here + 1 < len(plain) and _takes_join(letters[plain[here + 1]][0])
        form = ("medial" if after else "final") if before else ("initial" if after else "isolated")
        out[i] = known.get(form) or known.get("isolated") or letters[i][0]
    return "".join(out), [kind for _, kind in letters]


def _joins_on(letters: str) -> bool:
    return letters == "\u0640" or "initial" in _forms().get(letters, {})


def _takes_join(letters: str) -> bool:
    return letters == "\u0640" or "final" in _forms().get(letters, {})


# ---------------------------------------------------------------- levels and order


def _levels(text: str, kinds: list[str]) -> list[int]:
    """Embedding level of every character: rules W1 to W7, N0 to N2, I1, I2 and L1."""
    given = list(kinds)
    t = list(kinds)
    before = "L"
    for i, kind in enumerate(t):  # W1
        t[i] = before if kind == "NSM" else kind
        before = t[i]
    strong = "L"
    for i, kind in enumerate(t):  # W2, W3
        if kind in ("L", "R", "AL"):
            strong = kind
        elif kind == "EN" and strong == "AL":
            t[i] = "AN"
    t = ["R" if kind == "AL" else kind for kind in t]
    for i in range(1, len(t) - 1):  # W4
        if t[i - 1] == t[i + 1] and (
            (t[i] in ("ES", "CS") and t[i - 1] == "EN") or (t[i] == "CS" and t[i - 1] == "AN")
        ):
            t[i] = t[i - 1]
    for i, kind in enumerate(t):  # W5
        if kind == "EN":
            for step in (-1, 1):
                j = i + step
                while 0 <= j < len(t) and t[j] == "ET":
                    t[j] = "EN"
                    j += step
    t = ["ON" if kind in ("ES", "ET", "CS", "BN") else kind for kind in t]  # W6
    strong = "L"
    for i, kind in enumerate(t):  # W7
        if kind in ("L", "R"):
            strong = kind
        elif kind == "EN" and strong == "L":
            t[i] = "L"
    _brackets(text, given, t)
    _neutrals(t)
    levels = [{"R": 1, "AN": 2, "EN": 2}.get(kind, 0) for kind in t]
    for i in range(len(t) - 1, -1, -1):  # L1
        if given[i] not in ("WS", "BN"):
            break
        levels[i] = 0
    return levels


def _direction(kind: str) -> str:
    return "R" if kind in ("R", "EN", "AN") else kind


def _brackets(text: str, given: list[str], t: list[str]) -> None:
    """Rule N0: both of a pair of brackets get the direction of what they hold, or of what is before."""
    open_at: list[tuple[str, int]] = []
    pairs: list[tuple[int, int]] = []
    for i, c in enumerate(text):
        if t[i] != "ON":
            continue
        if c in _BRACKETS:
            open_at.append((_BRACKETS[c], i))
        elif c in _BRACKETS.values():
            found = next((k for k in range(len(open_at) - 1, -1, -1) if open_at[k][0] == c), None)
            if found is not None:
                pairs.append((open_at[found][1], i))
                del open_at[found:]
    for a, b in sorted(pairs):
        inside = {_direction(kind) for kind in t[a + 1 : b]}
        if "L" in inside:
            chosen = "L"
        elif "R" in inside:
            ahead = next((_direction(k) for k in reversed(t[:a]) if _direction(k) in ("L", "R")), "L")
            chosen = "R" if ahead == "R" else "L"
        else:
            continue
        for at in (a, b):
            t[at] = chosen
            at += 1
            while at < len(t) and given[at] == "NSM":
                t[at] = chosen
                at += 1


def _neutrals(t: list[str]) -> None:
    """Rules N1 and N2: neutrals between the same direction take it, others that of the line."""
    i = 0
    while i < len(t):
        if t[i] not in _NEUTRAL:
            i += 1
            continue
        end = i
        while end < len(t) and t[end] in _NEUTRAL:
            end += 1
        before = _direction(t[i - 1]) if i else "L"
        after = _direction(t[end]) if end < len(t) else "L"
        for j in range(i, end):
            t[j] = before if before == after else "L"
        i = end


def _reordered(text: str, levels: list[int]) -> str:
    """Rules L2 to L4: runs turned round, marks behind their letters again, brackets mirrored."""
    order = list(range(len(text)))
    for level in range(max(levels), 0, -1):
        i = 0
        while i < len(order):
            end = i
            while end < len(order) and levels[order[end]] >= level:
                end += 1
            order[i:end] = order[i:end][::-1]
            i = max(end, i + 1)
    out: list[str] = []
    marks: list[str] = []
    for i in order:
        c = text[i]
        if levels[i] % 2 and unicodedata.combining(c):
            marks.insert(0, c)
            continue
        out += [_MIRROR.get(c, c) if levels[i] % 2 else c, *marks]
        marks = []
    return "".join([*out, *marks])
