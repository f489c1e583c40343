"""What stands on the terminal: accounts, findings and complaints, in plain words and few colours."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from steamwright.covering.places import in_units
from steamwright.errors import Mistake
from steamwright.plan.listing import VERDICT_WORDS as WORDS
from steamwright.plan.summary import in_urgency
from steamwright.rules.model import Finding, Verdict
from steamwright.units import System, format_area, format_length, format_volume

SEVERAL = WORDS | {Verdict.FAIL: "fail", Verdict.PASS: "hold", Verdict.NOT_APPLICABLE: "do not apply"}
STYLES = {
    Verdict.FAIL: "bold red",
    Verdict.MARGINAL: "yellow",
    Verdict.MISSING_INPUT: "yellow",
    Verdict.MANUAL: "cyan",
    Verdict.PASS: "cyan",
    Verdict.NOT_APPLICABLE: "dim",
}
ROLES = {"sheet": "sheet", "band": "band", "corner_piece": "corner piece", "collar": "collar"}


@contextmanager
def telling(console: Console) -> Iterator[Callable[[str], None]]:
    """Show which step runs, on a terminal only; that something compiles, and how long it took, stays as a line anywhere.

    Parameters
    ----------
    console : Console
        Where to show it.

    Yields
    ------
    tell : callable
        Takes the step in words.

    References
    ----------
    own derivation
    """
    def line(step: str) -> None:
        if step.startswith(("compiling ", "compiled ")):
            console.print(step, style="dim", markup=False, soft_wrap=True)

    if not console.is_terminal:
        yield line
        return
    with console.status("") as status:
        def both(step: str) -> None:
            line(step)
            status.update(escape(step))

        yield both


def show_summary(console: Console, summary: dict[str, Any]) -> None:
    """Print the account of a plan.

    Parameters
    ----------
    console : Console
        Where to print.
    summary : dict
        What ``plan_summary`` gathered.

    References
    ----------
    own derivation
    """
    system: System = summary["units"]
    table = Table.grid(padding=(0, 2))
    table.add_column(style="dim", no_wrap=True)
    table.add_column()
    rows = [("room", f"{format_volume(summary['tiled_volume_m3'], system)} of air inside the tile, "
                       f"{format_volume(summary['volume_m3'], system)} inside the membrane")]
    rows += [("areas", ", ".join(f"{kind.replace('_', ' ')} {format_area(area, system)}" for kind, area in summary["areas_m2"].items()))]
    rows += [
        ("pieces", ", ".join(counted(summary["pieces"][role], word) for role, word in ROLES.items() if role in summary["pieces"]) or "none")
    ]
    rows += [("rolls", _rolls(summary["rolls"], system)), ("laps", _laps(summary, system)), ("findings", _verdicts(summary["findings"]))]
    rows += [("takes", account_words(summary["takes"], system))]
    rows += [(f"wish {k}", f"{w['says']}: {cost_words(w, system)}") for k, w in enumerate(summary["wishes"], start=1)]
    if summary["stopped_early"]:
        rows += [("stopped", "the search was stopped; this is the best layout found until then")]
    first = summary["fails_first"]
    if first is not None:
        rows += [("fails first", placed(first["where"], first["sentence"]))]
        rows += [("way out", first["fix"])] if first["fix"] else []
    console.print(Text(summary["job"], style="bold"))
    for name, words in rows:
        table.add_row(name, Text(words))
    console.print(table)


def account_words(account: dict[str, Any], system: System) -> str:
    """Put into words what a layout takes.

    Parameters
    ----------
    account : dict
        As `account_row` gives it.
    system : System
        Units to print in.

    Returns
    -------
    text : str
        Material, lap, time and pieces.

    References
    ----------
    own derivation
    """
    hours = account["minutes"] / 60
    return (f"{format_area(account['material_m2'], system)} of roll, {format_length(account['seam_m'], system)} of lap, "
            f"{hours:.1f} h to set {counted(account['pieces'], 'cut piece')}")


def cost_words(account: dict[str, Any], system: System) -> str:
    """Put into words what one layout takes more than another.

    Parameters
    ----------
    account : dict
        The difference, as `account_row` gives it.
    system : System
        Units to print in.

    Returns
    -------
    text : str
        "costs nothing", or the money first and then what it is made of.

    References
    ----------
    own derivation
    """
    if account["usd"] < 0.005:
        return "costs nothing"
    parts = [_more(account["material_m2"], lambda v: f"{format_area(v, system)} of roll"),
             _more(account["seam_m"], lambda v: f"{format_length(v, system)} of lap"),
             _more(account["minutes"], lambda v: f"{v:.0f} min"), _more(account["pieces"], lambda v: counted(int(v), "piece"))]
    return f"costs {account['usd']:.2f} usd: " + ", ".join(p for p in parts if p)


def _more(value: float, words: Callable[[float], str]) -> str:
    return "" if abs(value) < 5e-3 else f"{words(abs(value))} {'more' if value > 0 else 'less'}"


def show_alternatives(console: Console, alternatives: Sequence[dict[str, Any]], system: System) -> None:
    """Print other layouts side by side and how the job chooses one.

    Parameters
    ----------
    console : Console
        Where to print.
    alternatives : sequence of dict
        As the summary gathers them.
    system : System
        Units to print in.

    References
    ----------
    own derivation
    """
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    for name in ("layout", "roll", "lap", "time", "pieces", "cost", "differs"):
        table.add_column(name, justify="left" if name == "layout" else "right", no_wrap=True)
    unit_m = 0.3048 if system == "inch" else 0.1
    for a in alternatives:
        lap = format_length(round(a["seam_m"] / unit_m) * unit_m, system)
        table.add_row(a["name"], format_area(a["material_m2"], system), lap,
                      f"{a['minutes'] / 60:.1f} h", str(a["pieces"]), f"{a['usd']:.0f} usd", f"{a['differs_ratio']:.0%}")
    console.print(table)
    for a in alternatives:
        if a["chosen"]:
            console.print(Text(f"this plan: {a['name']}", style="dim"))
        else:
            choose = ", ".join(f'{key} = "{value}"' for key, value in a["choose"].items())
            console.print(Text(f"for {a['name']}, write under [covering] in the job: {choose}", style="dim"))


def _rolls(rolls: Sequence[dict[str, Any]], system: System) -> str:
    bought = [roll for roll in rolls if not roll["on_hand"]]
    count = Counter(roll["material"] for roll in bought)
    used = {material: sum(r["used_length_m"] for r in bought if r["material"] == material) for material in count}
    words = [f"{n} of {material}, {format_length(used[material], system)} used" for material, n in count.items()]
    there = len(rolls) - len(bought)
    return "; ".join(words + [f"{there} cut already or a remnant on hand"] * (there > 0)) or "none"


def _laps(summary: dict[str, Any], system: System) -> str:
    required = format_length(summary["lap_required_m"], system)
    if summary["least_lap_m"] is None:
        return f"not lap-tight at any lap; {required} required"
    spare = summary["spare_m"]
    verdict = f"{format_length(spare, system)} to spare" if summary["tight"] else f"{format_length(-spare, system)} short"
    place = in_units(summary["least_lap_where"], system)
    where = f"; least {place}" if place.startswith("at ") else f"; {place}" if place else ""
    return f"least {format_length(summary['least_lap_m'], system)} of {required} required, {verdict}{where}"


def _verdicts(counts: dict[str, int]) -> str:
    said = [(counts.get(verdict.value, 0), WORDS[verdict], SEVERAL[verdict]) for verdict in WORDS]
    return ", ".join(f"{n} {one if n == 1 else several}" for n, one, several in said if n) or "none"


def show_findings(console: Console, findings: tuple[Finding, ...]) -> None:
    """Print findings, the urgent ones first and in full.

    Parameters
    ----------
    console : Console
        Where to print.
    findings : tuple of Finding
        As judged.

    References
    ----------
    own derivation
    """
    counts = {verdict.value: sum(f.verdict is verdict for f in findings) for verdict in Verdict}
    ordered = in_urgency(findings)
    for verdict, word in WORDS.items():
        rows = [f for f in ordered if f.verdict is verdict and verdict is not Verdict.NOT_APPLICABLE]
        if rows:
            console.print(Text(f"{word} ({len(rows)})", style=STYLES[verdict]))
        for finding in rows:
            console.print(Padding(Text(placed(finding.where, finding.sentence)), (0, 0, 0, 2), expand=False))
            if finding.fix and verdict is not Verdict.PASS:
                console.print(Padding(Text(finding.fix, style="cyan"), (0, 0, 0, 4), expand=False))
            console.print(Padding(Text(f"{finding.rule}: {_grounds(finding)}", style="dim"), (0, 0, 0, 4), expand=False))
    console.print(_verdicts(counts), markup=False)
    console.print("Local codes and the authority having jurisdiction decide.", style="dim")


def counted(number: int, noun: str) -> str:
    """Put a number before a noun.

    Parameters
    ----------
    number : int
        How many.
    noun : str
        The noun in the singular.

    Returns
    -------
    text : str
        Such as ``1 sheet`` or ``20 sheets``.

    References
    ----------
    own derivation
    """
    return f"{number} {noun}{'' if number == 1 else 's'}"


def placed(where: str, sentence: str) -> str:
    """Put the place before a sentence that does not name it.

    Parameters
    ----------
    where : str
        The place; "room" is everywhere.
    sentence : str
        What is said of it.

    Returns
    -------
    text : str
        One sentence with its place.

    References
    ----------
    own derivation
    """
    return sentence if where in ("", "room") or where.lower() in sentence.lower() else f"{where}: {sentence}"


def _grounds(finding: Finding) -> str:
    clause = "" if finding.clause in ("", "-") or finding.source.endswith(finding.clause) else f", {finding.clause}"
    verify = "; verify: from memory" if finding.how_known == "memory" and "from memory" not in finding.sentence else ""
    return f"{finding.source}{clause}{verify}"


def show_mistakes(console: Console, file: str, mistakes: Sequence[Mistake]) -> None:
    """Print mistakes with their places and ways out.

    Parameters
    ----------
    console : Console
        Where to print.
    file : str
        The file that they stand in.
    mistakes : sequence of Mistake
        In the order of their lines.

    References
    ----------
    own derivation
    """
    count = len(mistakes)
    console.print(Text(f"{file}: {counted(count, 'mistake')}", style="bold red"), soft_wrap=True)
    for mistake in mistakes:
        place = (f"line {mistake.line}" if mistake.line else "") + (f"  {mistake.path}" if mistake.path else "")
        console.print(Text(place.strip() or "the file", style="bold"))
        console.print(Padding(Text(mistake.detail), (0, 0, 0, 2), expand=False))
        if mistake.hint:
            console.print(Padding(Text(mistake.hint, style="cyan"), (0, 0, 0, 2), expand=False))
