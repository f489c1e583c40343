"""The hourly march: steady states by hand, streams of air, order in time, what it refuses, and walls side by side."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from steamwright.errors import InputError, NotConvergedError
from steamwright.physics.heat_moisture import March, Settings, Side, march, march_many, prepare, side
from steamwright.physics.moist_air import saturation_pressure_pa
from steamwright.physics.porous import (
    Porous,
    potential_of_diffusivity_kg_m_s,
    suction_diffusivity_m2_s,
    suction_points_pa,
    van_genuchten_kg_m3,
)
from steamwright.physics.wall import Exchange, Film, Layer, Wall, graded_cells_m

compiled = pytest.importorskip("steamwright.physics.compiled", reason="the compiled physics is an extra")
DAY_S, K = 86400.0, 273.15
PERM = 5.721349e-11


def porous(
    label: str, full: float, alpha: float, n: float, mu: float, heat_w_mk: float, heat_j_m3k: float, absorption: float = 0.0
) -> Porous:
    suction = suction_points_pa(3000)
    content = van_genuchten_kg_m3(suction, full, [1.0], [alpha], [n])
    diffusivity = suction_diffusivity_m2_s(content, absorption, full) if absorption else np.zeros_like(content)
    humidity = np.exp(-suction / (1000.0 * 461.524 * 293.15))
    return Porous(humidity, content, potential_of_diffusivity_kg_m_s(content, diffusivity), np.full_like(content, 1.95e-10 / mu),
                  heat_w_mk + 0.0005 * content, heat_j_m3k, label=label)  # fmt: skip


BOARD = porous("board", 483.0, 1.225e-6, 1.7526, 20.0, 0.25, 9.66e5, 0.013)
WOOL = porous("wool", 900.0, 2e-4, 2.0, 1.3, 0.037, 4.8e4)
STRAND = porous("strand board", 806.0, 1.547e-6, 1.6501, 200.0, 0.1, 1.2e6, 0.0016)


def layer(material: Porous, thickness: float, cells: int, finest: float, humidity: float = 0.5) -> Layer:
    return Layer(material, graded_cells_m(thickness, cells, finest), humidity)


def wall(perm: float = 0.5) -> Wall:
    membrane = Film(vapor_resistance_pa_s_m2_kg=1.0 / (perm * PERM))
    return Wall((layer(BOARD, 0.0125, 10, 5e-4), layer(WOOL, 0.089, 16, 2e-3), layer(STRAND, 0.012, 12, 5e-4)),
                (membrane, Film(), Film(), Film()))  # fmt: skip


def still(celsius: float, humidity: float, end_s: float, heat: float = 8.0, vapor: float = 5e-8) -> Side:
    return side([0.0, end_s], celsius + K, humidity * saturation_pressure_pa(celsius + K), heat, vapor)


def test_a_long_steady_climate_ends_in_the_flux_by_hand() -> None:
    # all under 60 % humidity and without liquid: a row of resistances
    dry = replace(BOARD, potential_kg_m_s=np.zeros_like(BOARD.potential_kg_m_s))
    resist = 1.0 / (0.5 * PERM)
    end = 4000 * DAY_S
    one = Wall((layer(dry, 0.0125, 20, 2e-4, 0.4),), (Film(resist), Film()))
    left, right = still(20, 0.5, end), still(10, 0.4, end)
    got = march(one, left, right, [end - DAY_S, end], Settings(tolerance=1e-5), [end - DAY_S, end])
    first = march(one, left, right, [end - DAY_S], Settings(tolerance=1e-5))
    flux = (got.balance.water_left_kg_m2 - first.balance.water_left_kg_m2) / DAY_S
    p_left, p_right = 0.5 * float(saturation_pressure_pa(20 + K)), 0.4 * float(saturation_pressure_pa(10 + K))
    by_hand = (p_left - p_right) / (1 / 5e-8 + resist + 0.0125 * 20 / 1.95e-10 + 1 / 5e-8)
    assert flux == pytest.approx(by_hand, rel=2e-3)
    heat = (got.balance.heat_left_j_m2 - first.balance.heat_left_j_m2) / DAY_S
    conduction = 10.0 / (1 / 8 + 0.0125 / float(np.interp(0.47, dry.humidity, dry.conductivity_w_mk)) + 1 / 8)
    assert heat == pytest.approx(conduction + by_hand * 2.501e6, rel=5e-3)


def steamed(perm: float, days: int = 20) -> March:
    """Every evening an hour of steam, winter outside."""
    time, warm, humid, film = [], [], [], []
    for d in range(days):
        for hour, t, h, f in ((0.0, 20, 0.5, 8), (18.0, 20, 0.5, 8), (18.0, 45, 0.98, 25), (19.0, 45, 0.98, 25), (19.0, 22, 0.7, 8)):
            time.append(d * DAY_S + hour * 3600)
            warm.append(t + K)
            humid.append(h * float(saturation_pressure_pa(t + K)))
            film.append(float(f))
    time, warm, humid, film = [*time, days * DAY_S], [*warm, 20 + K], [*humid, humid[0]], [*film, 8.0]
    left = side(time, warm, humid, film, np.array(film) * 7e-9)
    hours = np.arange(days * 24 + 1) * 3600.0
    return march(wall(perm), left, still(-5, 0.8, days * DAY_S, 23.0, 2e-7), [days * DAY_S], Settings(), hours, [0.0126, 0.1014, 0.1016])


def test_a_tighter_membrane_keeps_the_outer_board_drier() -> None:
    leaky, usual, tight = steamed(10.0), steamed(0.5), steamed(0.06)
    at_board = [r.layer_water_kg_m2[-1, 2] for r in (leaky, usual, tight)]
    assert at_board[0] > at_board[1] > at_board[2]
    assert leaky.probe_humidity[:, 2].max() > usual.probe_humidity[:, 2].max() > tight.probe_humidity[:, 2].max()
    for run in (leaky, usual, tight):
        assert abs(run.balance.water_residual_kg_m2) < 1e-10
        assert abs(run.balance.heat_residual_j_m2) < 1e-3


def test_records_stand_at_their_hours() -> None:
    run = steamed(0.5, 2)
    assert run.time_s.tolist() == (np.arange(49) * 3600.0).tolist()
    assert run.probe_temperature_k.shape == (49, 3)
    assert run.probe_temperature_k[19, 0] > run.probe_temperature_k[18, 0] + 3.0  # the hour of steam
    assert run.layer_water_kg_m2[-1] == pytest.approx(
        [
            (run.content_kg_m3[-1] * np.concatenate([p.cells_m for p in wall().layers]))[s].sum()
            for s in (slice(0, 10), slice(10, 26), slice(26, 38))
        ]
    )


def test_a_ventilated_cavity_dries_and_a_leak_wets() -> None:
    end = 60 * DAY_S
    left, right = still(20, 0.6, end), still(0, 0.7, end, 23.0, 1e-9)
    kept = ([end], Settings(), [end])
    plain = march(wall(10.0), left, right, *kept)
    outside = march(replace(wall(10.0), exchanges=(Exchange(1, 0.99, 1, 1e-4),)), left, right, *kept)
    inside = march(replace(wall(10.0), exchanges=(Exchange(1, 0.99, 0, 1e-5),)), left, right, *kept)
    water = [r.layer_water_kg_m2[-1, 1:].sum() for r in (outside, plain, inside)]
    assert water[0] < 0.6 * water[1] < 0.6 * water[2]
    assert inside.balance.water_exchanged_kg_m2 > 0.0
    for run in (outside, inside):
        assert abs(run.balance.water_residual_kg_m2) < 1e-10
        assert abs(run.balance.heat_residual_j_m2) < 1e-2


def test_a_cavity_washed_hard_is_at_the_outside_air() -> None:
    end = 30 * DAY_S
    run = march(
        replace(wall(), exchanges=(Exchange(1, 0.5, 1, 1.0),)), still(20, 0.5, end), still(0, 0.7, end), [end], Settings(), [end], [0.0575]
    )
    assert run.probe_temperature_k[0, 0] == pytest.approx(K, abs=0.1)


def test_a_wet_start_dries_and_only_its_own_layer_is_wet() -> None:
    wet = Wall((replace(layer(BOARD, 0.0125, 10, 5e-4), start_content_kg_m3=200.0), layer(WOOL, 0.089, 16, 2e-3)))
    end = 30 * DAY_S
    run = march(wet, still(20, 0.5, end), still(20, 0.5, end), [0.0, end])
    assert run.content_kg_m3[0][:10] == pytest.approx(200.0)
    assert run.content_kg_m3[0][10:].max() < 5.0
    assert run.content_kg_m3[1][:10].max() < 40.0


def test_rain_is_taken_up_and_sun_warms() -> None:
    end = 2 * 3600.0
    base = still(10, 0.8, end, 20.0, 1e-13)
    bare = Wall((layer(BOARD, 0.05, 20, 5e-4),))
    rain = replace(base, rain_kg_m2s=np.full(2, 1e-4))
    got = march(bare, rain, still(10, 0.8, end), [end])
    dry = march(bare, base, still(10, 0.8, end), [end])
    assert got.balance.water_left_kg_m2 - dry.balance.water_left_kg_m2 == pytest.approx(1e-4 * end, rel=0.03)
    sunny = march(bare, replace(base, sun_w_m2=np.full(2, 400.0)), still(10, 0.8, end), [end])
    assert sunny.temperature_k[0][0] > dry.temperature_k[0][0] + 8.0


def fixed_steps(material: Porous, vapor: float, steps: int) -> March:
    """Six hours of warming in even steps, forced by a wide tolerance and a longest step."""
    end = 6 * 3600.0
    swing = side([0.0, end], [293.15, 303.15], [1170.0, 1170.0 + 1200.0 * (vapor > 0.0)], 8.0, vapor)
    other = side([0.0, end], 293.15, 1170.0, 8.0, vapor)
    settings = Settings(tolerance=1e9, first_step_s=end / steps, longest_step_s=end / steps)
    return march(Wall((layer(material, 0.05, 24, 1e-3),)), swing, other, [end], settings)


def test_the_error_falls_with_the_third_power_of_the_step() -> None:
    plain = Porous(np.array([0.0, 0.5, 1.0]), np.array([0.0, 20.0, 40.0]), np.zeros(3), np.full(3, 1e-18), np.full(3, 1.0), 1.8e6)
    want = fixed_steps(plain, 0.0, 2048).temperature_k[0]
    steps = np.array([8, 16, 32, 64])
    errors = [np.abs(fixed_steps(plain, 0.0, int(n)).temperature_k[0] - want).max() for n in steps]
    assert -np.polyfit(np.log(steps), np.log(errors), 1)[0] == pytest.approx(3.0, abs=0.25)


def test_it_falls_with_the_square_where_properties_are_tables_of_straight_pieces() -> None:
    want = fixed_steps(BOARD, 5e-8, 8192).content_kg_m3[0]
    steps = np.array([8, 16, 32, 64, 128, 256])
    errors = [np.abs(fixed_steps(BOARD, 5e-8, int(n)).content_kg_m3[0] - want).max() for n in steps]
    assert -np.polyfit(np.log(steps), np.log(errors), 1)[0] == pytest.approx(2.0, abs=0.4)


def test_a_smaller_tolerance_gives_a_smaller_error() -> None:
    def at(tolerance: float) -> March:
        end = 5 * DAY_S
        warm = side([0.0, DAY_S, DAY_S, end], [293.15, 293.15, 318.15, 318.15], [1200.0, 1200.0, 9000.0, 9000.0], 8.0, 5e-8)
        return march(wall(), warm, still(0, 0.8, end), [end], Settings(tolerance=tolerance))

    want = at(1e-7).content_kg_m3
    errors = [np.abs(at(tolerance).content_kg_m3 - want).max() for tolerance in (1e-2, 1e-4, 1e-6)]
    assert errors[0] > errors[1] > errors[2]
    assert errors[2] < 1e-3


def test_walls_side_by_side_do_not_disturb_each_other() -> None:
    end = 10 * DAY_S
    walls = [wall(p) for p in (0.06, 0.5, 5.0)]
    lefts, rights = [still(40, 0.9, end)] * 3, [still(0, 0.8, end)] * 3
    together = march_many(walls, lefts, rights, [end], workers=2)
    for one, built in zip(together, walls, strict=True):
        assert (one.content_kg_m3 == march(built, lefts[0], rights[0], [end]).content_kg_m3).all()


def test_without_convergence_time_cell_and_state_are_told() -> None:
    end = 10 * DAY_S
    with pytest.raises(NotConvergedError, match=r"too many steps at .* h in cell \d+: .* kg/m3") as told:
        march(wall(), still(45, 1.0, end), still(-10, 0.8, end), [end], Settings(most_steps=3))
    assert told.value.path.startswith("cell[")
    with pytest.raises(NotConvergedError, match="shrank"):
        march(wall(), still(45, 1.0, end), still(-10, 0.8, end), [end], Settings(tolerance=1e-14, least_step_s=1e-2))


def test_two_tight_layers_are_run_and_answered() -> None:
    tight = Film(vapor_resistance_pa_s_m2_kg=1e14)
    trap = Wall((replace(layer(BOARD, 0.0125, 10, 5e-4), start_content_kg_m3=100.0),), (tight, tight))
    end = 365 * DAY_S
    run = march(trap, still(20, 0.5, end), still(20, 0.5, end), [0.0, end], Settings(), [0.0, end])
    assert run.layer_water_kg_m2[1, 0] > 0.98 * run.layer_water_kg_m2[0, 0]


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (lambda: graded_cells_m(0.0, 10, 1e-3), "zero thickness"),
        (lambda: Wall((Layer(BOARD, (0.01, 0.0)),)), "zero thickness"),
        (lambda: Wall(()), "at least one"),
        (lambda: replace(wall(), films=(Film(),)), "faces"),
        (lambda: replace(BOARD, content_kg_m3=BOARD.content_kg_m3[::-1].copy()), "falls or stands still"),
        (lambda: replace(BOARD, permeability_kg_pa_s_m=np.zeros(3000)), "must be positive"),
        (lambda: side([0.0, 3600.0], [293.0, np.nan], 1000.0), "missing at 1 h"),
        (lambda: side([0.0, 3600.0], [20.0, 21.0], 1000.0), "Celsius"),
        (lambda: side([0.0, 3600.0], 293.0, [1000.0, 1000.0, 1000.0]), "3 values for 2 times"),
        (lambda: side([3600.0, 0.0], 293.0, 1000.0), "do not fall"),
        (lambda: side([0.0, 3600.0], 293.0, -5.0), "negative"),
        (lambda: march(wall(), still(20, 0.5, 10.0), still(20, 0.5, 10.0), [20.0]), "outside the climate"),
        (lambda: march(wall(), still(20, 0.5, 10.0), still(20, 0.5, 10.0), [10.0], None, (), [1.0]), "outside the wall"),
        (lambda: replace(wall(), exchanges=(Exchange(7, 0.5, 0, 1.0),)), "outside the wall"),
    ],
)
def test_what_cannot_be_is_refused(fault: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        fault()  # type: ignore[operator]


def test_it_tells_of_compiling_only_when_it_does(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[str] = []
    prepare()
    assert not prepare(told.append)
    assert told == []  # what an earlier run kept is loaded in silence
    monkeypatch.setattr(compiled, "cache_folder", lambda: tmp_path)
    assert prepare(told.append)
    assert len(told) == 1
    assert told[0].startswith("compiling")


def test_kept_code_is_apart_for_every_state_of_its_sources(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = compiled.cache_folder()
    for name in ("compiled.py", "heat_moisture_march.py", "heat_moisture_stages.py", "heat_moisture_kernel.py", "block_tridiagonal.py"):
        (tmp_path / name).write_bytes((Path(compiled.__file__).parent / name).read_bytes())
    monkeypatch.setattr(compiled, "__file__", str(tmp_path / "compiled.py"))
    compiled.cache_folder.cache_clear()
    assert compiled.cache_folder() == before
    with (tmp_path / "heat_moisture_kernel.py").open("a", encoding="utf-8") as f:
        f.write("# changed\n")
    compiled.cache_folder.cache_clear()
    assert compiled.cache_folder() != before
    monkeypatch.undo()
    compiled.cache_folder.cache_clear()


def heat_pipe(latent_heat_j_kg: float) -> tuple[float, float, float]:
    """A wet open layer whose faces let no vapor out, held at 40 and 10 °C: heat through it [W/m²] and its end cells. [K]"""
    humidity = np.array([0.0, 0.5, 0.99, 1.0])
    wet = Porous(humidity, np.array([0.0, 1.0, 2.0, 900.0]), np.zeros(4), np.full(4, 1.5e-10), np.full(4, 0.04), 5e4, label="wet wool")
    own = Wall((Layer(wet, (0.0025,) * 40, start_content_kg_m3=300.0),))
    end = 12 * 3600.0
    warm, cold = (side([0.0, end], t, 0.0, vapor_transfer_kg_pa_s_m2=0.0) for t in (313.15, 283.15))
    settings = Settings(tolerance=1e-4, latent_heat_j_kg=latent_heat_j_kg, water_heat_j_kgk=1.0, vapor_heat_j_kgk=1.0)
    whole, before = (march(own, warm, cold, [t], settings) for t in (end, end - 3600.0))
    passed = (whole.balance.heat_left_j_m2 - before.balance.heat_left_j_m2) / 3600.0
    return passed, float(whole.temperature_k[0][0]), float(whole.temperature_k[0][-1])


@pytest.mark.parametrize("latent", [0.0, 2.5e6])
def test_vapor_inside_carries_its_latent_heat(latent: float) -> None:
    """Evaporating at the warm end and condensing at the cold one, vapor adds what the pressures say and no more."""
    passed, warm, cold = heat_pipe(latent)
    drop = float(saturation_pressure_pa(warm) - saturation_pressure_pa(cold))
    assert passed == pytest.approx((0.04 * (warm - cold) + latent * 1.5e-10 * drop) / 0.0975, rel=0.01)


def test_two_layers_of_one_material_soak_like_one() -> None:
    """The join of two materials, on the one case in which its flux is known: both are the same."""
    end = 2 * 3600.0
    wet = side([0.0, end], 293.15, saturation_pressure_pa(293.15), contact=True)
    twin = replace(BOARD)
    near, far = (1e-4,) * 15, (1e-4,) * 60
    apart = march(Wall((Layer(BOARD, near), Layer(twin, far))), wet, still(20, 0.5, end), [end])
    whole = march(Wall((Layer(BOARD, near + far),)), wet, still(20, 0.5, end), [end])
    front = whole.content_kg_m3[0]
    assert front[18] > 100.0  # the water has passed the join
    assert np.abs(apart.content_kg_m3[0] - front).max() < 0.005 * front.max()
