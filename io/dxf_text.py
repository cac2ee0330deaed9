"""Text for DXF: what a TEXT entity shows as it is."""

from __future__ import annotations

import re
from typing import Final

_PERCENTS: Final = re.compile("%%+")
_ENCODED: Final = re.compile(r"\\(?=[UuMm]\+)")


def dxf_escaped(text: str) -> str:
    """Text that a TEXT entity shows as it is.

    ``%%`` begins a control code, ``%%%`` is a plain per cent sign; a caret begins a control character,
    a caret and a blank are a plain caret; ``\\U+`` and ``\\M+`` begin an encoded character, so that
    backslash is encoded itself. Braces and other backslashes mean nothing in TEXT (they do in MTEXT,
    which is not used).
    """
    text = _PERCENTS.sub(lambda m: "%%%" * len(m[0]), text)
    text = text.replace("^", "^ ")
    return _ENCODED.sub(lambda _: "\\U+005C", text)
