"""What a person says about buying: packs and prices by order item."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from steamwright.said import Said


class ItemPrice(Said):
    """Price and pack of one order item; left out, the catalog's pack and no price stand."""

    usd: Annotated[float, Field(ge=0)] | None = None
    pack: Annotated[float, Field(gt=0)] | None = None


class Prices(Said):
    """Prices by order item."""

    item: dict[str, ItemPrice] = Field(default_factory=dict)
