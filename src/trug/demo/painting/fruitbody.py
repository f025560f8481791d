"""A fruitbody with a cap: cap, fertile side, stipe, ring and volva, seen from the side and a little from below."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from trug.demo.painting.brush import Brush, Colour, Field, Mask, Points, column, dome, ellipse, flat, mix

__all__ = ["Body", "cap_height", "capped", "funnel", "stipe_outline"]

DARK: Colour = (38, 28, 20)
VEIL: Colour = (240, 236, 222)
#: By cap shape: height over the rim for x from -1 to 1, and how open the underside is, in half widths of the cap.
_PROFILES: dict[str, tuple[Callable[[Points], Points], float]] = {
    "rounded": (lambda x: 1.0 * _bow(x, 2), 0.08),
    "egg-shaped": (lambda x: 1.9 * _bow(x, 2.2) ** 1.1, 0.05),
    "conical": (lambda x: 1.5 * (1 - np.sqrt(x * x + 0.006)).clip(0) + 0.1 * _bow(x, 8), 0.1),
    "bell": (lambda x: 1.15 * np.exp(-((x / 0.6) ** 2)) + 0.16 * _bow(x, 6) - 0.07, 0.1),
    "convex": (lambda x: 0.66 * _bow(x, 2.2), 0.17),
    "umbonate": (lambda x: 0.36 * _bow(x, 2.4) + 0.27 * np.exp(-((x / 0.22) ** 2)), 0.17),
    "flat": (lambda x: 0.34 * _bow(x, 4), 0.17),
    "depressed": (lambda x: 0.4 * _bow(x, 6) - 0.2 * np.exp(-((x / 0.42) ** 2)), 0.17),
}


def _bow(x: Points, power: float) -> Points:
    return np.sqrt(np.clip(1 - np.abs(x) ** power, 0, 1))


def cap_height(shape: str, x: Points) -> Points:
    """Return the height of a cap over its rim at x [-1..1], in half widths of the cap."""
    return np.maximum(_PROFILES.get(shape, _PROFILES["convex"])[0](x), 0)


@dataclass(frozen=True, slots=True)
class Body:
    """One fruitbody to paint: where its foot stands, its sizes [pixels], how it leans, and its states."""

    x: float
    y: float
    cap: float
    stipe: float
    thick: float
    lean: float
    states: dict[str, str]
    colours: dict[str, Colour]

    def is_(self, character: str, *states: str) -> bool:
        """Whether a character has one of these states."""
        return self.states.get(character) in states

    def top(self) -> tuple[float, float]:
        """Return where stipe and cap meet."""
        return self.x + self.lean * self.stipe, self.y - self.stipe


def stipe_outline(body: Body, *, foot: bool = True) -> Points:
    """Return the outline of the stipe, its base shaped as the state of ``stipe_base`` says."""
    t = np.linspace(0, 1, 26)  # 0 at the foot
    wide = body.thick * (1.06 - 0.12 * t)
    base = body.states.get("stipe_base", "")
    if foot and base == "clubbed":
        wide = wide + body.thick * 0.75 * np.exp(-((t / 0.3) ** 2))
    elif foot and base in ("round-bulb", "rimmed-bulb"):
        wide = wide + body.thick * 0.95 * np.exp(-(((t - 0.05) / 0.1) ** 2))
    elif foot and base in ("tapered", "rooting"):
        wide = wide * (1 - 0.7 * np.exp(-t / 0.14))
    middle = body.x + body.lean * body.stipe * (0.25 * t + 0.75 * t**2)
    y = body.y - body.stipe * t
    round_foot = np.stack(
        [body.x + wide[0] * np.array([0.6, 0, -0.6]), body.y + body.thick * np.array([0.22, 0.3, 0.22])], 1
    )
    return np.vstack([np.stack([middle - wide, y], 1)[::-1], round_foot[::-1], np.stack([middle + wide, y], 1)])


def capped(brush: Brush, body: Body) -> None:
    """Paint a cap on a stipe."""
    if body.is_("cap_shape", "funnel"):
        funnel(brush, body)
        return
    shape = body.states.get("cap_shape", "convex")
    open_ = _PROFILES.get(shape, _PROFILES["convex"])[1]
    shut = body.is_("stage", "button")
    x, y = body.top()
    if not shut:
        _underside(brush, body, x, y, body.cap, body.cap * open_)
    _stipe(brush, body)
    across = np.linspace(-1, 1, 41)
    past = 0.05 * np.sin(across * 17 + body.x) if body.is_("stage", "past") else 0 * across
    upper = np.stack([x + body.cap * across, y - body.cap * (cap_height(shape, across) + past * np.abs(across))], 1)
    rim = -open_ * 0.92 if not shut else 0.12
    lower = np.stack([x + body.cap * across, y + body.cap * rim * _bow(across, 2)], 1)
    cap = brush.fill(np.vstack([upper, lower[::-1]]), body.colours["cap"], _cap_light(body), grain=0.07)
    _cap_surface(brush, body, cap, (x, y - body.cap * float(cap_height(shape, np.zeros(1))[0])), shape)


def funnel(brush: Brush, body: Body) -> None:
    """Paint a funnel or trumpet, seen a little from above; its fertile side runs down outside."""
    x, y = body.top()
    t = np.linspace(0, 1, 24)
    inner = body.thick * 0.9
    wide = inner + (body.cap - inner) * (1 - t) ** 1.9
    down = y + (body.stipe) * t
    middle = x - body.lean * body.stipe * t
    foot = np.array([[body.x + 0.5 * inner, body.y + 0.3 * inner], [body.x - 0.5 * inner, body.y + 0.3 * inner]])
    outline = np.vstack([np.stack([middle + wide, down], 1), foot, np.stack([middle - wide, down], 1)[::-1]])
    lower = mix(body.colours["hymenophore"], body.colours["stipe"], 0.8)
    cone = brush.fill(outline, body.colours["hymenophore"], column, grain=0.06, to=lower)
    if not body.is_("hymenophore", "smooth"):
        few = body.is_("hymenophore", "folds")
        ends = np.linspace(-0.97, 0.97, 17 if few else 31)
        runs = [np.stack([middle + wide * e, down], 1)[: brush.rng.integers(9, 18)] for e in ends]
        ink = mix(body.colours["hymenophore"], DARK, 0.6)
        brush.lines(cone, runs, ink, 0.7, width=4 if few else 2)
    rim = ellipse(x, y, body.cap, body.cap * 0.27, wobble=0.035, seed=body.x)

    def hollow(u: Field, v: Field) -> Field:
        return (1.08 - 0.5 * np.exp(-((u / 0.5) ** 2) - ((v - 0.15) / 0.55) ** 2) - 0.08 * u).astype(np.float32)

    brush.fill(rim, body.colours["cap"], hollow, grain=0.08, edge=0.5)


def _underside(brush: Brush, body: Body, x: float, y: float, rx: float, ry: float) -> None:
    colour = body.colours["hymenophore"]
    within = brush.fill(ellipse(x, y, rx, ry), mix(colour, DARK, 0.12), flat, grain=0.03)
    ink = mix(colour, DARK, 0.55)
    if body.is_("hymenophore", "pores", "maze"):
        a, r = brush.rng.uniform(0, 6.3, 260), np.sqrt(brush.rng.uniform(0.05, 1, 260))
        spots = np.stack([x + rx * r * np.cos(a), y + ry * r * np.sin(a)], 1)
        mouth = ellipse(0, 0, 1.7, 1.1, n=6)
        mouths = [mouth + p for p in spots]
        brush.patches(within, mouths, ink, 0.8)
        return
    if body.is_("hymenophore", "smooth"):
        return
    count = 40 if body.is_("hymenophore", "folds") else 84
    angles = np.linspace(0, 2 * np.pi, count, endpoint=False)
    rays = [[(x + 0.1 * rx * np.cos(a), y), (x + rx * np.cos(a), y + ry * np.sin(a))] for a in angles]
    brush.lines(within, rays, ink, 0.75, width=2)
    if body.is_("hymenophore", "spines"):
        low = np.linspace(-0.9, 0.9, 46)
        spines = [
            [(x + rx * e, y + ry * 0.6 * np.sqrt(1 - e * e)), (x + rx * e, y + ry * np.sqrt(1 - e * e) + 9)]
            for e in low
        ]
        reach = np.array(spines).reshape(-1, 2)
        brush.lines(brush.everywhere(reach), spines, mix(colour, DARK, 0.2), width=4)


def _stipe(brush: Brush, body: Body) -> None:
    colour = body.colours["stipe"]
    outline = stipe_outline(body)
    foot = mix(colour, (90, 60, 34), 0.55 if body.is_("stipe_darkening", "darker-below") else 0.12)
    within = brush.fill(outline, colour, column, grain=0.06, to=foot)
    _stipe_surface(brush, body, within)
    if body.is_("volva", "sac", "collar", "rings", "crumbs"):
        _volva(brush, body)
    if not body.is_("ring", "absent") and "ring" in body.states and not body.is_("stage", "button"):
        _ring(brush, body)


def _stipe_surface(brush: Brush, body: Body, within: Mask | None) -> None:
    surface = body.states.get("stipe_surface", "")
    ink = mix(body.colours["stipe"], (96, 66, 40), 0.6)
    rng, thick = brush.rng, body.thick
    x, top = body.top()
    if surface in ("banded", "scaly", "shaggy", "dotted"):
        marks = []
        for _ in range(46):
            t = rng.uniform(0.02, 0.92)
            mx, my = body.x + body.lean * body.stipe * t**2 + rng.uniform(-1, 1) * thick, body.y - body.stipe * t
            wide = thick * (0.35 if surface == "banded" else 0.16)
            marks.append([(mx - wide, my), (mx, my + 0.7 * wide), (mx + wide, my - 0.2 * wide)])
        brush.lines(within, marks, ink, 0.6, width=4)
    elif surface == "netted":
        net = []
        for k in np.linspace(-4, 14, 19):
            for side in (1, -1):
                net.append([(x + side * thick * (s * 2 - 1), top + thick * (k * 0.45 + s * 1.4)) for s in (0, 0.5, 1)])
        pale = mix(body.colours["stipe"], (250, 240, 214), 0.65)
        brush.lines(within, net, pale, 0.8, width=3)
    else:
        runs = []
        for e in rng.uniform(-0.9, 0.9, 9):
            runs.append(
                [(body.x + body.lean * body.stipe * t**2 + e * thick, body.y - body.stipe * t) for t in (0.1, 0.5, 0.9)]
            )
        brush.lines(within, runs, ink, 0.35, width=2)


def _ring(brush: Brush, body: Body) -> None:
    """Hang the ring a quarter of the way down."""
    kind = body.states["ring"]
    t = 0.74
    x, y = body.x + body.lean * body.stipe * (0.25 * t + 0.75 * t**2), body.y - body.stipe * t
    wide, drop = body.thick * 1.75, body.thick * 1.5
    colour = mix(body.colours["stipe"], VEIL, 0.6)
    if kind == "cobweb":
        cx, cy = body.top()
        threads = [[(cx + body.cap * 0.9 * e, cy), (x + body.thick * e, y + 8)] for e in np.linspace(-1, 1, 23)]
        reach = np.array(threads).reshape(-1, 2)
        brush.lines(brush.everywhere(reach), threads, (232, 222, 204), 0.55, width=2)
        return
    if kind == "zone":
        wisps = [
            ellipse(x + e, y + brush.rng.normal(0, 3), 7, 2.5, n=8) for e in np.linspace(-body.thick, body.thick, 14)
        ]
        brush.patches(brush.everywhere(np.vstack(wisps)), wisps, mix(colour, (110, 70, 40), 0.6), 0.6)
        return
    if kind == "sheath":
        drop, wide = body.stipe * 0.72, body.thick * 1.35
    elif kind == "narrow":
        drop, wide = body.thick * 0.45, body.thick * 1.6
    across = np.linspace(-1, 1, 31)
    hem = (
        y
        + drop
        + (0.09 * drop * np.sin(across * 13 + body.x) if kind != "sheath" else 0)
        + 0.14 * drop * _bow(across, 2)
    )
    spread = wide if kind != "sheath" else body.thick * 1.25
    upper = np.stack([x + body.thick * 1.05 * across, y + 0 * across], 1)
    lower = np.stack([x - (0 if kind != "sheath" else body.lean * drop) + spread * across, hem], 1)
    within = brush.fill(np.vstack([upper, lower[::-1]]), colour, column, grain=0.05, edge=0.55)
    pleats = [[upper[i], lower[i]] for i in range(2, 30, 3)]
    brush.lines(within, pleats, mix(colour, DARK, 0.5), 0.4, width=2)
    if kind == "double":
        brush.fill(
            ellipse(x, y + 2, wide * 0.95, body.thick * 0.42), mix(colour, (255, 255, 250), 0.3), column, edge=0.55
        )


def _volva(brush: Brush, body: Body) -> None:
    kind, thick = body.states["volva"], body.thick
    colour = body.colours.get("volva", VEIL)
    if kind == "sac":
        across = np.linspace(-1, 1, 25)
        high = thick * (2.3 + 0.5 * np.sin(across * 7 + body.x))
        upper = np.stack([body.x + 1.95 * thick * across, body.y - high], 1)
        a = np.linspace(0, np.pi, 21)
        bag = np.stack([body.x + 2.25 * thick * np.cos(a), body.y - 0.7 * thick + 1.35 * thick * np.sin(a)], 1)
        brush.fill(np.vstack([upper, bag]), colour, dome, grain=0.07, edge=0.5)
        return
    if kind == "crumbs":
        for _ in range(16):
            cx, cy = body.x + brush.rng.normal(0, 1.5) * thick, body.y + brush.rng.uniform(-0.8, 0.3) * thick
            brush.fill(ellipse(cx, cy, thick * 0.2, thick * 0.16), colour, dome, edge=0.3)
        return
    for k in range(1 if kind == "collar" else 3):
        band = ellipse(body.x, body.y - thick * (1.0 + 0.75 * k), thick * (1.95 - 0.28 * k), thick * 0.3, wobble=0.05)
        brush.fill(band, colour, column, grain=0.1, edge=0.5)


def _cap_light(body: Body) -> Callable[[Field, Field], Field]:
    pattern = body.states.get("cap_pattern", "plain")

    def light(u: Field, v: Field) -> Field:
        bright: Field = dome(u, v)
        centre = np.exp(-((u / 0.42) ** 2) - ((v + 0.75) / 0.8) ** 2)
        if pattern == "darker-centre":
            bright = (bright - 0.34 * centre).astype(np.float32)
        elif pattern == "pale-centre":
            bright = (bright + 0.2 * centre).astype(np.float32)
        elif pattern in ("zoned", "two-toned"):
            bright = (bright - 0.14 * (np.sin(13 * np.hypot(u, 0.7 * (v + 0.7))) > 0)).astype(np.float32)
        return bright

    return light


def _cap_surface(brush: Brush, body: Body, cap: Mask | None, summit: tuple[float, float], shape: str) -> None:
    """Add warts, scales, fibres or a wet shine to the cap."""
    rng, (x, top) = brush.rng, summit
    rim = body.top()[1]
    colour = body.colours["cap"]
    if body.is_("cap_veil", "white-warts", "coloured-warts", "white-patch"):
        few = body.is_("cap_veil", "white-patch")
        for e in rng.uniform(-0.4, 0.4, 2) if few else np.linspace(-0.9, 0.9, 30) + rng.normal(0, 0.02, 30):
            high = float(cap_height(shape, np.array([e]))[0]) * body.cap
            spot = (x + e * body.cap, rim - high * rng.uniform(0.5 if few else 0.25, 0.95))
            size = body.cap * (0.2 if few else rng.uniform(0.03, 0.075))
            veil = VEIL if not body.is_("cap_veil", "coloured-warts") else mix(colour, (225, 214, 186), 0.6)
            wart = ellipse(*spot, size, size * 0.66, wobble=0.1, seed=spot[0], n=18)
            brush.patches(cap, [wart + 2], DARK, 0.35)
            brush.patches(cap, [wart], veil)
    if body.is_("cap_surface", "scaly", "shaggy"):
        marks = []
        for _ in range(90):
            e, d0 = rng.uniform(-0.95, 0.95), rng.uniform(0.02, 0.95)
            sx, sy, size = (
                x + e * body.cap,
                top + (rim - top) * d0,
                body.cap * (0.035 if body.is_("cap_surface", "scaly") else 0.07),
            )
            marks.append([(sx - size, sy), (sx + e * size * 0.4, sy + size), (sx + size, sy)])
        brush.patches(cap, marks, mix(colour, DARK, 0.5), 0.6)
    if body.is_("cap_surface", "fibrous", "silky") or body.is_("cap_pattern", "streaked"):
        turn = np.linspace(0.12, np.pi / 2, 7)
        sines, cosines = body.cap * np.sin(turn), (rim - top) * np.cos(turn)
        rays = [np.stack([x + e * sines, rim - cosines * 0.97], 1) for e in np.linspace(-1, 1, 47)]
        brush.lines(cap, rays, mix(colour, DARK, 0.5), 0.28, width=2)
    if body.is_("cap_moisture", "slimy", "greasy") or body.is_("cap_surface", "lacquered"):
        shine = ellipse(x - 0.34 * body.cap, top + 0.32 * (rim - top), body.cap * 0.2, body.cap * 0.055, n=24)
        brush.patches(cap, [shine], (255, 255, 250), 0.55)
