"""Every kind of page against WCAG 2.2 A and AA by axe-core, on phone and desk, light and dark; reflow, large text."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from browsing import DESK, PHONE, Screen, Visitor
from playwright.sync_api import Page
from visits import ALIKE, KINDS, examples, filled

#: WCAG 2.2 levels A and AA (W3C Recommendation, 12 December 2024) under the names that axe-core gives its rules.
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
#: 2.5.8 Target Size (Minimum) is off in axe-core unless it is asked for.
WHOLE = {
    "resultTypes": ["violations"],
    "runOnly": {"type": "tag", "values": TAGS},
    "rules": {"target-size": {"enabled": True}},
}
#: What alone depends on the colours, once the rest of a page was checked.
COLOURS = {
    "resultTypes": ["violations"],
    "runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]},
}
#: Everything on either screen and in either scheme; the colours once more where these two meet the other way round.
LOOKS = ((PHONE, "light", WHOLE), (DESK, "dark", WHOLE), (PHONE, "dark", COLOURS), (DESK, "light", COLOURS))
#: Of what is alike and lies in the same kind of list, this many stand for all.
MOST_ALIKE = 8
#: 1.4.10 Reflow: this width [CSS px] without scrolling in two directions.
REFLOW = 320


@pytest.fixture(scope="session")
def ids(season: Path) -> dict[str, str]:
    return examples(season)


@pytest.fixture
def page(visitor: Visitor, season_app: str) -> Page:
    plain = Screen("any", 390, 844, touch=False)
    page = visitor.open(season_app, plain)
    visitor.provoke(404)
    return page


def opened(page: Page) -> None:
    """Open whatever can be unfolded."""
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")


def shortened(page: Page) -> None:
    """Keep the first of what one template repeats: a ledger of 127 lines would take axe-core a minute.

    Drawings that are hidden from screen readers are emptied; axe-core judges nothing within them.
    """
    page.evaluate(
        """most => {
          const alike = 'li, tr, option, label.choice, label.pill, dt, dd, dl > div, article';
          const kind = e => e.tagName + '.' + e.className;
          const seen = {};
          for (const e of [...document.querySelectorAll('main *')].filter(e => e.matches(alike) && e.isConnected)) {
            const key = kind(e.parentElement) + ' > ' + kind(e);
            seen[key] = (seen[key] || 0) + 1;
            if (seen[key] > most) e.remove();
          }
          document.querySelectorAll('svg[aria-hidden=true]').forEach(svg => svg.replaceChildren());
        }""",
        MOST_ALIKE,
    )


def violations(page: Page, options: dict[str, Any]) -> list[str]:
    """Return what axe-core finds wrong, one line for each place."""
    found = Axe().run(page, options=options).response["violations"]
    return [
        f"{v['id']}: {n['target']} {n['html'][:160]} ({n['failureSummary'][:300]})" for v in found for n in v["nodes"]
    ]


@pytest.mark.parametrize("kind", [*KINDS, *ALIKE])
def test_a_page_has_no_fault_that_axe_finds(page: Page, ids: dict[str, str], kind: str) -> None:
    page.goto(filled(kind, ids))
    opened(page)
    shortened(page)
    wrong = []
    for screen, scheme, options in LOOKS if kind in KINDS else LOOKS[:2]:
        page.set_viewport_size({"width": screen.width, "height": screen.height})
        page.emulate_media(color_scheme=scheme)
        wrong += [f"{screen.name} {scheme}: {line}" for line in violations(page, options)]

    assert not wrong, f"{page.url}\n" + "\n".join(wrong)


@pytest.mark.parametrize("kind", [*KINDS, *ALIKE])
def test_a_page_reflows_and_bears_large_text(page: Page, ids: dict[str, str], kind: str) -> None:
    page.set_viewport_size({"width": REFLOW, "height": 640})
    page.goto(filled(kind, ids))
    opened(page)

    assert not sticking_out(page), f"{page.url} at {REFLOW} px"

    page.set_viewport_size({"width": 1280, "height": 900})
    page.evaluate("document.documentElement.style.fontSize = '200%'")

    assert not sticking_out(page), f"{page.url} with text at 200 %"
    assert not cut_off(page), f"{page.url} with text at 200 %"


def test_faults_that_are_put_into_a_page_are_found(page: Page) -> None:
    page.goto("/ill")
    assert not sticking_out(page)
    page.evaluate(
        """() => {
          const main = document.getElementById('main');
          for (const word of ['one', 'two']) {
            const button = main.appendChild(document.createElement('button'));
            button.textContent = word;
            Object.assign(button.style, { minHeight: '0', height: '12px', width: '12px', padding: '0', margin: '0' });
          }
          const faint = main.appendChild(document.createElement('p'));
          faint.textContent = 'faint';
          Object.assign(faint.style, { color: '#ccc', background: '#fff', width: '3000px' });
          const cut = main.appendChild(document.createElement('p'));
          cut.textContent = 'cut off by its own edge';
          Object.assign(cut.style, { width: '20px', whiteSpace: 'nowrap', overflow: 'hidden' });
          main.appendChild(document.createElement('input'));
        }"""
    )
    found = {line.split(":")[0] for line in violations(page, WHOLE)}

    assert {"color-contrast", "target-size", "label"} <= found
    assert {"color-contrast"} == {line.split(":")[0] for line in violations(page, COLOURS)}
    assert len(sticking_out(page)) == 1
    assert any("cut off" in line for line in cut_off(page))


def sticking_out(page: Page) -> list[str]:
    """Return the elements that make the page scroll sideways: what scrolls within its own frame does not count."""
    return page.evaluate(
        """() => {
          const wide = document.documentElement.clientWidth;
          if (document.documentElement.scrollWidth <= wide) return [];
          const framed = e => { for (let p = e.parentElement; p; p = p.parentElement)
            if (getComputedStyle(p).overflowX !== 'visible') return true; return false; };
          const out = [...document.querySelectorAll('body *')]
            .filter(e => e.getBoundingClientRect().right > wide + 1 && !framed(e))
            .map(e => e.outerHTML.slice(0, 120));
          return out.length ? out : ['the page is ' + document.documentElement.scrollWidth + ' px wide'];
        }"""
    )


def cut_off(page: Page) -> list[str]:
    """Return the elements whose words are cut off by their own edge."""
    return page.evaluate(
        """() => [...document.querySelectorAll('main *, header *, footer *')]
          .filter(e => e.childElementCount === 0 && e.textContent.trim() && e.checkVisibility())
          .filter(e => !e.closest('.hidden, option, select, datalist, svg, .voucher'))
          .filter(e => getComputedStyle(e).overflow !== 'visible')
          .filter(e => e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1)
          .map(e => e.outerHTML.slice(0, 120))"""
    )
