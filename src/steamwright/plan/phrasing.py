"""What a model refuses, in the words of the trade: place, what is wrong, what to write instead."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from functools import cache
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from steamwright.errors import Mistake
from steamwright.plan.places import Path, Place, nearest, path_text

_NEEDED = {
    "string_type": ("text", 'write it in quotes, such as "A-B"'),
    "bool_type": ("yes or no", "write true or false, without quotes"),
    "bool_parsing": ("yes or no", "write true or false, without quotes"),
    "int_type": ("a whole number", ""),
    "int_from_float": ("a whole number", ""),
    "int_parsing": ("a whole number", ""),
    "float_type": ("a number", "write it without quotes"),
    "float_parsing": ("a number", "write it without quotes"),
    "tuple_type": ("a list", "write it in square brackets, such as [1, 2]"),
    "model_type": ("a table", ""),
    "model_attributes_type": ("a table", ""),
    "dict_type": ("a table", ""),
}
_KIND_OF_VALUE = ("tuple_type", "string_type", "model_type", "literal_error")
MISSING = "input.missing"
_LISTED = 12


def mistakes_of(
    error: ValidationError, model: type[BaseModel], data: Mapping[str, Any], places: Mapping[Path, Place]
) -> tuple[Mistake, ...]:
    """Turn all that a model refuses into mistakes of a file.

    Parameters
    ----------
    error : ValidationError
        What the model says.
    model : type of BaseModel
        The model.
    data : mapping
        What the model was given.
    places : mapping of path to Place
        Where the data stand in the text.

    Returns
    -------
    mistakes : tuple of Mistake
        In the order of their lines.

    References
    ----------
    own derivation
    """
    found: dict[Path, list[tuple[ErrorDetails, bool]]] = {}
    for detail in error.errors(include_url=False):
        path, choice = _path_in(data, detail)
        found.setdefault(path, []).append((detail, choice))
    schema = _schema(model)
    mistakes = []
    for path, details in found.items():
        deeper = any(len(other) > len(path) and other[: len(path)] == path for other in found)
        kept = [d for d, choice in details if not (deeper and (choice or d["type"] == "too_short"))]
        kept = [d for d in kept if d["type"] not in ("tuple_type", "string_type")] or kept
        if kept:
            mistakes.append(_mistake(kept[0], path, schema, nearest(places, path)))
    return tuple(sorted(mistakes, key=lambda m: (m.line or 0, m.path)))


def error_paths(error: ValidationError, data: Mapping[str, Any]) -> tuple[tuple[Path, str], ...]:
    """Where a model refuses data, and by which kind of error.

    Parameters
    ----------
    error : ValidationError
        What the model says.
    data : mapping
        What the model was given.

    Returns
    -------
    refused : tuple of path and str
        Each place once, the innermost first named.

    References
    ----------
    own derivation
    """
    found: dict[Path, str] = {}
    for detail in error.errors(include_url=False):
        found.setdefault(_path_in(data, detail)[0], detail["type"])
    return tuple((p, k) for p, k in found.items() if not any(len(q) > len(p) and q[: len(p)] == p for q in found))


def filler(model: type[BaseModel], path: Path) -> Any:
    """A value that the model takes at a path.

    Parameters
    ----------
    model : type of BaseModel
        The model.
    path : tuple of str or int
        Where it shall stand.

    Returns
    -------
    value : object
        ``None`` where there is no simple one.

    References
    ----------
    own derivation
    """
    return _value(_node(_schema(model), path))


def _value(node: Mapping[str, Any]) -> Any:
    for option in (node, *node.get("anyOf", ())):
        if option.get("examples"):
            return option["examples"][0]
        if option.get("enum"):
            return option["enum"][0]
        if "pattern" in option:
            return "A-B"
        if "prefixItems" in option:
            return [_value(item) for item in option["prefixItems"]]
    return {"string": "x", "number": 1.0, "integer": 1, "boolean": True}.get(node.get("type", ""))


def close_to(word: str, known: Iterable[str]) -> str:
    """A hint that names the nearest known word, or all of them.

    Parameters
    ----------
    word : str
        What was written.
    known : iterable of str
        What could have been meant.

    Returns
    -------
    hint : str
        Empty if nothing is known.

    References
    ----------
    own derivation
    """
    words = list(dict.fromkeys(known))
    near = get_close_matches(word.lower(), [w.lower() for w in words], n=1, cutoff=0.6)
    if near:
        return f"did you mean “{next(w for w in words if w.lower() == near[0])}”?"
    listed = ", ".join(words[:_LISTED]) + (" and others" if len(words) > _LISTED else "")
    return f"known here: {listed}" if words else ""


def _path_in(data: Any, detail: ErrorDetails) -> tuple[Path, bool]:
    """The error's place in the data, without the names that the model gives to choices; and whether it was one of a choice."""
    path: list[str | int] = []
    choice, node, parts = False, data, detail["loc"]
    for number, part in enumerate(parts):
        inside = (isinstance(node, Mapping) and part in node) or (isinstance(node, list) and isinstance(part, int) and part < len(node))
        if inside:
            node = node[part]
            path.append(part)
        elif number == len(parts) - 1 and detail["type"] in ("missing", "extra_forbidden"):
            path.append(part)
        else:
            choice = True
    return tuple(path), choice and detail["type"] in _KIND_OF_VALUE


