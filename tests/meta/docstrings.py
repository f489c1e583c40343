"""Reads the docstrings of public functions and says where they and the signatures disagree."""

from __future__ import annotations

import ast
import builtins
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

PHRASES = ("own derivation", "common practice, no source")
SECTIONS = ("Parameters", "Returns", "Yields", "Raises", "References", "Examples", "Notes")
SPOKEN = ("command", "callback", "get", "post", "put", "patch", "delete", "api_route")
# Suffix of a name and its unit; spaces, parentheses and raised digits do not count.
UNITS: Mapping[str, str] = {
    "_kg_pa_s_m2": "kg/(Pa s m2)", "_kg_pa_s_m": "kg/(Pa s m)", "_kg_m2_s": "kg/(m2 s)", "_kg_m2s": "kg/(m2 s)", "_kg_m_s": "kg/(m s)",
    "_w_m2k": "W/(m2 K)", "_m2k_w": "m2 K/W", "_w_mk": "W/(m K)", "_j_kgk": "J/(kg K)", "_j_m3k": "J/(m3 K)", "_j_kg": "J/kg",
    "_kg_m3": "kg/m3", "_kg_m2": "kg/m2", "_kg_kg": "kg/kg", "_kg_h": "kg/h", "_w_m2": "W/m2", "_m2_s": "m2/s", "_m_s": "m/s",
    "_1_pa": "1/Pa", "_kg_m2_h": "kg/(m2 h)", "_kg_pa_s": "kg/(Pa s)", "_m3_h": "m3/h", "_w_m": "W/m",
    "_mm_per_m": "mm/m", "_per_m": "1/m", "_m2": "m2", "_m3": "m3", "_mm": "mm", "_deg": "deg", "_perm": "perm", "_usd": "USD", "_pa": "Pa",
    "_kg": "kg", "_m": "m", "_k": "K", "_s": "s", "_h": "h", "_w": "W",
}  # fmt: skip
_ITEM = re.compile(r"(?P<names>\*{0,2}\w+(?:, \*{0,2}\w+)*) : (?P<type>.+)")
_BRACKET = re.compile(r"\[([^\]]*)\]")
_FACTOR = re.compile(r"([A-Za-z]+)(-?\d+)?")
_KEY = re.compile(r"(?<![\w.-])(?=[\w.-]*[A-Z0-9])[A-Za-z][A-Za-z0-9.]*(?:-[A-Za-z0-9.]*[A-Za-z0-9])+(?![\w-])")


@dataclass(frozen=True, slots=True)
class Fault:
    """One disagreement, and where."""

    where: str
    what: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what}"


def faults_of(path: Path, text: str, keys: Mapping[str, str], errors: Mapping[str, str]) -> list[Fault]:
    """All disagreements of one module. ``keys`` maps each source to what is said of it, ``errors`` each error class of ours to its base."""
    tree = ast.parse(text)
    faults: list[Fault] = []
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and not _is_command(node):
            faults += _function(f"{path}:{node.lineno} {node.name}", node, keys, errors, strict=True)
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            if not ast.get_docstring(node):
                faults.append(Fault(f"{path}:{node.lineno} {node.name}", "no docstring"))
            for inner in node.body:
                if isinstance(inner, ast.FunctionDef) and not inner.name.startswith("_"):
                    faults += _function(f"{path}:{inner.lineno} {node.name}.{inner.name}", inner, keys, errors, strict=False)
    return faults


def _is_command(node: ast.FunctionDef) -> bool:
    """Commands speak to people at a terminal, and routes to clients of the API, not to programmers."""
    return any(
        isinstance(d, ast.Call) and isinstance(d.func, ast.Attribute) and d.func.attr in SPOKEN
        for d in node.decorator_list
    )


def _function(where: str, node: ast.FunctionDef, keys: Mapping[str, str], errors: Mapping[str, str], *, strict: bool) -> Iterator[Fault]:
    doc = ast.get_docstring(node)
    if not doc:
        yield Fault(where, "no docstring")
        return
    summary, sections = _sections(doc)
    if not re.search(r"[.:)\]]$", summary):
        yield Fault(where, "the summary is not one whole sentence on one line")
    if not strict and not sections:
        return
    yield from _parameters(where, node, sections.get("Parameters", ""))
    if strict or "Returns" in sections:
        yield from _returns(where, node, sections)
    yield from _raises(where, node, sections.get("Raises", ""), errors)
    if strict or "References" in sections:
        yield from _references(where, sections.get("References"), keys)


def _sections(doc: str) -> tuple[str, dict[str, str]]:
    lines = doc.split("\n")
    found: dict[str, list[str]] = {}
    current: list[str] | None = None
    for i, line in enumerate(lines):
        if line in SECTIONS and i + 1 < len(lines) and re.fullmatch(r"-+", lines[i + 1]):
            current = found.setdefault(line, [])
        elif current is not None and not re.fullmatch(r"-+", line):
            current.append(line)
    return lines[0], {name: "\n".join(body) for name, body in found.items()}


