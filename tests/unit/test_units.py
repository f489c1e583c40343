"""Reading what people write, and refusing what can be two things."""

from __future__ import annotations

import math

import pytest
from pydantic import BaseModel, TypeAdapter, ValidationError

from steamwright.errors import UnitError
from steamwright.units import (
    Diameter,
    Length,
    Permeance,
    SetPoint,
    Slope,
    SpanLength,
    Temperature,
    format_length,
    format_permeance,
    format_slope,
    format_tape,
    format_temperature,
    parse_angle_deg,
    parse_length_m,
    parse_permeance,
    parse_slope,
    parse_temperature_k,
)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("7' 6 1/2\"", 90.5),
        ("90.5 in", 90.5),
        ("7-6 1/2", 90.5),
        ("7 ft 6 1/2 in", 90.5),
        ('6 1/2"', 6.5),
        ("7'", 84),
        ("7ft", 84),
        ("7’ 6½”", 90.5),
        ("7′ 6 1/2″", 90.5),
        ("7' 6''", 90),
        ("7'-6 1/2\"", 90.5),
        ("7-0", 84),
        ("1/2 in", 0.5),
        (".5 in", 0.5),
        ('-3/8"', -0.375),
        ("−7' 6\"", -90),
        ("+2 in", 2),
        ('0"', 0),
        ("7' 11 15/16\"", 95.9375),
        ("90 1/2 inches", 90.5),
        ("7 Ft 6 In", 90),
    ],
)
def test_inches(text: str, inches: float) -> None:
    assert parse_length_m(text) == pytest.approx(inches * 0.0254, abs=1e-12)


@pytest.mark.parametrize(("text", "metres"), [("2.30 m", 2.3), ("2300 mm", 2.3), ("23 cm", 0.23), ("23cm", 0.23), ("-5 mm", -0.005)])
def test_metric(text: str, metres: float) -> None:
    assert parse_length_m(text) == pytest.approx(metres, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "way_out"),
    [
        ("90.5", "90.5 in"),
        ("7", "7 in"),
        ("7' 14\"", "carry"),
        ("7' 12\"", "carry"),
        ("6 17/16 in", "carry"),
        ("1/0 in", "fraction"),
        ("2,30 m", "2.30 m"),
        ("", "write"),
        ("about 7 ft", "write"),
        ("7 furlongs", "write"),
        ("1 M", "write"),
        ("nan m", "write"),
        ("1e400 m", "write"),
        ("7' 6 1/2", "write"),
        ("--7 in", "write"),
    ],
)
def test_a_length_that_cannot_be_read_says_what_to_write(text: str, way_out: str) -> None:
    with pytest.raises(UnitError) as wrong:
        parse_length_m(text)
    assert way_out in wrong.value.hint


@pytest.mark.parametrize(
    ("length_m", "text"),
    [
        (2.2987, "7' 6 1/2\""),
        (0.1651, '6 1/2"'),
        (0.3048, "1' 0\""),
        (0.0, '0"'),
        (0.0127, '1/2"'),
        (-0.0095, '-3/8"'),
        (2.1463, "7' 0 1/2\""),
        (-2.2987, "-7' 6 1/2\""),
        (0.30479, "1' 0\""),
        (-0.0001, '0"'),
        (0.0254, '1"'),
    ],
)
def test_tape(length_m: float, text: str) -> None:
    assert format_tape(length_m) == text


def test_tape_marks() -> None:
    assert format_tape(0.1 * 0.0254, 64) == '3/32"'
    assert format_tape(0.1 * 0.0254, 8) == '1/8"'
    with pytest.raises(UnitError):
        format_tape(1.0, 10)


@pytest.mark.parametrize("show", [format_tape, format_length, format_slope, format_temperature, format_permeance])
def test_nothing_is_printed_for_what_is_no_number(show: object) -> None:
    for value in (math.nan, math.inf):
        with pytest.raises(UnitError):
            show(value)  # type: ignore[operator]


@pytest.mark.parametrize(
    ("text", "ratio"),
    [
        ("2 in/ft", 1 / 6),
        ("1/4 in/ft", 1 / 48),
        ("1/4 in per ft", 1 / 48),
        ('1/4"/ft', 1 / 48),
        ("1:6", 1 / 6),
        ("2 %", 0.02),
        ("2%", 0.02),
        ("20 mm/m", 0.02),
        ("2 cm/m", 0.02),
        ("45 deg", 1.0),
        ("45°", 1.0),
        ("-1 %", -0.01),
        ("0 deg", 0.0),
    ],
)
def test_slopes(text: str, ratio: float) -> None:
    assert parse_slope(text) == pytest.approx(ratio, abs=1e-12)


@pytest.mark.parametrize("text", ["2", "90 deg", "1:0", "steep", "2 in", "2 perm"])
def test_slopes_that_are_none(text: str) -> None:
    with pytest.raises(UnitError):
        parse_slope(text)


