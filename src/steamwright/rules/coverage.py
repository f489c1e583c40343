"""The list of all rules as a page for people: what is judged, by which clause, how well it is known."""

from __future__ import annotations

from collections.abc import Sequence

from steamwright.rules.engine import FROM_MEMORY
from steamwright.rules.rule import Compare, Condition, Every, Never, Rule, Some

_HEAD = """# Rules

Made from the rule data; do not edit. Local codes and the authority having jurisdiction decide, and clauses were read in
the editions that the sources name. A rule known from memory is shown to people as "{memory}" where it is required.
*House* rules and *common practice* have no standard behind them.
"""


def rules_page(rules: Sequence[Rule]) -> str:
    """Write the page of all rules.

    Parameters
    ----------
    rules : sequence of Rule
        The rules.

    Returns
    -------
    page : str
        Markdown, one table per chapter.

    References
    ----------
    own derivation
    """
    lines = [_HEAD.format(memory=FROM_MEMORY)]
    for file in dict.fromkeys(r.file for r in rules):
        chapter = [r for r in rules if r.file == file]
        lines += [f"\n## {file.removesuffix('.yaml').replace('/', ', ').replace('_', ' ')}\n",
                  "| rule | says | limit | level | judged | source, clause | known |", "|---|---|---|---|---|---|---|"]
        lines += [_row(r) for r in chapter]
    return "\n".join(lines) + "\n"


def _row(r: Rule) -> str:
    judged = ("by hand" if r.check == "manual" else "by the tool") + (f", each of {r.each.replace('_', ' ')}" if r.each else "")
    limit = "" if r.require is None else limit_words(r.require)
    cells = (r.id, r.title, limit, r.level, judged, f"{r.source}, {r.clause}", r.how_known)
    return "| " + " | ".join(c.replace("|", "/") for c in cells) + " |"


def limit_words(condition: Condition) -> str:
    """Say a condition in a few words.

    Parameters
    ----------
    condition : Condition
        What a rule requires.

    Returns
    -------
    words : str
        Such as ``slope ratio >= 2 in/ft``.

    References
    ----------
    own derivation
    """
    if isinstance(condition, Compare):
        limit = condition.of or condition.limit
        shown = f"{limit:g}" if isinstance(limit, float) else "" if limit is None else str(limit)
        name = condition.fact.removesuffix("_m").removesuffix("_kg_pa_s_m2").removesuffix("_k").replace("_", " ")
        return " ".join(w for w in (name, condition.op, shown.removesuffix("_m").replace("_", " "), condition.unit) if w)
    if isinstance(condition, Every | Some):
        return (" and " if isinstance(condition, Every) else " or ").join(limit_words(p) for p in condition.parts)
    if isinstance(condition, Never):
        return f"not ({limit_words(condition.part)})"
    return condition.predicate.replace("_", " ")
