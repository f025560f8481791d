"""What the browser tests share: sizes of screens, a page that is watched, and the app served as a person starts it."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Locator, Page, Request, Response

#: Flags of the browser: no window, and no request but those of the pages.
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--font-render-hinting=none",
]


@dataclass(frozen=True, slots=True)
class Screen:
    """A screen: its width and height [CSS px], and whether it is touched."""

    name: str
    width: int
    height: int
    touch: bool

    def options(self) -> dict[str, Any]:
        """Return what a browser context is told of it."""
        size = {"width": self.width, "height": self.height}
        return {"viewport": size, "screen": size, "has_touch": self.touch, "is_mobile": self.touch}


PHONE = Screen("phone", 390, 844, touch=True)
DESK = Screen("desk", 1280, 900, touch=False)


@dataclass
class Watch:
    """Notes what must not happen while pages of one address are used."""

    address: str
    complaints: list[str] = field(default_factory=list)
    #: Answers that the test itself provokes, such as 422 for a mistake.
    provoked: set[int] = field(default_factory=set)

    def over(self, context: BrowserContext) -> None:
        """Listen to every page of a context."""
        context.on("console", self._said)
        context.on("weberror", lambda e: self.complaints.append(f"script error: {e.error}"))
        context.on("request", self._asked)
        context.on("response", self._answered)

    def _said(self, message: ConsoleMessage) -> None:
        # The status of a refused request is judged in _answered, where the test can allow it.
        if message.type == "error" and not message.text.startswith("Failed to load resource"):
            self.complaints.append(f"console: {message.text}")

    def _asked(self, request: Request) -> None:
        to = urlsplit(request.url)
        if to.scheme not in ("data", "blob", "about") and f"{to.scheme}://{to.netloc}" != self.address:
            self.complaints.append(f"request to another host: {request.url}")

    def _answered(self, response: Response) -> None:
        if response.status >= 400 and response.status not in self.provoked:
            self.complaints.append(f"{response.status} for {response.request.method} {response.url}")


@dataclass
class Visitor:
    """Opens pages as a person would; every page is watched to the end."""

    browser: Browser
    watches: list[Watch] = field(default_factory=list)
    contexts: list[BrowserContext] = field(default_factory=list)

    def open(self, address: str, screen: Screen, *, javascript: bool = True, dark: bool = False, **more: Any) -> Page:
        """Return a fresh page at an address of the app."""
        context = self.browser.new_context(
            **{**screen.options(), **more},
            base_url=address,
            java_script_enabled=javascript,
            color_scheme="dark" if dark else "light",
            reduced_motion="reduce",
            locale="en-GB",
        )
        context.set_default_timeout(20_000)
        watch = Watch(address)
        watch.over(context)
        self.contexts.append(context)
        self.watches.append(watch)
        return context.new_page()

    def provoke(self, *statuses: int) -> None:
        """Allow answers that the test provokes itself."""
        self.watches[-1].provoked.update(statuses)

    def close(self) -> list[str]:
        """Close everything, and return what was complained of."""
        for context in self.contexts:
            context.close()
        return [c for w in self.watches for c in w.complaints]


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Serve a data folder with ``trug serve``; gives the address. Fails where the server's log holds a trace."""
    log = folder.parent / f"{folder.name}.log"
    command = [sys.executable, "-m", "trug", "serve", "--no-browser", "--port", "0", "--data", str(folder)]
    with log.open("wb") as err, subprocess.Popen(command, stdout=subprocess.PIPE, stderr=err, text=True) as process:
        try:
            assert process.stdout is not None
            first = process.stdout.readline()
            found = re.search(r"http://127\.0\.0\.1:\d+", first)
            assert found, f"trug serve did not say its address: {first!r} {log.read_text()}"
            yield found[0]
        finally:
            process.terminate()
    assert "Traceback" not in log.read_text(), log.read_text()


def press(page: Page, what: Locator) -> None:
    """Tap on a screen that is touched, click elsewhere."""
    if page.evaluate("navigator.maxTouchPoints > 0"):
        what.tap()
    else:
        what.click()


def settle(page: Page) -> None:
    """Wait until a form that the page's script sends has been answered and put into the page."""
    page.wait_for_load_state("load")
    page.wait_for_function("!document.querySelector('form[aria-busy=\"true\"]')")