@cache
def _schema(model: type[BaseModel]) -> Mapping[str, Any]:
    return model.model_json_schema()


def _node(schema: Mapping[str, Any], path: Path) -> Mapping[str, Any]:
    """The part of the schema that describes what stands at a path."""
    node: Mapping[str, Any] = schema
    for part in path:
        options = [_follow(schema, option) for option in (*node.get("anyOf", ()), node)]
        for option in options:
            if isinstance(part, int):
                items = option.get("prefixItems", ())
                inner = items[part] if part < len(items) else option.get("items")
            else:
                inner = option.get("properties", {}).get(part) or option.get("additionalProperties")
            if isinstance(inner, Mapping):
                node = _follow(schema, inner)
                break
        else:
            return {}
    return node


def _follow(schema: Mapping[str, Any], node: Mapping[str, Any]) -> Mapping[str, Any]:
    reference = node.get("$ref")
    return schema["$defs"][reference.rsplit("/", 1)[1]] if reference else node


def _choices(schema: Mapping[str, Any], node: Mapping[str, Any]) -> list[str]:
    """The words that may stand there."""
    words: list[str] = []
    for option in (node, *(_follow(schema, o) for o in node.get("anyOf", ()))):
        words += [str(w) for w in option.get("enum", ())] + ([str(option["const"])] if "const" in option else [])
    return words


def _example(node: Mapping[str, Any]) -> str:
    """A value that could stand there, as it is written in a file."""
    for option in (node, *node.get("anyOf", ())):
        if option.get("examples"):
            return f'"{option["examples"][0]}"'
        if option.get("enum"):
            return f'"{option["enum"][0]}"'
        if "prefixItems" in option:
            return "[" + ", ".join(_example(item) for item in option["prefixItems"]) + "]"
    return {"array": "[…]", "object": "{…}", "string": '"…"', "number": "…", "integer": "…", "boolean": "true"}.get(
        node.get("type", ""), "…"
    )


def _mistake(detail: ErrorDetails, path: Path, schema: Mapping[str, Any], place: Place | None) -> Mistake:
    say = {"missing": _missing, "extra_forbidden": _unknown}.get(detail["type"], _refused)
    what, hint = say(detail, path, schema)
    return Mistake(path_text(path), what, hint, place.line if place else None, MISSING if detail["type"] == "missing" else "input")


def _missing(_detail: ErrorDetails, path: Path, schema: Mapping[str, Any]) -> tuple[str, str]:
    node = _node(schema, path)
    if isinstance(path[-1], int):
        return f"value {path[-1] + 1} of this list is missing", f"write such as {_example(_node(schema, path[:-1]))}"
    if node.get("type") == "object":
        return f"the table “{path[-1]}” is missing", f"begin it with [{path_text(path)}]"
    if node.get("type") == "array" and "properties" in _follow(schema, node.get("items", {})):
        return f"there is no “{path[-1]}”", f"begin each with [[{path_text(path)}]]"
    return f"“{path[-1]}” is missing", f"write such as {path[-1]} = {_example(node)}"


def _unknown(_detail: ErrorDetails, path: Path, schema: Mapping[str, Any]) -> tuple[str, str]:
    known = _node(schema, path[:-1]).get("properties", {})
    return f"“{path[-1]}” is not known here", close_to(str(path[-1]), known)


def _refused(detail: ErrorDetails, path: Path, schema: Mapping[str, Any]) -> tuple[str, str]:
    kind, value, context, node = detail["type"], detail["input"], detail.get("ctx", {}), _node(schema, path)
    if kind == "quantity":
        return str(context["detail"]), str(context["hint"])
    if kind in ("literal_error", "enum"):
        also = "" if not node.get("anyOf") or "prefixItems" not in str(node) else ', or a point such as ["20 in", "30 in"]'
        return f"“{value}” cannot stand here", close_to(str(value), _choices(schema, node)) + also
    if kind == "string_pattern_mismatch":
        descriptions = [str(o["description"]) for o in (node, *node.get("anyOf", ())) if "pattern" in o and "description" in o]
        return f"“{value}” does not have the right form", f"write {descriptions[0] if descriptions else 'another name'}"
    if kind in ("too_short", "too_long"):
        wanted = context.get("min_length", context.get("max_length"))
        return f"{context['actual_length']} given, {'at least' if kind == 'too_short' else 'at most'} {wanted} needed", ""
    if kind in _NEEDED:
        noun, hint = _NEEDED[kind]
        shown = f"“{value}”" if isinstance(value, str) else "this" if isinstance(value, list | dict) else str(value).lower()
        return f"{noun} is needed here, not {shown}", hint
    if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        words = {"gt": "more than", "ge": "at least", "lt": "less than", "le": "at most"}
        key = next(k for k in words if k in context)
        return f"{value} is out of range", f"it has to be {words[key]} {context[key]:g}"
    return f"{value}: {detail['msg'][:1].lower()}{detail['msg'][1:]}", ""
