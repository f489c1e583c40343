"""Build-ups side by side on the terminal: one column for each, and under it what can be said for and against."""

from __future__ import annotations

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from steamwright.plan.compared import compared, reason
from steamwright.units import System, format_permeance, format_temperature
from steamwright.vapor.compare import Comparison, Family


def show_comparison(console: Console, job: str, found: Comparison, system: System) -> None:
    """Print a comparison.

    Parameters
    ----------
    console : Console
        Where to print.
    job : str
        Name of the job.
    found : Comparison
        From ``compare_plan``.
    system : str
        ``inch`` or ``metric``.

    References
    ----------
    own derivation
    """
    console.print(Text(job, style="bold"))
    limit = found.limit
    console.print(Text(f"membrane at most {format_permeance(limit.permeance_kg_pa_s_m2, system)}: {limit.source}, {limit.how_known};"
                       f" {found.climate}", style="dim"))
    for family in found.families:
        _family(console, family, found, system)
    if found.seams is not None:
        s = found.seams
        low, high = (format_permeance(v, system) for v in (s.low_kg_pa_s_m2, s.high_kg_pa_s_m2))
        two = next(r for r in s.laps if abs(r.width_m - 0.0508) < 1e-9)
        console.print(Text(f"The whole covering with its seams passes {low} to {high}. A metre of 2 in lap passes as much as"
                           f" {two.as_area_m2_m:.3f} m² of membrane, a metre of open 10 mm gap as much as {s.gap_as_area_m2_m:.0f} m²."))
    for outlet in found.outlets:
        hot = "; ".join(f"{h.layer} {format_temperature(h.hottest_k, system)}" for h in outlet.layers)
        console.print(Text(f"Round the {outlet.penetration}: {hot} ({outlet.note})."))
    for caution in found.cautions:
        console.print(Text(f"{caution.kind}: {caution.sentence} ({caution.source})", style="yellow"))
    for note in found.assumptions:
        console.print(Text(note, style="dim"))


def _family(console: Console, family: Family, found: Comparison, system: System) -> None:
    table = Table(box=None, padding=(0, 2), header_style="bold")
    table.add_column("", style="dim")
    for v in family.variants:
        table.add_column(Text(v.name + ("" if v.is_base else " (alternative)")), overflow="fold")
    for label, cells in compared(family.variants, found.hourly_years, system):
        table.add_row(label, *(Text(cell) for cell in cells))
    console.print(table)
    for sentence in family.reasons:
        console.print(Padding(Text(f"- {reason(sentence, system)}", style="cyan"), (0, 0, 0, 2), expand=False))
    if not family.reasons:
        console.print(Padding(Text("no difference that could be told apart"), (0, 0, 0, 2), expand=False))
