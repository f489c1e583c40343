"""What each wish costs: the same job laid out without it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from steamwright.buildup.catalog_model import Catalog
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.leaning import leaning
from steamwright.covering.model import NOTHING, Account, WishCost
from steamwright.covering.trial import attempt
from steamwright.room.model import Solid
from steamwright.units import System, format_length

KINDS = ("fold", "direction", "no_seam", "seam", "piece")


def wish_costs(solid: Solid, wishes: CoveringWishes, catalog: Catalog, code: str, mine: Account,
               progress: Callable[[str], None] | None = None, system: System = "inch") -> tuple[WishCost, ...]:
    """Lay the room out again without each wish and compare.

    A layout that meets a wish is also one of the job without it; where no cheaper one is found the wish costs nothing.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    wishes : CoveringWishes
        What a person chooses.
    catalog : Catalog
        What can be ordered.
    code : str
        Code family.
    mine : Account
        What the layout with all wishes takes.
    progress : callable, optional
        Told in words which wish is weighed.
    system : {"inch", "metric"}, optional
        How lengths are said.

    Returns
    -------
    costs : tuple of WishCost
        One a wish, in the order of the job's tables.

    Raises
    ------
    InputError
        As `attempt`.

    References
    ----------
    own derivation
    """
    tell = progress or (lambda _: None)
    out = []
    for path, says, without in without_each(wishes, system):
        tell(f"what it costs: {says}")
        other = attempt(solid, leaning(solid, without), catalog, code).account
        # the account is in the job's own weights, whatever the search leant to
        plain = other.material_m2 * wishes.weights.membrane_usd_m2 + other.minutes / 60.0 * wishes.weights.wage_usd_h
        more = mine.less(Account(other.material_m2, other.seam_m, other.minutes, other.pieces, plain))
        out.append(WishCost(path, says, more if more.usd > 0.0 else NOTHING))
    return tuple(out)


def said_wishes(wishes: CoveringWishes, system: System = "inch") -> list[tuple[str, str]]:
    """Name the wishes whose cost can be told.

    Parameters
    ----------
    wishes : CoveringWishes
        What a person chooses.
    system : {"inch", "metric"}, optional
        How lengths are said.

    Returns
    -------
    wishes : list of (str, str)
        Place in the job and what is wished, as `wish_costs` gives them.

    References
    ----------
    own derivation
    """
    return [(path, says) for path, says, _ in without_each(wishes, system)]


def without_each(wishes: CoveringWishes, system: System) -> Iterator[tuple[str, str, CoveringWishes]]:
    """Leave out each wish in turn.

    Parameters
    ----------
    wishes : CoveringWishes
        What a person chooses.
    system : {"inch", "metric"}
        How lengths are said.

    Yields
    ------
    path, says, without : str, str and CoveringWishes
        Place in the job, what is wished, and all other wishes.

    References
    ----------
    own derivation
    """
    for kind in KINDS:
        rows = getattr(wishes, kind)
        for k, row in enumerate(rows):
            yield f"covering.{kind}[{k}]", _says(kind, row, system), wishes.model_copy(update={kind: (*rows[:k], *rows[k + 1:])})


def _says(kind: str, row: object, system: System) -> str:
    """A wish in a few words."""
    said = vars(row)
    if kind == "fold":
        return f"{said['from_surface']} and {said['onto']} closed by a {said['by']}"
    if kind == "direction":
        return f"sheets of {said['on']} {said['sheets']}"
    if kind == "no_seam":
        between = f"from {format_length(said['from_m'], system)} to {format_length(said['to_m'], system)}"
        return f"no seam on {said['on']} {between}, {said['measured']}"
    if kind == "seam":
        way, at_m = ("along", said["along_m"]) if said["along_m"] is not None else ("up", said["up_m"])
        return f"seam on {said['on']} at {format_length(at_m, system)} {way}"
    short = f", {format_length(said['short_m'], system)} short" if said["short_m"] else ""
    return f"piece {said['id']} is {said['state']}{short}"
