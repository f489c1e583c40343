"""What is printed is read back as the same thing."""

from __future__ import annotations

import re

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from steamwright.units import (
    INCH_M,
    PERM_KG_PA_S_M2,
    format_length,
    format_permeance,
    format_slope,
    format_tape,
    format_temperature,
    parse_length_m,
    parse_permeance,
    parse_slope,
    parse_temperature_k,
)

MARKS = (2, 4, 8, 16, 32, 64)
TAPE = re.compile(r"-?(?:(?P<feet>[1-9]\d*)' )?(?:(?P<inches>\d+)(?: (?P<f>\d+/\d+))?|(?P<g>\d+/\d+))\"")


@settings(max_examples=300, deadline=None)
@given(st.integers(-64 * 12 * 300, 64 * 12 * 300), st.sampled_from(MARKS))
@example(12 * 16, 16)
@example(-12 * 16, 16)
@example(-1, 16)
@example(0, 16)
def test_a_mark_of_the_tape_is_read_back(marks: int, denominator: int) -> None:
    length_m = marks / denominator * INCH_M
    assert parse_length_m(format_tape(length_m, denominator)) == pytest.approx(length_m, abs=1e-12)


@settings(max_examples=300, deadline=None)
@given(st.floats(-90, 90), st.sampled_from(MARKS))
@example(0.3047999, 16)
@example(-0.3047999, 16)
@example(0.30479999999999996, 64)
@example(-0.0001, 16)
def test_what_is_printed_stands_on_a_tape(length_m: float, denominator: int) -> None:
    text = format_tape(length_m, denominator)
    match = TAPE.fullmatch(text)
    assert match is not None, text
    assert int(match["inches"] or 0) < 12, text
    fraction = match["f"] or match["g"]
    if fraction:
        top, bottom = map(int, fraction.split("/"))
        assert 0 < top < bottom
        assert top % 2 == 1
        assert bottom <= denominator
    assert abs(parse_length_m(text) - length_m) <= INCH_M / denominator / 2 + 1e-12
    assert format_tape(parse_length_m(text), denominator) == text
    assert text != '-0"'


@settings(max_examples=100, deadline=None)
@given(st.integers(-90_000, 90_000))
def test_millimetres_are_read_back(millimetres: int) -> None:
    assert parse_length_m(format_length(millimetres / 1000, "metric")) == pytest.approx(millimetres / 1000, abs=1e-12)


@settings(max_examples=200, deadline=None)
@given(st.floats(-2, 20), st.sampled_from(("inch", "metric")))
@example(1 / 6, "inch")
@example(-1 / 48, "inch")
@example(1.0, "inch")
@example(8.7501 / 12, "inch")
@example(0.99999, "inch")
def test_slopes_are_read_back(slope: float, system: str) -> None:
    text = format_slope(slope, system)  # type: ignore[arg-type]
    assert parse_slope(text) == pytest.approx(slope, abs=0.0051 / 12, rel=1e-5)
    assert format_slope(parse_slope(text), system) == text  # type: ignore[arg-type]


@settings(max_examples=100, deadline=None)
@given(st.floats(1, 600), st.sampled_from(("inch", "metric")))
def test_temperatures_are_read_back(temperature_k: float, system: str) -> None:
    text = format_temperature(temperature_k, system)  # type: ignore[arg-type]
    assert "-0 " not in f" {text}".replace("-0.", "")
    assert parse_temperature_k(text) == pytest.approx(temperature_k, abs=0.051)


@settings(max_examples=100, deadline=None)
@given(st.floats(1e-4, 1e4), st.sampled_from(("inch", "metric")))
@example(1e4, "inch")
def test_permeances_are_read_back(perms: float, system: str) -> None:
    permeance = perms * PERM_KG_PA_S_M2
    assert parse_permeance(format_permeance(permeance, system)) == pytest.approx(permeance, rel=5.1e-3)  # type: ignore[arg-type]