def _items(section: str) -> Iterator[tuple[str, str]]:
    """Names and the whole text of each entry of a section."""
    names: tuple[str, ...] = ()
    body: list[str] = []
    for line in (*section.split("\n"), "end : end"):
        if line and not line.startswith(" "):
            yield from ((name, "\n".join(body)) for name in names)
            match = _ITEM.fullmatch(line)
            names = tuple(match["names"].split(", ")) if match else (line,)
            body = [line]
        else:
            body.append(line)


def _parameters(where: str, node: ast.FunctionDef, section: str) -> Iterator[Fault]:
    arguments = node.args
    listed = [a.arg for a in (*arguments.posonlyargs, *arguments.args)]
    if listed and "." in where.rsplit(" ", 1)[1] and listed[0] in ("self", "cls"):
        del listed[0]
    listed += ([arguments.vararg.arg] if arguments.vararg else []) + [a.arg for a in arguments.kwonlyargs]
    if arguments.kwarg:
        listed.append(arguments.kwarg.arg)
    entries = dict(_items(section)) if section else {}
    named = [name.lstrip("*") for name in entries]
    if named != listed:
        yield Fault(where, f"documents {', '.join(named) or 'no parameters'} where the signature has {', '.join(listed) or 'none'}")
    for name, text in entries.items():
        yield from _unit(where, name.lstrip("*"), text)


def _bare(unit: str) -> str:
    """One spelling for each unit: ``kg/(Pa s m2)``, ``kg/(Pa·s·m²)`` and ``kg Pa-1 s-1 m-2`` are the same."""
    above, _, below = unit.translate(str.maketrans({"²": "2", "³": "3", "°": "deg", "·": " ", "(": " ", ")": " "})).partition("/")
    powers = [(name, int(power or 1)) for name, power in _FACTOR.findall(above)]
    powers += [(name, -int(power or 1)) for name, power in _FACTOR.findall(below)]
    return " ".join(f"{name}{power}" for name, power in sorted(powers))


def _unit(where: str, name: str, text: str) -> Iterator[Fault]:
    suffix = max((s for s in UNITS if name.endswith(s)), key=len, default=None)
    brackets = [_bare(b) for b in _BRACKET.findall(text)]
    if suffix and _bare(UNITS[suffix]) not in brackets:
        yield Fault(where, f"“{name}” has no [{UNITS[suffix]}]")
    known = {_bare(unit): s for s, unit in UNITS.items() if len(unit) > 1 or unit == "m"}
    if (
        suffix is None
        and len(name) > 2
        and len(brackets) == 1
        and brackets[0] in known
        and re.match(r"\w+ : (float|array|ndarray)\b", text)
    ):
        yield Fault(where, f"“{name}” is in [{brackets[0]}], but its name does not end with {known[brackets[0]]}")


def _returns(where: str, node: ast.FunctionDef, sections: Mapping[str, str]) -> Iterator[Fault]:
    gives = node.returns is not None and not (isinstance(node.returns, ast.Constant) and node.returns.value is None)
    never = isinstance(node.returns, ast.Name) and node.returns.id in ("NoReturn", "Never")
    has = "Returns" in sections or "Yields" in sections
    if gives and not never and not has:
        yield Fault(where, "does not say what it returns")
    if not gives and has:
        yield Fault(where, "says that it returns something, and returns nothing")
    for name, text in _items(sections.get("Returns", "")):
        yield from _unit(where, name, text)


def _raises(where: str, node: ast.FunctionDef, section: str, errors: Mapping[str, str]) -> Iterator[Fault]:
    documented = [name for line in section.split("\n") if line and not line.startswith(" ") for name in line.split(", ")]
    for name in documented:
        if name not in errors and not (isinstance(getattr(builtins, name, None), type) and issubclass(getattr(builtins, name), Exception)):
            yield Fault(where, f"raises “{name}”, which does not exist")
    for raised in ast.walk(node):
        call = raised.exc if isinstance(raised, ast.Raise) else None
        name = call.func.id if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) else ""
        if name in errors and not _covers(name, documented, errors):
            yield Fault(where, f"raises {name} and does not say so")


def _covers(name: str, documented: Collection[str], errors: Mapping[str, str]) -> bool:
    while name in errors:
        if name in documented:
            return True
        name = errors[name]
    return False


def _references(where: str, section: str | None, keys: Mapping[str, str]) -> Iterator[Fault]:
    if section is None:
        yield Fault(where, "names no source")
        return
    used = [key for key in keys if re.search(rf"(?<![\w.-]){re.escape(key)}(?![\w-])", section, re.IGNORECASE)]
    if not used and not any(phrase in section for phrase in PHRASES):
        yield Fault(where, f"its source is neither a key of sources.toml nor one of: {', '.join(PHRASES)}")
    known = " ".join((*used, *(keys[key] for key in used))).lower()
    for token in _KEY.findall(section):
        if token.lower() not in known:
            yield Fault(where, f"“{token}” is not a key of sources.toml")
