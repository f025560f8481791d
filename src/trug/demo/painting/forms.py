"""Fruitbodies that are no cap on a stipe: shelves, corals, balls, cups, morels and the rest."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from trug.demo.painting.brush import Brush, Field, Points, column, dome, ellipse, mix
from trug.demo.painting.fruitbody import DARK, VEIL, Body, capped, funnel

__all__ = ["FORMS", "paint"]


def paint(brush: Brush, body: Body) -> None:
    """Paint a fruitbody as the state of ``fruitbody_form`` says."""
    FORMS[body.states.get("fruitbody_form", "cap-and-stipe")](brush, body)


def _shelf(brush: Brush, body: Body) -> None:
    _fan(brush, body, thick=0.22, zones=False)


def _bracket(brush: Brush, body: Body) -> None:
    _fan(brush, body, thick=0.34, zones=True)


def _fan(brush: Brush, body: Body, *, thick: float, zones: bool) -> None:
    """Paint a shelf from its front, a little from below: upper side, rim, and a strip of the fertile side."""
    x, y, r = body.x, body.y - body.stipe * 0.2, body.cap
    brush.shadow(x + r * 0.1, y + r * 0.32, r * 1.15, r * 0.42, 0.6)
    a = np.linspace(0, np.pi, 40)
    wave = 1 + (0 if zones else 0.05) * np.sin(5 * a + x)
    front = np.stack([x + r * np.cos(a) * wave, y + r * 0.34 * np.sin(a) * wave], 1)
    back = np.stack([x + r * np.cos(a), y - r * thick * 1.5 * np.sin(a) ** 0.8], 1)
    under = brush.fill(
        np.vstack([front + (0, r * thick * 0.5), front[::-1] * (1, 1) - (0, 2)]),
        mix(body.colours["hymenophore"], DARK, 0.12),
        column,
        grain=0.06,
        edge=0.5,
    )
    if not body.is_("hymenophore", "smooth", "pores"):
        rays = [
            [(x, y), (x + 1.1 * r * np.cos(e), y + r * (0.42 * np.sin(e) + thick))] for e in np.linspace(0.05, 3.09, 70)
        ]
        brush.lines(under, rays, mix(body.colours["hymenophore"], DARK, 0.6), 0.7)
    cap = brush.fill(np.vstack([front, back[::-1]]), body.colours["cap"], dome, grain=0.1)
    if zones or body.is_("cap_pattern", "zoned"):
        for k, part in enumerate((0.35, 0.55, 0.74, 0.9)):
            band = np.stack([x + r * part * np.cos(a), y - r * 0.05 + r * 0.34 * part * np.sin(a)], 1)
            brush.lines(cap, [band], mix(body.colours["cap"], DARK if k % 2 else VEIL, 0.45), 0.55, width=7)
    if body.is_("cap_moisture", "slimy", "greasy") or body.is_("cap_surface", "lacquered"):
        brush.patches(cap, [ellipse(x - r * 0.35, y - r * 0.08, r * 0.22, r * 0.04)], (255, 255, 250), 0.5)


def _rosette(brush: Brush, body: Body) -> None:
    """Paint rows of small fans from one base, the back row highest, each row over the one behind it."""
    rng, r = brush.rng, body.cap
    brush.fill(ellipse(body.x, body.y - r * 0.62, r * 0.95, r * 0.66, wobble=0.03), mix(body.colours["cap"], DARK, 0.6))
    for row in range(5):
        y = body.y - r * (1.15 - 0.22 * row)
        half = r * (0.7, 0.92, 0.95, 0.8, 0.5)[row]
        for x in body.x + np.linspace(-half, half, 6) + rng.normal(0, 5, 6):
            size = r * rng.uniform(0.25, 0.33)
            a = np.linspace(0.1, np.pi - 0.1, 22)
            wave = 1 + 0.08 * np.sin(6 * a + x)
            top = np.stack([x + size * np.cos(a) * wave, y - size * 0.7 * np.sin(a) * wave], 1)
            pinch = np.array([[x + (body.x - x) * 0.2 + e * size, y + size * 0.7] for e in (-0.22, 0.22)])
            pale = mix(body.colours["cap"], body.colours["hymenophore"], 0.6)
            brush.fill(np.vstack([top, pinch]), body.colours["cap"], dome, grain=0.1, to=mix(pale, DARK, 0.2), edge=0.6)


def _coral(brush: Brush, body: Body) -> None:
    """Grow branches that fork until they are twigs."""
    rng = brush.rng
    colour, tip = body.colours["cap"], mix(body.colours["cap"], (255, 246, 214), 0.35)
    twigs: list[tuple[int, Points]] = []

    def grow(x: float, y: float, angle: float, long: float, wide: float, depth: int) -> None:
        ex, ey = x + long * np.sin(angle), y - long * np.cos(angle)
        side = np.array([np.cos(angle), np.sin(angle)])
        start, end = np.array([x, y]), np.array([ex, ey])
        point = end + 0.5 * wide * np.array([np.sin(angle), -np.cos(angle)])
        twigs.append(
            (
                depth,
                np.vstack(
                    [start - wide * side, end - 0.7 * wide * side, point, end + 0.7 * wide * side, start + wide * side]
                ),
            )
        )
        if depth < 4:
            for turn in (-0.34, 0.3) if depth else (-0.75, -0.3, 0.05, 0.42, 0.8):
                grow(
                    ex,
                    ey,
                    angle * 0.8 + turn + rng.normal(0, 0.1),
                    long * rng.uniform(0.66, 0.84),
                    wide * 0.62,
                    depth + 1,
                )

    grow(body.x, body.y, 0.0, body.stipe * 0.26, body.cap * 0.24, 0)
    for depth in (0, 1, 2, 3, 4):
        shade = mix(mix(colour, DARK, 0.25), tip, depth / 4)
        reach = np.vstack([p for _, p in twigs])
        all_of_it = brush.everywhere(reach)
        parts = [p for d, p in twigs if d == depth]
        brush.patches(all_of_it, parts, shade)
        brush.lines(all_of_it, [p[:3] for p in parts], mix(shade, DARK, 0.55), 0.55, width=3)


def _club(brush: Brush, body: Body) -> None:
    t = np.linspace(0, 1, 30)
    wide = body.cap * 0.3 * (0.42 + 0.6 * t**1.4) * np.sqrt(np.clip(1 - t**9, 0, 1))
    middle = body.x + body.lean * body.stipe * t**2
    y = body.y - body.stipe * t
    outline = np.vstack([np.stack([middle - wide, y], 1), np.stack([middle + wide, y], 1)[::-1]])
    brush.fill(outline, body.colours["cap"], column, grain=0.1, to=body.colours["stipe"])


def _spine_beard(brush: Brush, body: Body) -> None:
    """Hang spines in rows from a cushion."""
    x, y, r = body.x, body.y - body.stipe * 0.45, body.cap * 0.9
    colour = body.colours["hymenophore"]
    brush.shadow(x, y + r * 0.7, r * 1.2, r * 0.5, 0.4)
    brush.fill(ellipse(x, y - r * 0.2, r, r * 0.62, wobble=0.04, seed=x), mix(colour, DARK, 0.08), dome, grain=0.08)
    for row in np.linspace(0, 1, 9):
        half = r * np.sqrt(1 - (1.3 * row - 0.9) ** 2)
        spines = []
        for sx in np.linspace(-half, half, 34):
            top, long = y - r * 0.5 + row * r * 0.75, r * brush.rng.uniform(0.3, 0.44)
            wide = r * 0.02
            spines.append(np.array([[x + sx - wide, top], [x + sx + wide, top], [x + sx * 0.97, top + long]]))
        place = brush.everywhere(np.vstack(spines))
        brush.patches(place, [s + (2, 1) for s in spines], mix(colour, DARK, 0.5), 0.5)
        brush.patches(place, spines, mix(colour, (255, 255, 250), 0.35 * row))


def _ball(brush: Brush, body: Body) -> None:
    r = min(body.cap, body.stipe * 0.62)
    a = np.linspace(0, 2 * np.pi, 60)
    neck = 1 - 0.3 * np.exp(-(((a - np.pi / 2) / 0.75) ** 2))
    outline = np.stack([body.x + r * np.cos(a) * neck, body.y - r * 0.92 + r * np.sin(a) * 1.04], 1)
    within = brush.fill(outline, body.colours["cap"], dome, grain=0.08)
    if not body.is_("ball_skin", "smooth-thin"):
        dots = []
        for _ in range(150):
            ang, rad = brush.rng.uniform(0, 6.3), np.sqrt(brush.rng.uniform(0, 1)) * r
            size = r * 0.026 * (1.2 - rad / r * 0.6) * (2 if body.is_("ball_skin", "scaly-thick") else 1)
            dots.append(ellipse(body.x + rad * np.cos(ang), body.y - r + rad * np.sin(ang), size, size, n=8))
        brush.patches(within, [d + (1, 1) for d in dots], mix(body.colours["cap"], DARK, 0.6), 0.5)
        brush.patches(within, dots, mix(body.colours["cap"], VEIL, 0.4), 0.8)
    if body.is_("stage", "past"):
        brush.fill(ellipse(body.x + 0.1 * r, body.y - 1.7 * r, r * 0.2, r * 0.1, wobble=0.12), DARK, dome, edge=0.3)


def _egg(brush: Brush, body: Body) -> None:
    r = min(body.cap * 0.8, body.stipe * 0.5)
    colour = body.colours.get("volva", VEIL)
    skin = ellipse(body.x, body.y - r * 0.95, r * 0.86, r * 1.16, wobble=0.012, seed=body.x)
    within = brush.fill(skin, colour, dome, grain=0.06)
    rip = np.array(
        [[-0.36, -1.75], [-0.12, -1.5], [0.05, -1.66], [0.24, -1.46], [0.42, -1.78], [0.2, -2.3], [-0.2, -2.3]]
    )
    brush.patches(within, [rip * r + (body.x, body.y)], body.colours["cap"])
    brush.lines(within, [rip[:5] * r + (body.x, body.y)], mix(colour, DARK, 0.6), 0.8, width=4)


def _star(brush: Brush, body: Body) -> None:
    r = body.cap
    y = body.y - r * 0.22
    for a in np.sort(np.linspace(0, 2 * np.pi, 7, endpoint=False) + brush.rng.uniform(0, 0.9)):
        tip = np.array([body.x + r * 1.15 * np.cos(a), y + r * 0.42 * np.sin(a) + 0.1 * r])
        side = np.array([-np.sin(a), 0.42 * np.cos(a)]) * r * 0.33
        middle = np.array([body.x, y]) + np.array([np.cos(a), 0.42 * np.sin(a)]) * r * 0.45
        ray = np.vstack([[body.x, y] - side, middle - side, tip, middle + side, [body.x, y] + side])
        brush.fill(ray, mix(body.colours["stipe"], (150, 120, 90), 0.4), dome, grain=0.1, edge=0.55)
    small = Body(body.x, y + 0.1 * r, r * 0.52, r * 0.9, body.thick, 0, {"ball_skin": "smooth-thin"}, body.colours)
    _ball(brush, small)
    peak = np.array([[-0.1, -0.86], [0, -1.1], [0.1, -0.86]]) * r + (body.x, y + 0.06 * r)
    brush.fill(peak, mix(body.colours["cap"], DARK, 0.3), dome)


def _cup(brush: Brush, body: Body) -> None:
    r = body.cap
    y = body.y - r * 0.75
    a = np.linspace(0, np.pi, 30)
    bowl = np.stack([body.x + r * np.cos(a) * (1 - 0.1 * np.sin(a)), y + r * 0.78 * np.sin(a) ** 0.7], 1)
    outside = mix(body.colours["cap"], VEIL, 0.4)
    brush.fill(bowl, outside, column, grain=0.1)
    lip = ellipse(body.x, y, r, r * 0.34, wobble=0.035, seed=body.x)
    brush.fill(lip, mix(outside, VEIL, 0.4), dome, grain=0.05, edge=0.5)

    def inside(u: Field, v: Field) -> Field:
        bright: Field = (0.74 + 0.3 * v - 0.1 * u + 0.1 * u * u).astype(np.float32)
        return bright

    lining = body.colours["hymenophore"] if "hymenophore_colour" in body.states else body.colours["cap"]
    brush.fill(
        ellipse(body.x, y + r * 0.015, r * 0.93, r * 0.29, wobble=0.035, seed=body.x), lining, inside, grain=0.06
    )


def _pale_stipe(brush: Brush, body: Body, high: float) -> None:
    wide, foot = body.thick * 1.1, body.thick * 1.4
    outline = np.array([[-wide, -high], [wide, -high], [foot, 0], [0, foot * 0.3], [-foot, 0]]) + (body.x, body.y)
    within = brush.fill(outline, body.colours["stipe"], column, grain=0.09)
    furrows = [[(body.x + e * wide, body.y - high), (body.x + e * foot, body.y - 4)] for e in (-0.6, -0.2, 0.3, 0.7)]
    brush.lines(within, furrows, mix(body.colours["stipe"], DARK, 0.5), 0.35, width=3)


def _morel(brush: Brush, body: Body) -> None:
    """Paint a honeycomb head: pale ridges round dark pits, in staggered rows that narrow towards the edge."""
    head = body.stipe * 0.62
    _pale_stipe(brush, body, body.stipe * 0.45)
    y, r = body.y - body.stipe * 0.36 - head / 2, body.cap * 0.72
    ridge = mix(body.colours["cap"], VEIL, 0.35)
    a = np.linspace(0, 2 * np.pi, 60)
    taper = 1 - 0.22 * np.clip(-np.sin(a), 0, 1) ** 2
    outline = np.stack([body.x + r * np.cos(a) * taper, y + head * 0.56 * np.sin(a)], 1)
    within = brush.fill(outline, ridge, dome, grain=0.07)
    pits = []
    for row, v in enumerate(np.linspace(-0.92, 0.92, 8)):
        half = r * np.sqrt(1 - v * v) * (1 - 0.2 * max(0.0, -v))
        for k in np.arange(-3, 4) + 0.5 * (row % 2):
            u = np.sin(k * 0.42)
            wide = r * 0.17 * np.cos(k * 0.42) + 2
            pits.append(
                ellipse(body.x + half * u, y + head * 0.53 * v, wide, head * 0.066, wobble=0.12, seed=k + row, n=14)
            )
    brush.patches(within, pits, mix(body.colours["cap"], DARK, 0.62))
    brush.patches(
        within, [(p - p.mean(0)) * 0.62 + p.mean(0) + (1, 2) for p in pits], mix(body.colours["cap"], DARK, 0.25), 0.7
    )


def _saddle(brush: Brush, body: Body) -> None:
    """Paint a head of folds like a brain, or of two lobes."""
    _pale_stipe(brush, body, body.stipe * 0.6)
    y, r = body.y - body.stipe * 0.72, body.cap * 0.8
    rng = brush.rng
    for k in range(9):
        a = 2.4 * k
        x, cy = body.x + r * 0.52 * np.cos(a) * (k > 0), y + r * 0.32 * np.sin(a) * (k > 0)
        lobe = ellipse(x, cy, r * rng.uniform(0.4, 0.55), r * rng.uniform(0.3, 0.42), wobble=0.06, seed=k)
        within = brush.fill(lobe, body.colours["cap"], dome, grain=0.09, edge=0.6)
        t = np.linspace(-1, 1, 14)
        folds = [
            [(x + r * 0.4 * s, cy + r * (0.1 * e + 0.06 * np.sin(7 * s + k + e))) for s in t] for e in (-1.6, 0, 1.6)
        ]
        brush.lines(within, folds, mix(body.colours["cap"], DARK, 0.65), 0.6, width=5)


def _jelly(brush: Brush, body: Body) -> None:
    rng, r = brush.rng, body.cap
    for k in range(8):
        x = body.x + r * 0.62 * np.sin(2.4 * k)
        y = body.y - r * 0.3 - r * 0.16 * np.cos(1.7 * k) + k * 2
        size = r * rng.uniform(0.3, 0.46)
        lobe = ellipse(x, y, size, size * 0.66, wobble=0.07, seed=k + body.x)
        within = brush.fill(lobe, mix(body.colours["cap"], VEIL, 0.12), dome, grain=0.04, edge=0.45)
        brush.patches(
            within, [ellipse(x - size * 0.35, y - size * 0.3, size * 0.24, size * 0.09, n=16)], (255, 255, 250), 0.6
        )


def _crust(brush: Brush, body: Body) -> None:
    r = body.cap
    patch = ellipse(body.x, body.y - r * 0.2, r * 1.25, r * 0.4, wobble=0.08, seed=body.x)
    within = brush.fill(patch, body.colours["cap"], dome, grain=0.14, edge=0.5)
    centre = np.array([body.x, body.y - r * 0.2])
    brush.lines(
        within, [(patch - centre) * s + centre for s in (0.86, 0.66)], mix(body.colours["cap"], DARK, 0.4), 0.4, width=6
    )


FORMS: dict[str, Callable[[Brush, Body], None]] = {
    "cap-and-stipe": capped,
    "shelf": _shelf,
    "bracket": _bracket,
    "rosette": _rosette,
    "coral": _coral,
    "club": _club,
    "spine-beard": _spine_beard,
    "ball": _ball,
    "egg": _egg,
    "star": _star,
    "cup": _cup,
    "morel": _morel,
    "saddle": _saddle,
    "trumpet": funnel,
    "jelly": _jelly,
    "crust": _crust,
}
