"""Sizes drawn to scale beside a bar of true millimetres."""

from __future__ import annotations

import math
from dataclasses import dataclass
from xml.sax.saxutils import escape

__all__ = ["PAPER_MM", "reduction", "silhouette", "size_bar"]

#: What fits on a small page or a phone held upright, full size [mm].
PAPER_MM = 150.0
#: Divisors for what does not fit; the same steps as on maps.
_REDUCTIONS = (1, 2, 5, 10, 20, 50)
_MARGIN_MM = 4.0


def reduction(longest_mm: float, room_mm: float = PAPER_MM) -> int:
    """Return n of the scale 1 : n at which a length fits: 1 for full size, otherwise 2, 5, 10, 20 or 50.

    ValueError for a length that is not above 0 or that does not fit at 1 : 50.
    """
    if not (math.isfinite(longest_mm) and longest_mm > 0):
        raise ValueError(f"reduction: 'longest_mm' must be above 0 [mm], got {longest_mm!r}")
    for n in _REDUCTIONS:
        if longest_mm / n <= room_mm:
            return n
    raise ValueError(f"reduction: 'longest_mm' must be at most {room_mm * _REDUCTIONS[-1]:g} [mm], got {longest_mm!r}")


@dataclass(frozen=True, slots=True)
class _Ruler:
    """A ruler from 0 to ``end_mm`` of the thing itself, drawn at 1 : ``n``."""

    end_mm: float
    n: int

    def paper(self, mm: float) -> float:
        """Return where a length falls on the paper [mm]."""
        return _MARGIN_MM + mm / self.n

    def ink(self, y: float) -> str:
        """Ink the ruler with its ticks at a height [mm]."""
        step = _tick_mm(self.n)
        ticks = [f"M{_n(self.paper(0))} {_n(y)}H{_n(self.paper(self.end_mm))}"]
        labels: list[str] = []
        for k in range(round(self.end_mm / step) + 1):
            long = 3.0 if k % 10 == 0 else 2.2 if k % 5 == 0 else 1.3
            ticks.append(f"M{_n(self.paper(k * step))} {_n(y)}v{_n(long)}")
            if k % 10 == 0:
                unit = " mm" if k * step >= self.end_mm else ""
                labels.append(_text(self.paper(k * step), y + 6, f"{k * step:g}{unit}"))
        return f'<path stroke-width=".25" d="{"".join(ticks)}"/>' + "".join(labels)


def size_bar(low_mm: float, high_mm: float, low_extreme_mm: float, high_extreme_mm: float, label: str = "") -> str:
    """Return a size range above a millimetre bar, drawn to scale, as a standalone SVG.

    One unit of the drawing is one millimetre of CSS and of paper. What is longer than `PAPER_MM` is drawn
    reduced, and the drawing says so ("1 : n", beside the bar and in its title).

    Parameters
    ----------
    low_mm, high_mm : float
        The usual range: a thick bar [mm].
    low_extreme_mm, high_extreme_mm : float
        The extremes: a thin line [mm]; 0 <= low_extreme <= low <= high <= high_extreme.
    label : str
        What a screen reader says, in the language of the page; "" leaves the scale alone.

    Raises
    ------
    ValueError
        Where the sizes are not in this order.
    """
    if not 0 <= low_extreme_mm <= low_mm <= high_mm <= high_extreme_mm or not math.isfinite(high_extreme_mm):
        raise ValueError(
            "size_bar: sizes must be ordered, 0 <= low_extreme <= low <= high <= high_extreme [mm], "
            f"got {low_extreme_mm!r}, {low_mm!r}, {high_mm!r}, {high_extreme_mm!r}"
        )
    n = reduction(high_extreme_mm)
    ruler = _Ruler(_ruler_end(high_extreme_mm, n), n)
    a, b, c, d = (_n(ruler.paper(mm)) for mm in (low_extreme_mm, low_mm, high_mm, high_extreme_mm))
    body = (
        f'<path stroke-width=".5" d="M{a} 4H{d}M{a} 2.8v2.4M{d} 2.8v2.4"/>'
        f'<path stroke-width="2.6" d="M{b} 4H{c}"/>' + ruler.ink(8)
    )
    width = ruler.paper(ruler.end_mm) + _MARGIN_MM
    if n > 1:
        body += _text(ruler.paper(ruler.end_mm) + 2, 4.8, _scale(n), "start")
        width += 10
    return _frame(width, 15.5, _title(label, n), body)


