"""Pictures of the app for the docs, taken while the tour is walked: numbered, small, named for what they show."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from browsing import DESK, Screen
from PIL import Image
from playwright.sync_api import Page

#: No picture is larger [bytes].
MOST_BYTES = 150_000


@dataclass
class Pictures:
    """Takes pictures into a folder; takes none where there is no folder."""

    folder: Path | None
    screen: Screen
    taken: int = 0

    def options(self) -> dict[str, Any]:
        """Return what the browser is told beside the screen: pictures of a phone are twice as fine."""
        return {} if self.folder is None or self.screen is DESK else {"device_scale_factor": 2}

    def take(self, page: Page, shows: str, *, on: Screen | None = None, at: str = "", dark: bool = False) -> None:
        """Take a picture of what the screen shows, with ``at`` scrolled to the top; ``on`` restricts it to a screen."""
        if self.folder is None or on not in (None, self.screen):
            return
        self.taken += 1
        self.folder.mkdir(parents=True, exist_ok=True)
        page.emulate_media(color_scheme="dark" if dark else "light")
        top = "([at]) => scrollTo(0, at ? document.querySelector(at).getBoundingClientRect().top + scrollY - 12 : 0)"
        page.evaluate(top, [at])
        page.wait_for_timeout(150)
        name = f"{self.screen.name}-{self.taken:02d}-{shows}{'-dark' if dark else ''}.png"
        (self.folder / name).write_bytes(small_png(page.screenshot()))
        page.emulate_media(color_scheme="light")


def small_png(data: bytes) -> bytes:
    """Return a picture as PNG with few enough colours to stay small."""
    picture = Image.open(io.BytesIO(data)).convert("RGB")
    for colours in (256, 128, 64, 32, 16):
        out = io.BytesIO()
        picture.quantize(colours, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
        if out.tell() <= MOST_BYTES:
            break
    return out.getvalue()
