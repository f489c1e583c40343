"""The catalog: every row sourced and plausible, and what it refuses."""

from __future__ import annotations

import pytest

from steamwright.buildup.catalog import load_catalog
from steamwright.buildup.catalog_model import LayerRole
from steamwright.errors import DataError, OutOfRangeError
from steamwright.sources import load_sources
from steamwright.units import PERM_KG_PA_S_M2
from steamwright.yaml_text import read_yaml

MEMBRANE = """
materials:
  - id: my membrane
    name: my sheet
    role: membrane
    thickness_m: 0.0008
    thickness_range_m: [0.0008, 0.0008]
    conductivity_w_mk: {value: 0.3, source: data sheet, where: p. 1, how_known: stated}
    density_kg_m3: {value: 700, source: data sheet, where: p. 1, how_known: stated}
    vapor: {form: permeance, value: 1.0e-11, procedure: ASTM E96 procedure E, source: test report, where: p. 2, how_known: stated}
    tags: [bonded, sheet]
sheets:
  - {item: my roll, name: my roll, material: my membrane, roll_length_m: 20.0, roll_width_m: 1.2, pack: 1, unit: roll, source: data sheet}
"""


def test_every_value_names_a_known_source() -> None:
    keys, practice = set(load_sources()), "common practice, no source"
    catalog = load_catalog()
    seen = 0
    for m in catalog.materials.values():
        for datum in (m.conductivity_w_mk, m.resistance_m2k_w, m.density_kg_m3, m.heat_capacity_j_kgk, m.vapor):
            if datum is not None:
                seen += 1
                assert datum.source in keys or datum.source == practice, m.id
                assert (datum.how_known == "practice") == (datum.source == practice), m.id
                assert datum.where
    assert seen > 150
    for item in (*catalog.sheets, *catalog.bands, *catalog.corner_pieces, *catalog.collars):
        assert item.source == practice


def test_what_a_covering_needs_is_there() -> None:
    catalog = load_catalog()
    membranes = [m for m in catalog.materials.values() if m.role is LayerRole.MEMBRANE and "sheet" in m.tags]
    assert {round(m.vapor.value / PERM_KG_PA_S_M2, 4) for m in membranes if m.vapor} == {0.1, 0.5, 1.0, 2.0}
    for m in membranes:
        sheet = catalog.sheet_for(m.id)
        assert sheet is not None
        assert (sheet.roll_width_m, sheet.roll_length_m) == (1.0, 30.0)
        assert [b.width_m for b in catalog.bands_for(m.id)] == [0.127, 0.254]
    kinds = {c.kind: c for c in catalog.corner_pieces}
    assert set(kinds) == {"inside", "outside", "saddle", "any"}
    for kind in ("inside", "outside", "saddle"):
        assert (kinds[kind].angle_min_deg, kinds[kind].angle_max_deg, kinds[kind].reach_m) == (87, 93, 0.1016)
    assert (kinds["any"].angle_min_deg, kinds["any"].angle_max_deg) == (30, 330)


@pytest.mark.parametrize(("kind", "inches", "item"), [
    ("pipe", 0.875, "collar pipe 1/2"), ("pipe", 1.25, "collar pipe 1"), ("pipe", 2.5, "collar pipe 2"), ("valve", 5.0, "collar valve"),
    ("steam_outlet", 1.0, "collar steam"), ("drain", 4.0, "collar drain"),
    ("blocking_screw", 0.25, "collar screw"), ("light", 6.0, "collar wide"),
])
def test_a_collar_for_each_kind(kind: str, inches: float, item: str) -> None:
    collar = load_catalog().collar_for(inches * 0.0254, kind)
    assert collar is not None
    assert collar.item == item
    assert collar.flange_m >= 0.0635
    if kind == "steam_outlet":
        assert collar.seal_k == pytest.approx(373.15)


def test_no_collar_beyond_the_ranges() -> None:
    assert load_catalog().collar_for(0.5, "pipe") is None
    assert load_catalog().collar_for(0.02, "nothing known") is None


def test_a_user_catalog_adds_rows_and_changes_the_digest() -> None:
    ours, more = load_catalog(), load_catalog([MEMBRANE])
    assert set(more.materials) - set(ours.materials) == {"my membrane"}
    sheet = more.sheet_for("my membrane")
    assert sheet is not None
    assert sheet.item == "my roll"
    assert more.digest != ours.digest
    assert load_catalog([MEMBRANE]).digest == more.digest


@pytest.mark.parametrize(("old", "new", "words"), [
    ("    name: my sheet\n", "    nam: my sheet\n", ("my membrane", "unknown key 'nam'", "user catalog 1")),
    ("    name: my sheet\n", "", ("my membrane", "'name' is missing")),
    ("    role: membrane\n", "    role: membrane\n    role: board\n", ("given twice", "role", "my membrane")),
    ("    role: membrane\n", "    role: skin\n", ("'skin' is not known",)),
    ("id: my membrane", "id: concrete", ("'concrete' is taken",)),
    ("procedure: ASTM E96 procedure E, ", "", ("no test procedure", "vapor.procedure")),
    ("value: 1.0e-11, ", "", ("a membrane without permeance",)),
    ("form: permeance", "form: sd", ("sd_m does not belong to a membrane",)),
    ("source: test report, ", "", ("my membrane.vapor", "'source' is missing")),
    ("material: my membrane", "material: my membran", ("unknown material 'my membran'",)),
    ("pack: 1,", "pack: one,", ("'one' is no number", "my roll")),
    ("sheets:", "sheet:", ("unknown key 'sheet'",)),
    ("[0.0008, 0.0008]", "[0.001, 0.002]", ("outside its own thickness_range_m",)),
])
def test_faulty_rows_are_refused_with_their_place(old: str, new: str, words: tuple[str, ...]) -> None:
    assert old in MEMBRANE
    with pytest.raises((DataError, OutOfRangeError)) as caught:
        load_catalog([MEMBRANE.replace(old, new, 1)])
    for word in words:
        assert word in str(caught.value)


def test_a_membrane_with_no_vapor_row_at_all_is_refused() -> None:
    lines = [line for line in MEMBRANE.splitlines() if not line.strip().startswith("vapor")]
    with pytest.raises(DataError, match="a membrane without permeance"):
        load_catalog(["\n".join(lines)])


@pytest.mark.parametrize(("old", "new"), [("value: 700", "value: 7.0"), ("value: 0.3", "value: 300"), ("1.0e-11", "1.0e-8"),
                                          ("thickness_m: 0.0008", "thickness_m: 0.8")])
def test_a_slipped_decimal_point_is_refused(old: str, new: str) -> None:
    with pytest.raises(OutOfRangeError, match="not plausible"):
        load_catalog([MEMBRANE.replace(old, new, 1)])


def test_text_that_is_no_yaml_is_refused_with_its_line() -> None:
    with pytest.raises(DataError, match=r"mine line [23]"):
        read_yaml("mine", "a: 1\nb: [1, 2\n")
    with pytest.raises(DataError, match="no mapping"):
        read_yaml("mine", "- 1\n")