def silhouette(cap_mm: float, stipe_length_mm: float, stipe_width_mm: float, label: str = "") -> str:
    """Return the outline of a cap on its stipe, to scale beside a millimetre bar, as a standalone SVG.

    Cap width, stipe length (from the cap down) and stipe width [mm], each above 0; ValueError otherwise.
    What is wider or taller than `PAPER_MM` is drawn reduced, and the drawing says so ("1 : n").
    """
    for name, value in (("cap_mm", cap_mm), ("stipe_length_mm", stipe_length_mm), ("stipe_width_mm", stipe_width_mm)):
        if not (math.isfinite(value) and value > 0):
            raise ValueError(f"silhouette: {name!r} must be above 0 [mm], got {value!r}")
    wide = max(cap_mm, stipe_width_mm * 1.2)
    n = reduction(max(wide, stipe_length_mm + cap_mm * 0.38))
    ruler = _Ruler(_ruler_end(wide, n), n)
    middle, cap, stipe, half = ruler.paper(ruler.end_mm / 2), cap_mm / n, stipe_length_mm / n, stipe_width_mm / n / 2
    rise, top = cap * 0.38, 2.0
    under, foot = top + rise, top + rise + stipe
    body = (
        f'<path stroke-width=".5" d="M{_n(middle - cap / 2)} {_n(under)}'
        f"C{_n(middle - cap * 0.46)} {_n(under - rise * 1.33)} {_n(middle + cap * 0.46)} {_n(under - rise * 1.33)} "
        f'{_n(middle + cap / 2)} {_n(under)}Z"/>'
        f'<path stroke-width=".5" d="M{_n(middle - half)} {_n(under)}V{_n(foot)}H{_n(middle + half)}V{_n(under)}"/>'
    )
    body += ruler.ink(foot + 4)
    width = ruler.paper(ruler.end_mm) + _MARGIN_MM
    if n > 1:
        body += _text(ruler.paper(ruler.end_mm) + 2, foot + 5, _scale(n), "start")
        width += 10
    return _frame(width, foot + 11.5, _title(label, n), body)


def _tick_mm(n: int) -> float:
    """Return the distance between ticks on the thing itself [mm]; on paper it is 1 mm, or 2 where that is rounder."""
    return {1: 1.0, 2: 2.0, 5: 10.0, 10: 10.0, 20: 20.0, 50: 100.0}[n]


def _ruler_end(longest_mm: float, n: int) -> float:
    whole = _tick_mm(n) * 10
    return max(whole, math.ceil(longest_mm / whole - 1e-9) * whole)


def _scale(n: int) -> str:
    return f"1 : {n}"


def _title(label: str, n: int) -> str:
    return " ".join(part for part in (label, f"({_scale(n)})" if label else _scale(n)) if part)


def _text(x: float, y: float, words: str, anchor: str = "middle") -> str:
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" font-family="sans-serif" font-size="2.8" text-anchor="{anchor}" '
        f'fill="currentColor" stroke="none">{escape(words)}</text>'
    )


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _frame(width: float, height: float, title: str, body: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(width)} {_n(height)}" width="{_n(width)}mm" '
        f'height="{_n(height)}mm" fill="none" stroke="currentColor" stroke-linejoin="round" '
        f'role="img"><title>{escape(title)}</title>{body}</svg>'
    )
