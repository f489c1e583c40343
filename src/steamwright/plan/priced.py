"""Prices of what nobody can order: told at once, since such a price would be left out in silence."""

from __future__ import annotations

from steamwright.buildup.catalog_model import Catalog
from steamwright.errors import JobError, Mistake
from steamwright.estimate.inputs import Prices
from steamwright.estimate.order import may_be_ordered, orderable
from steamwright.plan.phrasing import close_to


def refuse_unknown_items(prices: Prices, catalog: Catalog) -> None:
    """Refuse prices of items that no order of any room can have.

    Parameters
    ----------
    prices : Prices
        What the person says about packs and prices. That an item is not needed in this room is no mistake.
    catalog : Catalog
        What can be ordered.

    Raises
    ------
    JobError
        With every such item.

    References
    ----------
    own derivation
    """
    known = orderable(catalog)
    wrong = [Mistake(f"prices.item.{name}", f"no order has an item “{name}”", close_to(name, known))
             for name in prices.item if not may_be_ordered(name, known)]
    if wrong:
        raise JobError(tuple(wrong))
