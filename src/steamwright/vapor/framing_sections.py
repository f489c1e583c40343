"""Cross-sections of a framed build-up: one stud, the track at its foot, two walls that meet, a board screw with its washer."""

from __future__ import annotations

from dataclasses import dataclass

from steamwright.physics.heat_plane import Block, Section, Surface
from steamwright.vapor.practice import practice

MIL_M = 25.4e-6
# Air of the room inside a corner: a block that conducts so well that it has one temperature, and its film as a layer. [W/(m K), m]
STIRRED_W_MK, FILM_M = 5e3, 0.002
LEG_M, ROUND_M = 0.5, 0.15
INSIDE_K, OUTSIDE_K = 1.0, 0.0


@dataclass(frozen=True, slots=True)
class Frame:
    """A framed build-up as heat sees it: (thickness, conductivity) of layers before, in and behind the bay. [m, W/(m K)]

    ``stud`` is ``wood`` or ``steel``; ``sheet_m`` is the thickness of the steel. Films are on the steam side and beyond.
    """

    before: tuple[tuple[float, float], ...]
    bay: tuple[float, float]
    behind: tuple[tuple[float, float], ...]
    stud: str
    sheet_m: float
    spacing_m: float
    inside_m2k_w: float
    outside_m2k_w: float
    washers: bool

    @property
    def face_m(self) -> float:
        """Depth of the stud face behind the board, from the tile. [m]"""
        return sum(d for d, _ in self.before)

    @property
    def depth_m(self) -> float:
        """All layers. [m]"""
        return self.face_m + self.bay[0] + sum(d for d, _ in self.behind)

    @property
    def u_w_m2k(self) -> float:
        """Transmittance between studs. [W/(m2 K)]"""
        rows = (*self.before, self.bay, *self.behind)
        return 1.0 / (self.inside_m2k_w + self.outside_m2k_w + sum(d / k for d, k in rows))


def _layers(f: Frame, left: float, right: float) -> list[Block]:
    blocks, y = [], 0.0
    for d, k in (*f.before, f.bay, *f.behind):
        blocks.append(Block(left, right, y, y + d, k))
        y += d
    return blocks


def _airs(f: Frame, wide: float) -> tuple[Surface, Surface]:
    return (Surface("bottom", 0.0, wide, INSIDE_K, f.inside_m2k_w), Surface("top", 0.0, wide, OUTSIDE_K, f.outside_m2k_w))


def _channel(f: Frame, web: float, flange: float) -> list[Block]:
    """A channel open to the right, its web beginning at a place."""
    steel, a, b = practice("framing.steel_w_mk"), f.face_m, f.face_m + f.bay[0]
    return [Block(web, web + f.sheet_m, a, b, steel), Block(web, web + flange, a, a + f.sheet_m, steel),
            Block(web, web + flange, b - f.sheet_m, b, steel)]


def stud_section(f: Frame) -> Section:
    """One spacing of wall with a stud in its middle.

    Parameters
    ----------
    f : Frame
        The build-up.

    Returns
    -------
    section : Section
        Tile at the bottom.

    References
    ----------
    ISO-10211 clause 5
    """
    wide, a, b = f.spacing_m, f.face_m, f.face_m + f.bay[0]
    if f.stud == "wood":
        half = 0.5 * practice("framing.wood_wide_m")
        stud = [Block(0.5 * wide - half, 0.5 * wide + half, a, b, practice("framing.wood_w_mk"))]
    else:
        stud = _channel(f, 0.5 * wide, practice("framing.flange_m"))
    return Section(wide, f.depth_m, tuple(_layers(f, 0.0, wide) + stud), _airs(f, wide), ((0.5 * wide, a), (0.5 * wide, 0.0)))


def track_section(f: Frame) -> Section:
    """The foot of the wall, cut upright between studs: a plate of wood or a track of steel, and no heat into what it stands on.

    Parameters
    ----------
    f : Frame
        The build-up.

    Returns
    -------
    section : Section
        Tile at the bottom, floor at the left.

    References
    ----------
    ISO-10211 clause 5
    """
    a, b = f.face_m, f.face_m + f.bay[0]
    if f.stud == "wood":
        foot = [Block(0.0, practice("framing.wood_wide_m"), a, b, practice("framing.wood_w_mk"))]
    else:
        foot = _channel(f, 0.0, practice("framing.track_leg_m"))
    return Section(LEG_M, f.depth_m, tuple(_layers(f, 0.0, LEG_M) + foot), _airs(f, LEG_M), ((0.0, a), (0.0, 0.0)))


