"""Coordinates that people type into notes, found so that they do not leave with the text.

Found are decimal degrees (with point, comma or raised point), alone from three decimals on and in pairs from one
decimal more than the grid has; degrees with minutes; degrees marked by a sign, a letter of the compass or a label;
metres on UTM and national grids in pairs; military and British letter grids; open location codes. Not found are names
of places, directions ("200 paces north of the mill") and words that stand for squares: a person reads the text before
it leaves. Two plain numbers with decimals side by side are taken for coordinates even where they are spore sizes
written without a unit: a size lost from a copy does less harm than a place given away.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator

from trug.place.grid import DEFAULT_GRID_DEG, check_grid, decimals_of

__all__ = ["WITHHELD", "coordinates_in", "has_coordinates", "without_coordinates"]

#: What stands where a coordinate stood.
WITHHELD = "[place withheld]"
#: A number alone is taken for a coordinate from this many decimals on (about 100 m).
LONE_DECIMALS = 3

_POINT = "[.·٫．]"
_MARK = "[.,·٫．，]"
_SIGN = "[-+−–]?"
_APART = r"(?:\s*(?:[,;/|&]|%2[Cc]|\band\b|\bund\b)\s*|\s+)"
_UNIT = r"\s*(?:mm|cm|km|m|µm|μm|um|g|kg|ml|l|%)(?![A-Za-z])|\s*[x×]\s*\d"
_SIZES = r"(?!\s*[x×]\s*\d)"
_DEGREE = r"(?:[°º˚]|\s?deg\b)"
_LABEL = r"(?i:lat(?:itude)?|lon(?:g(?:itude)?)?|lng|breite|länge|coord\w*|gps|northing|easting|geo)"
_COMPASS = "[NSEWnsew]"
#: No form is without digits that are next to each other or one sign apart.
_HAS_DIGITS = re.compile(r"\d\D?\d")

#: Forms that are coordinates whatever the grid.
_ALWAYS = (
    # 60° 10' 11.6" and 60 deg 10.2 min
    rf"{_SIGN}(?<!\d)\d{{1,3}}\s*{_DEGREE}\s*\d{{1,2}}(?:{_MARK}\d+)?\s*(?:['′’]|m(?:in)?\b)?"
    rf"(?:\s*\d{{1,2}}(?:{_MARK}\d+)?\s*(?:[\"″”]|''|s(?:ec)?\b))?(?:\s*{_COMPASS}(?![A-Za-z]))?",
    # 60 10 11 N, 60:10.19 N, N 60 10 11, 60d10m11s
    rf"(?<!\d)\d{{1,3}}[\s:d-]+\d{{1,2}}(?:{_MARK}\d+)?(?:[\s:m-]+\d{{1,2}}(?:{_MARK}\d+)?s?)?\s*{_COMPASS}(?![A-Za-z])",
    rf"(?<![A-Z])[NSEW]\s*\d{{1,3}}[\s:d-]+\d{{1,2}}(?:{_MARK}\d+)?(?:[\s:m-]+\d{{1,2}}(?:{_MARK}\d+)?s?)?",
    # 60 10.193, 24 56.304 and 60 10 11, 24 56 18
    rf"(?<!\d)\d{{1,3}}\s+\d{{1,2}}{_MARK}\d+{_APART}{_SIGN}\d{{1,3}}\s+\d{{1,2}}{_MARK}\d+",
    rf"(?<!\d)\d{{1,2}}\s\d{{1,2}}\s\d{{1,2}}(?:{_POINT}\d+)?\s*[,;/]\s*{_SIGN}\d{{1,3}}\s\d{{1,2}}\s\d{{1,2}}(?:{_POINT}\d+)?",
    # 601011N 0245618E
    rf"(?<!\d)\d{{4,7}}(?:{_POINT}\d+)?\s*[NS]\W{{0,3}}\d{{4,7}}(?:{_POINT}\d+)?\s*[EW](?![A-Za-z])",
    # metres on a grid: 385123 6671234
    rf"(?<!\d)\d{{6,7}}(?:{_MARK}\d+)?\s*(?:m?[EN])?{_APART}\d{{6,7}}(?:{_MARK}\d+)?(?!\d)",
    # 35V LG 85123 71234, SU 1234 5678
    r"(?<![A-Za-z\d])\d{1,2}[C-HJ-NP-X]\s?[A-HJ-NP-Z]{2}\s?\d{2,5}\s?\d{2,5}(?!\d)",
    r"(?<![A-Za-z\d])[HNST][A-HJ-Z]\s?\d{3,5}\s?\d{3,5}(?!\d)",
    # open location code
    r"(?<![A-Za-z\d])[2-9CFGHJMPQRVWX]{4,8}\+[2-9CFGHJMPQRVWX]{2,}",
)  # fmt: skip


@functools.lru_cache(maxsize=32)
def _patterns(grid_deg: float, lone_decimals: int) -> tuple[re.Pattern[str], re.Pattern[str], re.Pattern[str]]:
    """Return what is always a coordinate, what is one if in range, and a lone number."""
    least = decimals_of(check_grid(grid_deg)) + 1
    number = rf"(?<!\d){_SIGN}\d{{1,3}}{_MARK}\d{{{least},}}(?!\d)"
    fine = rf"{_SIGN}\d{{1,3}}{_POINT}\d{{{least},}}(?!\d)"
    rough = rf"{_SIGN}\d{{1,3}}{_POINT}\d+(?!\d)"
    comma_fine = rf"{_SIGN}\d{{1,3}}[,，]\d{{{least},}}(?!\d)"
    comma_rough = rf"{_SIGN}\d{{1,3}}[,，]\d+(?!\d)"
    marked = (
        rf"{number}\s*{_DEGREE}(?!\s*[CF]\b)(?:\s*{_COMPASS}(?![A-Za-z]))?",
        rf"{number}\s*{_COMPASS}(?![A-Za-z])",
        rf"(?:(?<![A-Z])[NSEW]|(?<![A-Za-z])[nsew])\s*[:=]?\s*{number}",
        rf"{_LABEL}\W{{0,6}}{number}",
    )
    start = rf"(?<!\d)(?<!\d{_POINT})"
    pairs = tuple(
        rf"{start}(?P<a{n}>{one}){apart}(?P<b{n}>{other}){_SIZES}(?!{_POINT}\d)"
        for n, (one, other, apart) in enumerate(
            [
                (fine, rough, _APART),
                (rough, fine, _APART),
                (comma_fine, comma_rough, _APART),
                (comma_rough, comma_fine, _APART),
            ]
        )
    )
    lone = (
        rf"{start}(?<!\d:)(?P<a>{_SIGN}\d{{1,3}}{_POINT}\d{{{lone_decimals},}})(?!\d)(?!{_POINT}\d)",
        rf"(?<!\d)(?<!\d,)(?P<b>{_SIGN}\d{{1,3}}[,，]\d{{{lone_decimals + 1},}})(?!\d)",
    )
    return _overlapping((*marked, *_ALWAYS)), _overlapping(pairs), _overlapping(lone)


def _overlapping(forms: Iterable[str]) -> re.Pattern[str]:
    """Return a pattern that finds forms also where they begin within each other, as in three numbers in a row."""
    return re.compile(f"(?=(?P<all>{'|'.join(forms)}))")


_AFTER_UNIT = re.compile(_UNIT)
_DOI = re.compile(r"10\.\d{4,9}/[^\d\s]|10\.\d{4,9}/\d+[^\d.,\s]")


def coordinates_in(
    text: str, grid_deg: float = DEFAULT_GRID_DEG, lone_decimals: int = LONE_DECIMALS
) -> Iterator[tuple[int, int]]:
    """Yield start and end of what reads as a coordinate finer than a grid.

    Parameters
    ----------
    text : str
        Any text.
    grid_deg : float
        The grid on which the place itself leaves [degrees].
    lone_decimals : int
        Decimals from which a number alone counts.
    """
    if not _HAS_DIGITS.search(text):
        return
    always, pairs, lone = _patterns(float(grid_deg), lone_decimals)
    for found in always.finditer(text):
        yield found.span("all")
    for found in pairs.finditer(text):
        if all(_on_earth(number) for number in found.groups()[1:] if number):
            yield found.span("all")
    for found in lone.finditer(text):
        number = found["a"] or found["b"]
        few = len(re.split(_MARK, number)[1]) <= LONE_DECIMALS
        unit = few and _AFTER_UNIT.match(text, found.end("all"))
        if _on_earth(number) and not unit and not _DOI.match(text, found.start()):
            yield found.span("all")


def has_coordinates(text: str, grid_deg: float = DEFAULT_GRID_DEG, lone_decimals: int = LONE_DECIMALS) -> bool:
    """Return whether a text holds what reads as a coordinate finer than a grid."""
    return next(coordinates_in(text, grid_deg, lone_decimals), None) is not None


def without_coordinates(text: str, grid_deg: float = DEFAULT_GRID_DEG) -> str:
    """Return a text with ``[place withheld]`` in the place of every coordinate finer than a grid.

    A text without any comes back as it is; doing it twice changes nothing more.
    """
    if not _HAS_DIGITS.search(text):
        return text
    while spans := sorted(coordinates_in(text, grid_deg)):
        parts, end = [], 0
        for start, stop in spans:
            if start >= end:
                parts += [text[end:start], WITHHELD]
            end = max(end, stop)
        text = "".join(parts) + text[end:]
    return text


def _on_earth(number: str) -> bool:
    """Return whether a number may be degrees."""
    plain = re.sub(_MARK, ".", number).lstrip("-+−–")
    return float(plain) <= 180.0
