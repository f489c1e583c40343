"""From chosen layers to a stack: thickness to every face, permeance, thermal resistance and mass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from difflib import get_close_matches
from itertools import accumulate

from steamwright.buildup.catalog_model import Catalog, LayerRole, Material
from steamwright.buildup.inputs import BuildUpChoice, LayerChoice
from steamwright.buildup.model import BuildUp, Layer
from steamwright.buildup.thermal import air_space_r_m2k_w, heat_flow_of, resistance_of_stack
from steamwright.errors import DataError, InputError, OutOfRangeError

AIR_PERMEABILITY_KG_M_S_PA = 1.95e-10
_BEHIND = (LayerRole.STRUCTURE, LayerRole.FRAMING, LayerRole.LINING, LayerRole.FINISH)
_MASSIVE = ("concrete", "masonry")


def build_stacks(choices: Sequence[BuildUpChoice], catalog: Catalog) -> tuple[BuildUp, ...]:
    """Make a build-up of every choice of a job.

    Parameters
    ----------
    choices : sequence of BuildUpChoice
        Layers by catalog id, steam side first.
    catalog : Catalog
        The materials.

    Returns
    -------
    buildups : tuple of BuildUp
        In the order of the choices; ``facets`` is still empty.

    Raises
    ------
    InputError
        If a material is unknown, a thickness is missing, a name is used twice or an alternative points nowhere.
    OutOfRangeError
        If a thickness lies outside what the material is made in.

    References
    ----------
    own derivation
    """
    names = [c.name for c in choices]
    for i, choice in enumerate(choices):
        if choice.name in names[:i]:
            raise InputError(f"two build-ups are named {choice.name!r}", path=f"buildup[{i}].name", hint="give each its own name")
        if choice.alternative_to is not None and (choice.alternative_to not in names or choice.alternative_to == choice.name):
            raise InputError(f"no other build-up is named {choice.alternative_to!r}", path=f"buildup[{i}].alternative_to",
                             hint=f"name one of: {', '.join(n for n in names if n != choice.name) or 'none there'}")
    return tuple(_build_up(i, choice, catalog) for i, choice in enumerate(choices))


def series_permeance_kg_pa_s_m2(permeances_kg_pa_s_m2: Sequence[float | None]) -> float | None:
    """Permeance of layers one behind the other: the inverse of the sum of the inverses.

    Parameters
    ----------
    permeances_kg_pa_s_m2 : sequence of float or None
        Permeance of each layer; ``None`` where unknown. [kg Pa-1 s-1 m-2]

    Returns
    -------
    permeance_kg_pa_s_m2 : float or None
        Permeance of the stack; an upper bound where a layer is unknown, since a layer never makes a stack more open.
        ``None`` where nothing is known. [kg Pa-1 s-1 m-2]

    References
    ----------
    own derivation
    """
    known = [p for p in permeances_kg_pa_s_m2 if p is not None]
    if not known:
        return None
    return 0.0 if min(known) <= 0.0 else 1.0 / sum(1.0 / p for p in known)


def _build_up(index: int, choice: BuildUpChoice, catalog: Catalog) -> BuildUp:
    flow = heat_flow_of(choice.on)
    pairs = tuple(_layer(f"buildup[{index}].layers[{j}]", said, choice, catalog, flow) for j, said in enumerate(choice.layers))
    materials, layers = [m for m, _ in pairs], tuple(layer for _, layer in pairs)
    membranes = [k for k, m in enumerate(materials) if m.role is LayerRole.MEMBRANE]
    if choice.covering == "sheet membrane" and not membranes:
        raise InputError(f"build-up {choice.name!r} is covered by a sheet membrane, and no layer of it is one",
                         path=f"buildup[{index}].layers", hint='add a layer such as "sheet membrane 0.5 perm", or say what covers it')
    if len(membranes) > 1:
        raise InputError(f"build-up {choice.name!r} has {len(membranes)} membranes",
                         path=f"buildup[{index}].layers[{membranes[1]}].material",
                         hint="keep the one that is bonded; a film behind the board is a retarder")
    total_r, notes = resistance_of_stack(layers, materials, choice.framing, flow, framing_timber=catalog.materials.get("framing timber"))
    membrane = layers[membranes[0]] if membranes else None
    procedure = _procedure(materials[membranes[0]]) if membranes else ""
    to_membrane, to_board, to_tile = _faces(layers, materials, choice)
    return BuildUp(
        id=f"buildup-{index + 1:02d}", name=choice.name, on=choice.on, covering=choice.covering, layers=layers,
        framing_kind=choice.framing.kind, framing_spacing_m=choice.framing.spacing_m, framing_depth_m=choice.framing.depth_m,
        steel_mil=choice.framing.steel_mil, alternative_to=choice.alternative_to, facets=(),
        permeance_kg_pa_s_m2=series_permeance_kg_pa_s_m2([layer.permeance_kg_pa_s_m2 for layer in layers]),
        membrane_permeance_kg_pa_s_m2=membrane.permeance_kg_pa_s_m2 if membrane else None, membrane_procedure=procedure,
        r_m2k_w=total_r, mass_kg_m2=sum(layer.density_kg_m3 * layer.thickness_m for layer in layers),
        to_membrane_m=to_membrane, to_board_m=to_board, to_tile_m=to_tile, notes=notes,
        retarder_behind=choice.retarder_behind, vented_1_h=choice.vented_1_h)


def _layer(path: str, said: LayerChoice, choice: BuildUpChoice, catalog: Catalog, flow: str) -> tuple[Material, Layer]:
    material = catalog.materials.get(said.material)
    if material is None:
        near = get_close_matches(said.material, list(catalog.materials), n=3, cutoff=0.3)
        raise InputError(f"material {said.material!r} is not in the catalog", path=f"{path}.material",
                         hint=_meant(said.material, near, catalog))
    thickness = _thickness(path, said, material, choice)
    r = _layer_r(material, thickness, flow)
    permeance, basis = _permeance(material, thickness)
    k = material.conductivity_w_mk
    source, how = (material.vapor.source, material.vapor.how_known) if material.vapor else (material.density_kg_m3.source,
                                                                                          material.density_kg_m3.how_known)
    return material, Layer(material=material.id, name=material.name, role=material.role.value, thickness_m=thickness,
                           conductivity_w_mk=k.value if k else None, r_m2k_w=r, density_kg_m3=material.density_kg_m3.value,
                           permeance_kg_pa_s_m2=permeance, permeance_basis=basis, source=source, how_known=how, tags=material.tags)


def _meant(word: str, near: Sequence[str], catalog: Catalog) -> str:
    """Names that may have been meant; all boards where a board was."""
    boards = [m.id for m in catalog.materials.values() if m.role is LayerRole.BOARD] if "board" in word.lower() else []
    guess = f"did you mean {', '.join(repr(n) for n in near)}?" if near else "add it in a catalog of your own"
    return guess + (f" The boards of the catalog are {', '.join(repr(b) for b in boards)}." if boards else "")


def _thickness(path: str, said: LayerChoice, material: Material, choice: BuildUpChoice) -> float:
    thickness = said.thickness_m if said.thickness_m is not None else material.thickness_m
    if thickness is None and material.role is LayerRole.CAVITY:
        thickness = choice.framing.depth_m
    if thickness is None:
        raise InputError(f"{material.id!r} needs a thickness", path=f"{path}.thickness",
                         hint="state it, such as 3.5 in" + (", or give the framing a depth" if material.role is LayerRole.CAVITY else ""))
    low, high = material.thickness_range_m
    if not low * (1 - 1e-6) - 1e-6 <= thickness <= high * (1 + 1e-6) + 1e-6:
        raise OutOfRangeError(f"{material.id!r} does not come {thickness * 1000:g} mm thick", path=f"{path}.thickness",
                              hint=f"from {low * 1000:g} to {high * 1000:g} mm; what the catalog says holds only there")
    return thickness


def _layer_r(material: Material, thickness_m: float, flow: str) -> float:
    if material.resistance_m2k_w is not None:
        return material.resistance_m2k_w.value
    if material.vapor is not None and material.vapor.form == "air":
        return air_space_r_m2k_w(thickness_m, flow)
    if material.conductivity_w_mk is None:
        raise DataError(f"{material.id!r} has neither conductivity nor resistance", path=material.id, hint="complete its catalog row")
    return thickness_m / material.conductivity_w_mk.value


def _permeance(material: Material, thickness_m: float) -> tuple[float | None, str]:
    vapor = material.vapor
    if vapor is None:
        return None, material.note or "no vapor resistance is known"
    if vapor.form == "permeance":
        return vapor.value, f"{vapor.procedure}, {vapor.where}"
    if vapor.form == "sd":
        return AIR_PERMEABILITY_KG_M_S_PA / vapor.value, f"sd {vapor.value:g} m, {vapor.where}"
    mu = vapor.value if vapor.wet is None else vapor.wet
    cup = "" if vapor.wet is None or vapor.wet == vapor.value else " (wet cup, the more open one)"
    return AIR_PERMEABILITY_KG_M_S_PA / (mu * thickness_m), f"mu {mu:g}{cup}, {vapor.where}"


def _procedure(material: Material) -> str:
    return material.vapor.procedure if material.vapor else ""


def _front_count(materials: Sequence[Material], massive: bool) -> int:
    """How many layers stand in front of the framing or slab face."""
    roles = [m.role for m in materials]
    first = {role: roles.index(role) for role in set(roles)}
    structure = min((first[r] for r in _BEHIND if r in first), default=len(roles))
    if massive:
        return first.get(LayerRole.STRUCTURE, structure)
    return min(structure, first.get(LayerRole.CAVITY, first.get(LayerRole.INSULATION, structure)))


def _faces(layers: Sequence[Layer], materials: Sequence[Material], choice: BuildUpChoice) -> tuple[float, float, float]:
    """Thickness from the framing face into the air up to the membrane, the board and the tile face.

    On a floor the mortar bed is left out: its thickness belongs to the pan, whose sloped face carries the membrane.
    """
    count = _front_count(materials, choice.framing.kind in _MASSIVE)
    floor = all(name == "floor" for name in choice.on)
    thickness = [0.0 if floor and m.role is LayerRole.BED else layer.thickness_m
                 for m, layer in zip(materials[:count], layers[:count], strict=True)]
    behind = list(accumulate(reversed(thickness), initial=0.0))[::-1]
    at_membrane = next((behind[k] for k in range(count) if materials[k].role is LayerRole.MEMBRANE), None)
    at_board = next((behind[k] for k in range(count) if materials[k].role is LayerRole.BOARD), 0.0)
    return (at_board if at_membrane is None else at_membrane), at_board, behind[0]


def with_facets(buildups: Sequence[BuildUp], facets_by_buildup: Sequence[tuple[str, str]]) -> tuple[BuildUp, ...]:
    """Note on every build-up the facets that it lies on.

    Parameters
    ----------
    buildups : sequence of BuildUp
        The build-ups.
    facets_by_buildup : sequence of (str, str)
        Pairs of build-up id and facet id.

    Returns
    -------
    buildups : tuple of BuildUp
        The same ones with their facets, in the order of the pairs.

    References
    ----------
    own derivation
    """
    return tuple(replace(b, facets=tuple(facet for buildup, facet in facets_by_buildup if buildup == b.id)) for b in buildups)
