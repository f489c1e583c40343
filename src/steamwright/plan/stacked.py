"""Facts of build-ups: what stands on the steam side, what holds vapor, what carries it."""

from __future__ import annotations

from steamwright.buildup.model import BuildUp, Layer

_BEHIND = ("cavity", "insulation", "structure", "framing", "lining", "finish")
MIL_M = 0.0254 / 1000.0


def steam_side(buildup: BuildUp) -> tuple[Layer, ...]:
    """Layers on the steam side: all that is in front of cavity, insulation or structure.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.

    Returns
    -------
    layers : tuple of Layer
        Steam side first.

    References
    ----------
    own derivation
    """
    count = next((k for k, layer in enumerate(buildup.layers) if layer.role in _BEHIND), len(buildup.layers))
    return buildup.layers[:count]


def is_insulated(buildup: BuildUp) -> bool:
    """Tell whether a build-up has insulation: a filled cavity, rigid boards, or a foam-core board of 1 in and more.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.

    Returns
    -------
    insulated : bool
        ``False`` for air spaces.

    References
    ----------
    common practice, no source
    """
    return any("insulation" in layer.tags or ("foam-core" in layer.tags and layer.thickness_m >= 0.0253) for layer in buildup.layers)


def insulation_m2k_w(buildup: BuildUp) -> float:
    """Thermal resistance of a build-up's insulation and foam-core boards alone.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.

    Returns
    -------
    insulation_m2k_w : float
        0 without any. [m² K/W]

    References
    ----------
    own derivation
    """
    return sum(layer.r_m2k_w for layer in buildup.layers if "insulation" in layer.tags or "foam-core" in layer.tags)


def gypsum_board(buildup: BuildUp) -> str:
    """Name the gypsum-core board on the steam side.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.

    Returns
    -------
    name : str
        Empty where there is none.

    References
    ----------
    IBC-2509 2509.3
    """
    found = [layer.name for layer in steam_side(buildup) if "gypsum-core" in layer.tags]
    front = [layer.name for layer in buildup.layers[:1] if "gypsum-core" in layer.tags]
    return next(iter(found or front), "")


def retarder_behind(buildup: BuildUp) -> str:
    """Name the vapor retarder behind the membrane.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.

    Returns
    -------
    name : str
        Empty where there is none.

    References
    ----------
    own derivation
    """
    roles = [layer.role for layer in buildup.layers]
    start = roles.index("membrane") if "membrane" in roles else 0
    return next((layer.name for layer in buildup.layers[start:] if layer.role == "retarder"), "")


def unproven_boards(buildup: BuildUp) -> tuple[str, ...]:
    """Name the boards that carry tile on the steam side and are not made for wet areas.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.

    Returns
    -------
    names : tuple of str
        Only the board nearest the tile counts: one behind it may be of wood.

    References
    ----------
    UFGS-09250 2.1.3
    """
    boards = [layer for layer in steam_side(buildup) if layer.role in ("board", "lining")]
    return tuple(layer.name for layer in boards[:1] if "wet area board" not in layer.tags)


def membrane_in_front(buildup: BuildUp) -> bool:
    """Tell whether the membrane lies on the steam side of every board.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.

    Returns
    -------
    in_front : bool
        ``False`` without a membrane.

    References
    ----------
    TCNA-FAQ
    """
    roles = [layer.role for layer in buildup.layers]
    return "membrane" in roles and "board" not in roles[: roles.index("membrane")]


def thinnest_mortar_m(buildup: BuildUp) -> float | None:
    """Thickness of the thinnest mortar under the tile, that is, before the membrane.

    Parameters
    ----------
    buildup : BuildUp
        The build-up.

    Returns
    -------
    mortar_m : float or None
        ``None`` where no mortar is named. [m]

    References
    ----------
    ANSI-A108.05 2.2.2
    """
    roles = [layer.role for layer in buildup.layers]
    end = roles.index("membrane") if "membrane" in roles else len(roles)
    return min((layer.thickness_m for layer in buildup.layers[:end] if layer.role == "mortar"), default=None)
