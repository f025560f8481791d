"""One line drawing of one state of one character."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from xml.sax.saxutils import escape

__all__ = ["BOX", "Drawing", "Drawings"]

#: Side of the square in which every drawing is made [drawing units].
BOX = 96

#: What a module of drawings offers: character, state, and the function that draws its body.
Drawings = Mapping[str, Mapping[str, Callable[[], str]]]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A line drawing; ``body`` is SVG without its frame, in a square of 96 units.

    ``title`` is what a screen reader says; a caller may pass its own, in the language of the page.
    """

    character: str
    state: str
    title: str
    body: str

    def svg(self, size: int = BOX, title: str | None = None) -> str:
        """Return the drawing as a standalone SVG element.

        Parameters
        ----------
        size : int
            Side of the square [CSS px].
        title : str or None
            What a screen reader says; None for the drawing's own title, "" where the text beside it says it.
        """
        said = self.title if title is None else title
        name = f'role="img"><title>{escape(said)}</title>' if said else 'aria-hidden="true">'
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {BOX} {BOX}" width="{size}" height="{size}" '
            f'fill="none" stroke="currentColor" stroke-width="1.6" stroke-linecap="round" stroke-linejoin="round" '
            f"{name}{self.body}</svg>"
        )
