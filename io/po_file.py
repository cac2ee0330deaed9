"""Catalogues of messages as files: .pot and .po as text, .mo compiled.

The forms are those of the GNU gettext manual, "The Format of PO Files" and "The Format of GNU MO Files".
Only what the project needs is read and written: no contexts, no obsolete messages.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

_MAGIC: Final = 0x950412DE
_HEAD: Final = (
    "Project-Id-Version: panewright\n"
    "Language: {code}\n"
    "MIME-Version: 1.0\n"
    "Content-Type: text/plain; charset=UTF-8\n"
    "Content-Transfer-Encoding: 8bit\n"
    "Plural-Forms: {plural}\n"
)
PLURALS: Final = {"de": "nplurals=2; plural=(n != 1);"}
"""Rule of each language for its forms, as in the manual's chapter on plural forms."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A message and its translation.

    Parameters
    ----------
    one, many
        English; `many` is None where nothing is counted.
    places
        Files that use it.
    said
        One form, or the plural forms of the language; empty texts where it is not translated yet.
    """

    one: str
    many: str | None = None
    places: tuple[str, ...] = ()
    said: tuple[str, ...] = ("",)

    @property
    def key(self) -> tuple[str, str | None]:
        """What tells messages apart."""
        return self.one, self.many


def po_text(entries: Iterable[Entry], code: str = "") -> str:
    """A catalogue as text; without a code the template for translators."""
    head = _HEAD.format(code=code, plural=PLURALS.get(code, "nplurals=INTEGER; plural=EXPRESSION;"))
    blocks = [f'msgid ""\nmsgstr {_quoted(head)}\n']
    for entry in entries:
        lines = [f"#: {place}" for place in entry.places]
        if "{" in entry.one:
            lines.append("#, python-brace-format")
        lines.append(f"msgid {_quoted(entry.one)}")
        if entry.many is None:
            lines.append(f"msgstr {_quoted(entry.said[0])}")
        else:
            lines.append(f"msgid_plural {_quoted(entry.many)}")
            lines += [f"msgstr[{i}] {_quoted(text)}" for i, text in enumerate(entry.said)]
        blocks.append("\n".join(lines) + "\n")
    return "\n".join(blocks)


def _quoted(text: str) -> str:
    """One line, or several after an empty one where the text has line ends."""
    lines = text.splitlines(keepends=True) or [""]
    quoted = [json.dumps(line, ensure_ascii=False) for line in lines]
    return quoted[0] if len(quoted) == 1 and not text.endswith("\n") else "\n".join(['""', *quoted])


def read_po(text: str) -> dict[tuple[str, str | None], Entry]:
    """The entries of a .po file by their key, without its head.

    Raises
    ------
    ValueError
        With the number of a line that is none of a .po file, or where a message stands twice or is
        marked fuzzy.
    """
    found: dict[tuple[str, str | None], Entry] = {}
    places: list[str] = []
    fields: dict[str, str] = {}
    name = ""

    def close() -> None:
        if fields.get("msgid"):
            forms = sorted(key for key in fields if key.startswith("msgstr"))
            entry = Entry(
                one=fields["msgid"],
                many=fields.get("msgid_plural"),
                places=tuple(places),
                said=tuple(fields[form] for form in forms),
            )
            if entry.key in found:
                raise ValueError(f"twice: {entry.one}")
            found[entry.key] = entry
        places.clear()
        fields.clear()

    for number, line in enumerate([*text.splitlines(), ""], start=1):
        word, _, rest = line.strip().partition(" ")
        if not word:
            close()
        elif word == "#:":
            places.append(rest)
        elif word == "#," and "fuzzy" in rest:
            raise ValueError(f"line {number}: a fuzzy message")
        elif word.startswith("#"):
            continue
        elif word.startswith('"') and name:
            fields[name] += json.loads(line)
        elif word.startswith("msg") and rest.startswith('"'):
            name = word
            fields[name] = json.loads(rest)
        else:
            raise ValueError(f"line {number}: no line of a .po file")
    return found


def mo_bytes(entries: Iterable[Entry], code: str) -> bytes:
    """The compiled catalogue; messages that are not translated are left out and stay English."""
    rows = {"": _HEAD.format(code=code, plural=PLURALS[code])}
    for entry in entries:
        if all(entry.said):
            rows[entry.one if entry.many is None else f"{entry.one}\0{entry.many}"] = "\0".join(entry.said)
    keys = sorted((key.encode(), text.encode()) for key, text in rows.items())
    start = 7 * 4
    texts = [one for one, _ in keys], [said for _, said in keys]
    at = start + 2 * 8 * len(keys)
    tables, pool = b"", b""
    for part in texts:
        table, at = _table(part, at)
        tables += table
        pool += b"".join(text + b"\0" for text in part)
    head = struct.pack("<7I", _MAGIC, 0, len(keys), start, start + 8 * len(keys), 0, start + 16 * len(keys))
    return head + tables + pool


def _table(texts: Sequence[bytes], at: int) -> tuple[bytes, int]:
    """Length and offset of every text, each with a NUL behind it; and the first offset after them."""
    out = b""
    for text in texts:
        out += struct.pack("<2I", len(text), at)
        at += len(text) + 1
    return out, at