@pytest.mark.parametrize(
    ("ratio", "inch", "metric"),
    [
        (1 / 6, "2 in/ft", "16.67 %"),
        (1 / 48, "1/4 in/ft", "2.08 %"),
        (1.5, "18 in/ft", "150 %"),
        (math.tan(math.radians(9.5)), "2.01 in/ft", "16.73 %"),
        (0.0, "0 in/ft", "0 %"),
    ],
)
def test_slopes_printed(ratio: float, inch: str, metric: str) -> None:
    assert (format_slope(ratio), format_slope(ratio, "metric")) == (inch, metric)


@pytest.mark.parametrize("text", ["113 degF", "113 °F", "113°F", "113 F", "45 C", "45 °C", "45 degC", "318.15 K", "113 degrees Fahrenheit"])
def test_temperatures(text: str) -> None:
    assert parse_temperature_k(text) == pytest.approx(318.15, abs=1e-9)


@pytest.mark.parametrize("text", ["45", "45 deg", "-300 C", "-1 K", "warm"])
def test_temperatures_that_are_none(text: str) -> None:
    with pytest.raises(UnitError):
        parse_temperature_k(text)


def test_temperatures_printed() -> None:
    assert (format_temperature(318.15), format_temperature(318.15, "metric")) == ("113 °F", "45 °C")


@pytest.mark.parametrize(
    "text",
    ["28.6 ng/(Pa s m2)", "28.6 ng/(Pa·s·m²)", "28.6 ng/(Pa*s*m^2)", "28.6 ng/(s m2 Pa)", "2.86e-11 kg/(Pa s m2)", "2.86E-8 g/(Pa s m2)"],
)
def test_permeances(text: str) -> None:
    assert parse_permeance(text) == pytest.approx(28.6e-12, rel=1e-9)


@pytest.mark.parametrize("text", ["0.5", "-1 perm", "28.6 ng/(Pa s m)", "28.6 ng/(Pa m2)", "10 m"])
def test_permeances_that_are_none(text: str) -> None:
    with pytest.raises(UnitError):
        parse_permeance(text)


def test_angles() -> None:
    assert parse_angle_deg("45°") == 45.0
    assert parse_angle_deg("-0.5 rad") == pytest.approx(math.degrees(-0.5))
    for text in ("45", "45 in"):
        with pytest.raises(UnitError):
            parse_angle_deg(text)


class Quantities(BaseModel):
    """One of each."""

    length: Length = 0.0
    span: SpanLength = 1.0
    diameter: Diameter = 0.1
    slope: Slope = 0.0
    permeance: Permeance = 0.0
    temperature: Temperature = 300.0


def test_a_typed_quantity_needs_its_unit() -> None:
    for field in ("length", "span", "diameter", "slope", "permeance", "temperature"):
        with pytest.raises(ValidationError) as wrong:
            Quantities.model_validate({field: 0.5}, context={"typed": True})
        (mistake,) = wrong.value.errors()
        assert mistake["msg"] == "0.5 has no unit"
        assert "such as" in mistake["ctx"]["hint"]


def test_nothing_needs_no_unit() -> None:
    assert Quantities.model_validate({"length": 0, "slope": 0}, context={"typed": True}).length == 0.0
    with pytest.raises(ValidationError):
        Quantities.model_validate({"temperature": 0}, context={"typed": True})


def test_a_computed_document_holds_si() -> None:
    said = Quantities.model_validate(
        {"span": "90.5 in", "slope": "2 in/ft", "permeance": "0.5 perm", "temperature": "45 C"}, context={"typed": True}
    )
    assert said.span == pytest.approx(2.2987)
    assert Quantities.model_validate_json(said.model_dump_json()) == said


def test_a_set_point_is_that_of_a_steam_room() -> None:
    reader: TypeAdapter[float] = TypeAdapter(SetPoint)
    assert reader.validate_python("113 degF") == pytest.approx(318.15)
    for said, words in (("450 degF", "at most 158 °F"), ("60 degF", "at least 77 °F")):
        with pytest.raises(ValidationError) as wrong:
            reader.validate_python(said)
        assert wrong.value.errors()[0]["ctx"]["hint"] == f"it has to be {words}"


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("span", "0 in", "too small"),
        ("span", "-3 in", '-3" is too small'),
        ("span", "101 m", "too much"),
        ("length", "-101 m", "too small"),
        ("diameter", "3 m", "too much"),
        ("slope", "-1 %", "too small"),
        ("length", True, "needed here"),
        ("length", [1], "needed here"),
        ("length", math.nan, "not a length"),
        ("span", math.inf, "not a length"),
        ("length", "90.5", "has no unit"),
        ("permeance", "-1 perm", "negative"),
    ],
)
def test_what_a_quantity_may_not_be(field: str, value: object, words: str) -> None:
    with pytest.raises(ValidationError) as wrong:
        Quantities.model_validate({field: value})
    (mistake,) = wrong.value.errors()
    assert words in mistake["msg"]
    assert mistake["ctx"]["hint"]
