"""The page for the table: one HTML file that shows a plan step by step and keeps what is done; it needs no network.

Its data is `table_data`, its words `table_text`, its looks and its script lie in `templates`.
"""

from __future__ import annotations

import json
import re
from base64 import b64encode
from hashlib import sha256
from html import escape
from importlib.resources import files
from typing import Any, Final

from panewright.io import palette
from panewright.io.file_names import safe_name
from panewright.io.table_data import page_data, unit_word
from panewright.io.table_drawing import layer_css
from panewright.io.table_text import page_texts
from panewright.nesting.plan import Plan
from panewright.nesting.sequence import LIFTS
from panewright.nesting.shop_table import Lifts
from panewright.nesting.text import current_language, tr

SCRIPTS: Final = (
    "code.js",
    "qr.js",
    "flaw_hits.js",
    "record.js",
    "draw.js",
    "common.js",
    "list.js",
    "flaws.js",
    "walk.js",
    "start.js",
)
_ESCAPES: Final = {ord(c): f"\\u{ord(c):04x}" for c in "<>&\u2028\u2029"}


def table_page_name(plan: Plan) -> str:
    """Name of the file."""
    return f"table-page-{safe_name(plan.id)}.html"


def table_page(plan: Plan, *, lifts: Lifts = LIFTS, warnings: tuple[str, ...] = ()) -> str:
    """The page, whole; lengths in the style set by `use_style`, words in the language set by `use_language`.

    Parameters
    ----------
    plan
        The plan.
    lifts
        What people lift by hand.
    warnings
        Stand on every view, as that the plan does not pass its check.
    """
    data = page_data(plan, lifts=lifts, warnings=warnings)
    data |= {
        "standing": len(warnings),
        "unit": unit_word(),
        "texts": page_texts(),
        "decimal": current_language().decimal,
    }
    style = _template("page.css").replace("{{layers}}", layer_css((*palette.LAYERS, *palette.KEYS.values())))
    # the script sees its data as the constant DATA; neither is ever built from text as code
    read = 'const DATA = JSON.parse(document.getElementById("data").textContent);\n'
    script = '"use strict";\n(() => {\n' + read + "\n".join(map(_template, SCRIPTS)) + "})();\n"
    policy = (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; "
        "base-uri 'none'; form-action 'none'"
    )
    return _filled(
        _template("page.html"),
        {
            "language": escape(current_language().code),
            "title": escape(tr("plan {plan}: page for the table", plan=plan.id)),
            "noscript": escape(tr("This page needs its script: open it in a browser that runs scripts.")),
            "policy": policy,
            "style": style,
            "data": json_for_script(data),
            "script": script,
        },
    )


def json_for_script(value: Any) -> str:
    """JSON that may stand in a script element: nothing in it can end the element or a line of script."""
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.translate(_ESCAPES)


def _hash(text: str) -> str:
    """A source of a content security policy (W3C CSP Level 3, section 2.3.1)."""
    return "sha256-" + b64encode(sha256(text.encode("utf-8")).digest()).decode("ascii")


def _template(name: str) -> str:
    return (files("panewright.io") / "templates" / name).read_text(encoding="utf-8")


def _filled(template: str, values: dict[str, str]) -> str:
    # in one pass: what is filled in is never looked at again
    return re.sub(r"\{\{(\w+)\}\}", lambda found: values[found[1]], template)