def corner_section(f: Frame) -> Section:
    """Two such walls that meet, with a post in the corner of their framing.

    Parameters
    ----------
    f : Frame
        The build-up.

    Returns
    -------
    section : Section
        Outside at the left and at the bottom; the room is the block at the upper right.

    References
    ----------
    ISO-10211 clause 5; own derivation for the air of the room as a block
    """
    size = f.depth_m + LEG_M
    blocks, out = [Block(0.0, size, 0.0, size, (*f.before, f.bay, *f.behind)[-1][1])], 0.0
    for d, k in reversed((*f.before, f.bay, *f.behind)):
        blocks.append(Block(out, size, out, size, k))
        out += d
    behind, bay = sum(d for d, _ in f.behind), f.bay[0]
    if f.stud == "wood":
        blocks.append(Block(behind, behind + bay, behind, behind + bay, practice("framing.wood_w_mk")))
    else:
        steel, t, flange = practice("framing.steel_w_mk"), f.sheet_m, practice("framing.flange_m")
        # One stud at the end of either wall, its web on the line where the other wall's framing begins.
        for turned in (False, True):
            rows = ((behind, behind + bay, behind + bay, behind + bay + t), (behind, behind + t, behind + bay, behind + bay + flange),
                    (behind + bay - t, behind + bay, behind + bay, behind + bay + flange))
            blocks += [Block(y0, y1, x0, x1, steel) if turned else Block(x0, x1, y0, y1, steel) for x0, x1, y0, y1 in rows]
    blocks.append(Block(out, size, out, size, FILM_M / f.inside_m2k_w))
    blocks.append(Block(out + FILM_M, size, out + FILM_M, size, STIRRED_W_MK))
    airs = (Surface("left", 0.0, size, OUTSIDE_K, f.outside_m2k_w), Surface("bottom", 0.0, size, OUTSIDE_K, f.outside_m2k_w),
            Surface("right", out + FILM_M, size, INSIDE_K, 0.0), Surface("top", out + FILM_M, size, INSIDE_K, 0.0))
    return Section(size, size, tuple(blocks), airs, ((out, out), (behind + bay, behind + bay)))


def screw_section(f: Frame, screw: bool) -> Section:
    """A board screw with its washer, round its axis; the stud behind it is a post as wide as it is, or a disc of its flange.

    Parameters
    ----------
    f : Frame
        The build-up.
    screw : bool
        With the screw, or the same without it.

    Returns
    -------
    section : Section
        Tile at the bottom, the screw at the left edge.

    References
    ----------
    ISO-10211 clause 5; own derivation for the stud round an axis
    """
    steel, a, b = practice("framing.steel_w_mk"), f.face_m, f.face_m + f.bay[0]
    blocks = _layers(f, 0.0, ROUND_M)
    if f.stud == "wood":
        blocks.append(Block(0.0, 0.5 * practice("framing.wood_wide_m"), a, b, practice("framing.wood_w_mk")))
    else:
        half = 0.5 * practice("framing.flange_m")
        blocks += [Block(0.0, half, a, a + f.sheet_m, steel), Block(0.0, half, b - f.sheet_m, b, steel)]
    board = f.before[-1][0]
    if screw:
        bite = min(practice("framing.screw_bite_m"), 0.9 * f.bay[0])
        blocks.append(Block(0.0, 0.5 * practice("framing.screw_m"), a - board, a + bite, steel))
        if f.washers:
            blocks.append(Block(0.0, 0.5 * practice("framing.washer_m"), a - board, a - board + practice("framing.washer_thick_m"), steel))
    return Section(ROUND_M, f.depth_m, tuple(blocks), _airs(f, ROUND_M), ((0.0, a - board), (0.0, 0.0)), round_axis=True)
