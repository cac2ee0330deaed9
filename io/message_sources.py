"""The messages in the program's own source: what `tr` and `tr_count` are called with.

A call names its message as a text, or as a name that is set to texts in the same function or module,
or as an entry of a table of the module. Any other expression has to be declared by whoever asks for
the messages: so no text that reaches users can be forgotten in silence.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

Texts = Iterable[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """A message of the source; `many` is None where nothing is counted."""

    one: str
    many: str | None
    place: str


class UndeclaredMessage(ValueError):
    """A message of which nothing says what texts it may be."""


def messages_of(path: Path, place: str, declared: Mapping[str, Callable[[], Texts]]) -> list[Message]:
    """All messages of one module, in their order.

    Parameters
    ----------
    path
        The module.
    place
        How it is named in the catalogue.
    declared
        Expressions that stand for messages of a table elsewhere, and the texts of the table. An expression
        stands alone, or behind the name of its module and a blank; ``edge.value`` declares every ``x.edge.value``.

    Raises
    ------
    UndeclaredMessage
        Where an expression is neither a text nor declared.
    """
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found: list[Message] = []
    for call, scopes in _calls(tree, (tree,)):
        if _name(call) == "tr_count":
            forms = [_texts(form, scopes, frozenset()) or [] for form in call.args[:2]]
            if [len(form) for form in forms] != [1, 1]:
                raise UndeclaredMessage(f"{place}:{call.lineno}: tr_count wants two texts")
            found.append(Message(one=forms[0][0], many=forms[1][0], place=place))
            continue
        texts = _texts(call.args[0], scopes, frozenset())
        if texts is None:
            words = ast.unparse(call.args[0])
            tail = ".".join(words.split(".")[-2:])
            table = declared.get(f"{place} {words}") or declared.get(words) or declared.get(tail)
            if table is None:
                raise UndeclaredMessage(f"{place}:{call.lineno}: tr({words}) is not declared")
            texts = list(table())
        found += [Message(one=text, many=None, place=place) for text in texts]
    return found


def _calls(node: ast.AST, scopes: tuple[ast.AST, ...]) -> Iterable[tuple[ast.Call, tuple[ast.AST, ...]]]:
    """Calls of the catalogue functions with the scopes around them, the innermost last."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Call) and _name(child) in ("tr", "tr_count") and child.args:
            yield child, scopes
        inner = isinstance(child, (ast.FunctionDef, ast.ClassDef))
        yield from _calls(child, (*scopes, child) if inner else scopes)


def _name(call: ast.Call) -> str:
    return call.func.id if isinstance(call.func, ast.Name) else ""


def _texts(node: ast.AST, scopes: tuple[ast.AST, ...], seen: frozenset[str]) -> list[str] | None:
    """The texts that an expression may be; None where the source does not tell."""
    match node:
        case ast.Constant(value=str(text)):
            return [text]
        case ast.IfExp(body=first, orelse=second):
            return _all([first, second], scopes, seen)
        case ast.Subscript(value=ast.Name(id=name)) if name not in seen:
            return _set_to(name, scopes, seen)
        case ast.Name(id=name) if name not in seen:
            return _set_to(name, scopes, seen)
        case ast.Attribute(value=ast.Name(id="self"), attr="value"):
            # a member of the enumeration around it
            around = [s for s in scopes if isinstance(s, ast.ClassDef)]
            values = [s.value for s in around[-1].body if isinstance(s, ast.Assign)] if around else []
            return _all(values, scopes, seen)
        case ast.Dict(values=values):
            return _all(values, scopes, seen)
        case ast.Tuple(elts=values) | ast.List(elts=values):
            return _all(values, scopes, seen)
    return None


def _all(
    nodes: Iterable[ast.AST | None], scopes: tuple[ast.AST, ...], seen: frozenset[str]
) -> list[str] | None:
    out: list[str] = []
    for node in nodes:
        texts = None if node is None else _texts(node, scopes, seen)
        if texts is None:
            return None
        out += texts
    return out or None


def _set_to(name: str, scopes: tuple[ast.AST, ...], seen: frozenset[str]) -> list[str] | None:
    """The texts that a name is set to, in the innermost scope that sets it."""
    for i in range(len(scopes) - 1, -1, -1):
        values = [value for target, value in _assignments(scopes[i]) if target == name]
        if values:
            return _all(values, scopes[: i + 1], seen | {name})
    return None


def _assignments(scope: ast.AST) -> Iterable[tuple[str, ast.AST]]:
    nodes = ast.walk(scope) if isinstance(scope, ast.FunctionDef) else ast.iter_child_nodes(scope)
    for node in nodes:
        if isinstance(node, ast.Assign):
            for target in node.targets:
                if isinstance(target, ast.Name):
                    yield target.id, node.value
                elif isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple):
                    for part, value in zip(target.elts, node.value.elts, strict=False):
                        if isinstance(part, ast.Name):
                            yield part.id, value
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name) and node.value:
            yield node.target.id, node.value
