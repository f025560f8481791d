"""Getting about a page by keyboard alone, and seeing where one is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Locator, Page

#: More stops than this between two things that belong together are a wall for whoever uses the keyboard.
MOST_STOPS = 150
#: WCAG 2.2, 1.4.11 Non-text Contrast: the outline against what is beside it.
LEAST_CONTRAST = 3.0
#: WCAG 2.2, 2.4.13 Focus Appearance: two CSS pixels thick.
LEAST_OUTLINE = 2.0


@dataclass(frozen=True, slots=True)
class Stop:
    """Where the focus stands: what it is, its outline [CSS px] with its contrast, and whether it can be seen."""

    what: str
    outline: float
    contrast: float
    seen: bool


#: Of a box to tick within a card, the card bears the outline.
_WHERE = """() => {
  const at = document.activeElement;
  if (!at || at === document.body) return null;
  const rgb = text => (text.match(/[\\d.]+/g) || [0, 0, 0]).slice(0, 3).map(Number);
  const clear = text => text === 'transparent' || /, 0\\)$/.test(text);
  const linear = v => v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4;
  const bright = c => { const [r, g, b] = c.map(v => linear(v / 255)); return .2126 * r + .7152 * g + .0722 * b; };
  const behind = e => {
    for (let p = e.parentElement; p; p = p.parentElement) {
      const colour = getComputedStyle(p).backgroundColor;
      if (!clear(colour)) return rgb(colour);
    }
    return [255, 255, 255];
  };
  const bearers = [at, at.closest('label'), at.closest('.choice, .pill')].filter(Boolean);
  const style = e => getComputedStyle(e);
  const thick = e => style(e).outlineStyle === 'none' ? 0 : parseFloat(style(e).outlineWidth);
  const best = bearers.reduce((a, b) => thick(b) > thick(a) ? b : a);
  const [x, y] = [bright(rgb(getComputedStyle(best).outlineColor)), bright(behind(best))].sort((a, b) => b - a);
  const box = best.getBoundingClientRect();
  const inside = box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth && box.width > 0;
  const cx = Math.min(Math.max(box.left + box.width / 2, 1), innerWidth - 1);
  const cy = Math.min(Math.max(box.top + Math.min(box.height, innerHeight) / 2, 1), innerHeight - 1);
  const top = document.elementFromPoint(cx, cy);
  const inlined = at.getClientRects().length > 1;
  return { what: at.outerHTML.slice(0, 140), outline: thick(best), contrast: (x + .05) / (y + .05),
    seen: inside && (inlined || (top !== null && (best.contains(top) || top.contains(best)))) };
}"""


def standing_at(page: Page) -> Stop | None:
    """Return where the focus stands, None where it stands nowhere."""
    found: dict[str, Any] | None = page.evaluate(_WHERE)
    return None if found is None else Stop(**found)


def tab(page: Page, *, back: bool = False) -> Stop | None:
    """Go on by one stop; whoever stops somewhere must see where."""
    page.keyboard.press("Shift+Tab" if back else "Tab")
    stop = standing_at(page)
    if stop is not None:
        assert stop.seen, f"the focus is out of sight or covered at {stop.what}"
        assert stop.outline >= LEAST_OUTLINE, f"the focus has no outline at {stop.what}"
        assert stop.contrast >= LEAST_CONTRAST, f"the outline is too faint ({stop.contrast:.1f}) at {stop.what}"
    return stop


def tab_to(page: Page, wanted: Locator) -> int:
    """Go on until the focus stands on something; returns how many stops that took."""
    for n in range(1, MOST_STOPS + 1):
        tab(page)
        if wanted.evaluate("e => e === document.activeElement"):
            return n
    raise AssertionError(f"{wanted} was not reached in {MOST_STOPS} stops")
