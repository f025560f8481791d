"""What is seen when a fruitbody is turned over, cut lengthwise, or left on paper to drop its spores."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from trug.demo.painting.brush import Brush, Colour, Mask, Points, column, dome, ellipse, flat, mix
from trug.demo.painting.fruitbody import DARK, VEIL, Body, cap_height, stipe_outline
from trug.demo.painting.ground import HEIGHT_PX, WIDTH_PX

__all__ = ["section", "spore_print", "underside"]

#: Colour that cut flesh turns to, by state of ``flesh_change``.
_STAINS: dict[str, Colour] = {
    "yellow": (226, 196, 60),
    "faint-brown": (176, 140, 100),
    "pink": (226, 150, 150),
    "red": (190, 70, 66),
    "faint-blue": (150, 176, 190),
    "blue": (58, 92, 140),
    "black": (60, 58, 58),
    "orange": (220, 140, 60),
    "violet": (130, 100, 150),
}
_OUTSIDE = frozenset(["pits", "lobes", "branches", "enclosed", "cup-lining"])


def underside(brush: Brush, body: Body) -> None:
    """Paint the cap upside down: rim, gills, pores, spines or folds, and the stump of the stipe."""
    x, y, r = WIDTH_PX / 2, HEIGHT_PX / 2 + 4, 268.0
    shelf = body.is_("fruitbody_form", "shelf", "bracket") or body.is_("stipe_position", "lateral", "none")
    centre = (x, y - r * 0.86) if shelf else (x, y)
    brush.shadow(x + 14, y + 20, r * 1.14, r * 1.12, 0.55)
    outer = _disc(x, y, r, body, shelf)
    brush.fill(outer, body.colours["cap"], dome, grain=0.08)
    inner = (outer - (x, y)) * 0.955 + (x, y)
    colour = body.colours["hymenophore"]
    within = brush.fill(inner, colour, flat, grain=0.05, edge=0.5)
    _fertile(brush, body, within, centre, r * (1.9 if shelf else 1.0), colour)
    if body.states.get("hymenophore") in _OUTSIDE or shelf:
        return
    stump = max(body.thick * 1.5, 20)
    brush.shadow(x + 6, y + 8, stump * 1.8, stump * 1.8, 0.5)
    brush.fill(ellipse(x, y, stump * 1.16, stump * 1.16, wobble=0.02), body.colours["stipe"], dome, edge=0.6)
    cut = brush.fill(ellipse(x, y, stump * 0.9, stump * 0.9, wobble=0.02), body.colours["flesh"], flat, grain=0.05)
    if body.is_("stipe_inside", "hollow"):
        brush.patches(cut, [ellipse(x, y, stump * 0.5, stump * 0.5)], DARK, 0.75)


def section(brush: Brush, body: Body) -> None:
    """Paint one half of a fruitbody cut from top to base."""
    form = body.states.get("fruitbody_form", "cap-and-stipe")
    brush.shadow(body.x + 12, body.y - body.stipe * 0.45, body.cap * 1.7, body.stipe * 1.1, 0.28)
    if form in ("ball", "egg", "star"):
        _cut_ball(brush, body)
    elif form in ("morel", "saddle"):
        _cut_head(brush, body)
    else:
        _cut_cap(brush, body)


def spore_print(brush: Brush, body: Body) -> None:
    """Paint a print, half on white and half on dark paper, after the cap was lifted."""
    x, y, r = WIDTH_PX / 2, HEIGHT_PX / 2 + 6, 205.0
    halves = ((150, x, (244, 242, 236)), (x, 750, (46, 46, 50)))
    brush.shadow(x + 10, y + 14, 380, 330, 0.5)
    for left, right, paper in halves:
        sheet = np.array([[left, 70], [right, 70], [right, 612], [left, 612]])
        within = brush.fill(sheet, paper, flat, grain=0.012, edge=0.25)
        _dust(brush, body, within, x, y, r)
    seam = brush.everywhere(np.array([[x, 70.0], [x + 1, 612.0]]))
    brush.lines(seam, [[(x, 70), (x, 612)]], (20, 20, 20), 0.35)


def _dust(brush: Brush, body: Body, within: Mask | None, x: float, y: float, r: float) -> None:
    """Let spores fall in rays below the gills, or in spots below pores; thinner at the rim."""
    rng = np.random.default_rng(5)  # the same fall on both papers
    colour = body.colours["print"]
    brush.patches(within, [ellipse(x, y, r * 1.03, r * 1.03, wobble=0.012)], colour, 0.3)
    brush.patches(within, [ellipse(x, y, r * 0.97, r * 0.97, wobble=0.012)], colour, 0.45)
    if body.is_("hymenophore", "pores", "maze"):
        a, d = rng.uniform(0, 6.3, 700), np.sqrt(rng.uniform(0.02, 1, 700)) * r
        spot = ellipse(x, y, 4.2, 4.2, n=6)
        spots = [spot + p for p in np.stack([d * np.cos(a), d * np.sin(a)], 1)]
        brush.patches(within, spots, colour, 0.9)
    else:
        rays = []
        for k, a in enumerate(np.linspace(0, 2 * np.pi, 150, endpoint=False)):
            start = 0.14 if k % 4 == 0 else rng.uniform(0.25, 0.75)
            end = rng.uniform(0.95, 1.0)
            rays.append([(x + r * q * np.cos(a), y + r * q * np.sin(a)) for q in (start, end)])
        brush.lines(within, rays, colour, 0.95, width=9)
    brush.patches(within, [ellipse(x, y, r * 0.12, r * 0.12, wobble=0.05)], mix(colour, VEIL, 0.25), 0.12)


def _disc(x: float, y: float, r: float, body: Body, shelf: bool) -> Points:
    wave = 0.018 if body.is_("cap_edge", "wavy") or body.is_("stage", "past") else 0.006
    disc = ellipse(x, y, r, r, wobble=wave, seed=body.x, n=120)
    if shelf:
        disc[:, 1] = np.maximum(disc[:, 1], y - r * 0.8)
    return disc


def _fertile(brush: Brush, body: Body, within: Mask | None, at: tuple[float, float], r: float, colour: Colour) -> None:
    """Draw gills, folds, pores, a maze or spines from the point where the stipe stands."""
    rng, (x, y) = brush.rng, at
    ink = mix(colour, DARK, 0.5)
    kind = body.states.get("hymenophore", "gills")
    if kind in ("gills", "folds"):
        few = kind == "folds" or body.is_("gill_spacing", "distant", "spaced")
        turn = np.linspace(0, 2 * np.pi, 66 if few else 150, endpoint=False)
        shadows, edges = [], []
        for k, a in enumerate(turn):
            start = (0.1, 0.68, 0.42, 0.68)[k % 4] if kind == "gills" else (0.1, 0.5)[k % 2]
            sway = 0.03 * np.sin(a * 9) if kind == "folds" else 0.0
            q = np.linspace(start, 1.05, 5)
            ray = np.stack([x + r * q * np.cos(a + sway * q), y + r * q * np.sin(a + sway * q)], 1)
            shadows.append(ray + (1.5, 1.5))
            edges.append(ray)
        brush.lines(within, shadows, ink, 0.75, width=9 if few else 5)
        brush.lines(within, edges, mix(colour, (255, 255, 250), 0.25), 0.9, width=6 if kind == "folds" else 3)
    elif kind in ("pores", "maze"):
        size = 5.6 if kind == "pores" else 9.0
        grid = np.stack(np.meshgrid(np.arange(-24, 25), np.arange(-26, 27)), -1).reshape(-1, 2) * (11.4, 10.2)
        grid = (
            grid
            + np.stack([5.7 * (np.round(grid[:, 1] / 10.2) % 2), 0 * grid[:, 1]], 1)
            + rng.normal(0, 0.9, grid.shape)
        )
        mouth, middle = ellipse(0, 0, size * 0.62, size * 0.55, n=6), np.array([WIDTH_PX, HEIGHT_PX]) / 2
        mouths = [mouth + middle + p for p in grid if np.hypot(*p) < 266]
        brush.patches(within, mouths, mix(colour, DARK, 0.42), 0.85)
    elif kind == "spines":
        d = np.sqrt(rng.uniform(0.012, 1, 520)) * 258
        a = rng.uniform(0, 2 * np.pi, 520)
        roots = np.stack([WIDTH_PX / 2 + d * np.cos(a), HEIGHT_PX / 2 + d * np.sin(a)], 1)
        order = roots[np.argsort(roots[:, 1])]
        brush.lines(within, [np.vstack([p, p + (3, 11)]) for p in order], ink, 0.7, width=9)
        brush.lines(
            within, [np.vstack([p - (1, 1), p + (1, 9)]) for p in order], mix(colour, (255, 255, 250), 0.35), 1, width=5
        )
    else:
        rings = [ellipse(WIDTH_PX / 2, HEIGHT_PX / 2, q, q, wobble=0.03, seed=q) for q in (80, 150, 215)]
        brush.lines(within, rings, ink, 0.2, width=8)


def _cut_cap(brush: Brush, body: Body) -> None:
    """Paint flesh, gills in profile, and the inside of the stipe."""
    shape = body.states.get("cap_shape", "convex")
    hollow_cap = body.is_("cap_shape", "funnel") or body.is_("fruitbody_form", "trumpet")
    x, y = body.top()
    across = np.linspace(-1, 1, 61)
    high = body.cap * (cap_height(shape, across) if not hollow_cap else 0.75 * np.abs(across) ** 1.4 + 0.02)
    depth = body.cap * (0.24 if hollow_cap else 0.4)
    under = np.minimum(y - high + depth, y) if not hollow_cap else y - high + depth
    gill = body.cap * 0.3 * np.abs(across) ** 0.5 * np.sqrt(1 - across**6)
    skin, inner = (np.stack([x + body.cap * across, level], 1) for level in (y - high, under))
    if body.is_("volva", "sac", "collar"):
        _cut_bag(brush, body)
    longer = replace(body, stipe=body.y - float(under[30]) + 2)
    outline = stipe_outline(longer)
    brush.fill(outline, body.colours["stipe"], column, grain=0.03)
    plates = brush.fill(
        np.vstack([inner, (inner + np.stack([0 * gill, gill], 1))[::-1]]), body.colours["hymenophore"], flat, grain=0.03
    )
    if body.is_("hymenophore", "pores", "maze", "spines"):
        tubes = [np.vstack([p, p + (0, g)]) for p, g in zip(inner, gill, strict=True)]
        brush.lines(plates, tubes, mix(body.colours["hymenophore"], DARK, 0.5), 0.7)
    centre = outline.mean(0)
    core = brush.fill((outline - centre) * (0.84, 0.97) + centre, body.colours["flesh"], flat, grain=0.02, edge=0.12)
    cap = brush.fill(np.vstack([skin, inner[::-1]]), body.colours["flesh"], flat, grain=0.02, edge=0.2)
    joint = ellipse(x, float(under[30]) - depth * 0.12, body.thick * 0.8, depth * 0.3)
    brush.fill(joint, body.colours["flesh"], flat, grain=0.02, edge=0)
    brush.lines(brush.everywhere(skin), [skin], body.colours["cap"], 1, width=13)
    if body.is_("stipe_inside", "hollow", "stuffed", "chambered"):
        _pith(brush, body, core)
    _stain(brush, body, (cap, core))


def _cut_bag(brush: Brush, body: Body) -> None:
    """Paint the bag at the base, cut open: its wall and the room between wall and stipe."""
    a = np.linspace(-0.45, np.pi + 0.45, 31)
    for size, colour in ((1.0, body.colours.get("volva", VEIL)), (0.84, (70, 56, 40))):
        wide, deep = 2.5 * body.thick * size, 1.9 * body.thick * size
        bag = np.stack([body.x + wide * np.cos(a), body.y - 0.9 * body.thick + deep * np.sin(a)], 1)
        brush.fill(bag, colour, dome, grain=0.04, edge=0.5)


def _pith(brush: Brush, body: Body, core: Mask | None) -> None:
    t = np.linspace(0.08, 0.86, 12)
    middle = body.x + body.lean * body.stipe * t**2
    wide = body.thick * 0.42 * np.sin(np.pi * (t - 0.08) / 0.78 * 0.9 + 0.2)
    y = body.y - body.stipe * t
    tube = np.vstack([np.stack([middle - wide, y], 1), np.stack([middle + wide, y], 1)[::-1]])
    stuffed = body.is_("stipe_inside", "stuffed")
    brush.patches(core, [tube], mix(body.colours["flesh"], DARK, 0.12 if stuffed else 0.62), 0.9)
    if body.is_("stipe_inside", "chambered"):
        walls = [
            [(body.x - body.thick, body.y - body.stipe * q), (body.x + body.thick, body.y - body.stipe * q)]
            for q in t[::2]
        ]
        brush.lines(core, walls, body.colours["flesh"], 1, width=8)


def _stain(brush: Brush, body: Body, cuts: tuple[Mask | None, ...]) -> None:
    """Let the cut flesh turn, in patches."""
    colour = _STAINS.get(body.states.get("flesh_change", "none"))
    if colour is None:
        return
    strength = 0.35 if body.is_("flesh_change", "faint-blue", "faint-brown") else 0.6
    x, y = body.top()
    spots = [
        ellipse(x + body.cap * e, y - body.cap * 0.28, body.cap * 0.26, body.cap * 0.13, wobble=0.12, seed=e)
        for e in (-0.5, 0.1, 0.6)
    ]
    spots += [
        ellipse(x, y + body.stipe * q, body.thick * 0.6, body.stipe * 0.1, wobble=0.12, seed=q)
        for q in (0.15, 0.5, 0.85)
    ]
    for cut in cuts:
        for size in (1.25, 0.9, 0.6):
            brush.patches(cut, [(s - s.mean(0)) * size + s.mean(0) for s in spots], colour, strength / 2)


def _cut_ball(brush: Brush, body: Body) -> None:
    """Paint a ball cut open: even flesh, powder, marbling, or a young cap and stipe in its wrapping."""
    x, y, r = body.x, body.y - body.stipe * 0.45, min(body.cap, body.stipe * 0.55) * 1.15
    skin = body.colours["cap"] if not body.is_("fruitbody_form", "egg") else body.colours.get("volva", VEIL)
    brush.fill(ellipse(x, y, r, r * 1.08, wobble=0.012), skin, dome)
    rind = 0.84 if body.is_("ball_skin", "scaly-thick") else 0.93
    inside: dict[str, Colour] = {
        "yellowish": (206, 198, 130),
        "brown-powder": (120, 104, 62),
        "purple-brown": (104, 74, 82),
        "purple-black": (58, 46, 60),
    }
    colour = inside.get(body.states.get("gleba", "white"), body.colours["flesh"])
    cut = brush.fill(ellipse(x, y, r * rind, r * rind * 1.08, wobble=0.012), colour, flat, grain=0.03)
    if body.is_("gleba", "purple-black") or body.is_("egg_section", "dark-marbled"):
        t = np.linspace(-1, 1, 14)
        veins = [
            [(x + r * s, y + r * (e + 0.12 * np.sin(6 * s + 9 * e))) for s in t] for e in np.linspace(-0.9, 0.9, 9)
        ]
        brush.lines(cut, veins, (214, 208, 196), 0.7, width=4)
    if body.is_("fruitbody_form", "egg") or body.is_("gleba", "not-a-gleba"):
        across = np.linspace(-1, 1, 31)
        cap = np.vstack(
            [
                np.stack([x + r * 0.62 * across, y - r * 0.1 - r * 0.6 * np.sqrt(1 - across**2)], 1),
                np.stack([x + r * 0.62 * across, y - r * 0.1 + r * 0.08 * np.sqrt(1 - across**2)], 1)[::-1],
            ]
        )
        stipe = np.array([[-0.2, -0.05], [0.2, -0.05], [0.36, 0.72], [0, 0.84], [-0.36, 0.72]]) * r + (x, y)
        edge = mix(body.colours["flesh"], DARK, 0.6)
        brush.patches(cut, [stipe, cap], mix(body.colours["flesh"], (255, 255, 250), 0.5))
        brush.lines(cut, [np.vstack([stipe, stipe[:1]]), np.vstack([cap, cap[:1]])], edge, 0.7, width=4)
        brush.lines(cut, [cap[:31]], body.colours["cap"], 1, width=12)


def _cut_head(brush: Brush, body: Body) -> None:
    """Paint the hollow of a morel, the cotton of a verpa, or the chambers of a false morel."""
    x, top, foot = body.x, body.y - body.stipe, body.y
    a = np.linspace(0, 2 * np.pi, 60)
    head = np.stack([x + body.cap * 0.72 * np.cos(a), top + body.stipe * (0.32 + 0.33 * np.sin(a))], 1)
    stipe = np.array([[-1.1, -0.5], [1.1, -0.5], [1.4, 0], [-1.4, 0]]) * (body.thick, body.stipe) + (x, foot)
    brush.fill(stipe, body.colours["stipe"], column, grain=0.06)
    brush.fill(head, body.colours["cap"], dome, grain=0.1)
    centre = head.mean(0)
    wall, dark = body.colours["flesh"], mix(body.colours["flesh"], DARK, 0.55)
    brush.fill((head - centre) * 0.86 + centre, wall, flat, grain=0.05, edge=0.2)
    if body.is_("head_inside", "solid"):
        return
    if body.is_("head_inside", "chambered"):
        for k in range(7):
            cx, cy = x + body.cap * 0.4 * np.cos(2.4 * k), centre[1] + body.stipe * 0.17 * np.sin(2.4 * k)
            brush.fill(ellipse(cx, cy, body.cap * 0.15, body.stipe * 0.075, wobble=0.1, seed=k), dark, dome, edge=0.4)
        return
    room = np.vstack([(head - centre) * 0.66 + centre])
    brush.fill(room, dark, dome, grain=0.05, edge=0.3)
    shaft = np.array([[-0.7, -0.55], [0.7, -0.55], [0.95, -0.02], [-0.95, -0.02]]) * (body.thick, body.stipe) + (
        x,
        foot,
    )
    within = brush.fill(shaft, dark, column, grain=0.05, edge=0)
    if body.is_("head_inside", "loose-cotton"):
        tufts = [
            ellipse(
                x + body.thick * 0.4 * np.sin(3 * k),
                foot - body.stipe * 0.06 * k,
                body.thick * 0.4,
                body.stipe * 0.03,
                wobble=0.12,
                seed=k,
            )
            for k in range(1, 9)
        ]
        brush.patches(within, tufts, (236, 232, 222), 0.85)
