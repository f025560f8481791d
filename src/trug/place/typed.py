"""Coordinates as people type them: 60.1699, 24.9384; 60,1699 24,9384; 60°10'11.6"N 24°56'18"E; N60 10.2 E24 56.3."""

from __future__ import annotations

import re

from trug.errors import ImplausibleError, InputError

__all__ = ["parse_position"]

_LONGEST = 200
_SAME = str.maketrans(
    {"′": "'", "’": "'", "‘": "'", "´": "'", "″": '"', "”": '"', "“": '"', "º": "°", "˚": "°"}
    | {"−": "-", "–": "-", "·": ".", "\u00a0": " ", "\u202f": " "}
)  # fmt: skip
_TOKEN = re.compile(r"\s*(?:(?P<number>[-+]?\d+(?:\.\d+)?)|(?P<letter>[A-Z]+)|(?P<mark>[°'\":])|(?P<apart>[,;/]))")
_COMMA_DECIMAL = re.compile(r"(?<=\d),(?=\d)")
_WORDS = {
    "NORTH": "N",
    "SOUTH": "S",
    "EAST": "E",
    "WEST": "W",
    "D": "°",
    "DEG": "°",
    "M": "'",
    "MIN": "'",
    "SEC": '"',
} | {
    "LAT": "",
    "LON": "",
    "LATITUDE": "",
    "LONGITUDE": "",
}
_HOW = "write it like 60.1699, 24.9384 or 60°10'11\"N 24°56'18\"E"


def parse_position(text: str) -> tuple[float, float]:
    """Return latitude and longitude [degrees] of a position typed by a person.

    Latitude comes first unless letters (N, S, E, W) say otherwise. Decimals may be written with a comma. O is
    refused, for it is west in some tongues and east in others.

    Raises
    ------
    InputError
        With the reason and a form that is understood.
    ImplausibleError
        For more than 90 degrees north or 180 east, or 60 minutes or more.
    """
    if len(text) > _LONGEST:
        raise InputError(f"this is too long for a position; {_HOW}")
    plain = _decimals(re.sub(r"^\s*geo:", "", text.translate(_SAME), flags=re.IGNORECASE).upper())
    first, second = _halves(_tokens(plain.replace("''", '"'), text), text)
    lat, axis_1 = _degrees(first, text)
    lon, axis_2 = _degrees(second, text)
    if axis_1 and axis_1 == axis_2:
        raise InputError(f"{text!r} names the same direction twice; {_HOW}")
    if axis_1 == "lon" or axis_2 == "lat":
        lat, lon = lon, lat
    if abs(lat) > 90 or abs(lon) > 180:
        raise ImplausibleError(f"{text!r} is not on the earth: at most 90 degrees north or south, 180 east or west")
    return lat + 0.0, lon + 0.0


def _decimals(text: str) -> str:
    """Return a text in which decimals are written with a point."""
    commas = len(_COMMA_DECIMAL.findall(text))
    if "." in text or not commas:
        return text
    four = re.fullmatch(r"\s*([-+]?\d+),(\d+),\s*([-+]?\d+),(\d+)\s*", text)
    if four:
        return "{}.{} {}.{}".format(*four.groups())
    if re.fullmatch(r"\s*[-+]?\d+,[-+]?\d+\s*", text):
        raise InputError(f"{text.strip()!r} may be one number or two; put a space after the comma or use points")
    return _COMMA_DECIMAL.sub(".", text)


def _tokens(plain: str, text: str) -> list[str]:
    tokens: list[str] = []
    at = 0
    plain = plain.rstrip()
    while at < len(plain):
        found = _TOKEN.match(plain, at)
        if not found:
            raise InputError(f"{text!r} is not understood from {plain[at:].strip()[:10]!r} on; {_HOW}")
        at = found.end()
        token = found[0].strip()
        if found["letter"]:
            if token in {"O", "OST", "OUEST", "OESTE"}:
                raise InputError(f"{text!r}: {token} is east in some tongues and west in others; use E or W")
            token = token if token in {"N", "S", "E", "W"} else _WORDS.get(token, "?")
            token = '"' if found[0].strip() == "S" and _is_seconds(tokens, plain[at:]) else token
            if token == "?":
                raise InputError(f"{text!r}: the word {found[0].strip()!r} is not understood; {_HOW}")
        if token:
            tokens.append(token)
    return tokens


def _is_seconds(before: list[str], after: str) -> bool:
    """Return whether an S ends seconds, as in 60d10m11s N, and is not south."""
    return len(before) > 1 and before[-2] == "'" and bool(re.match(r"\s*[NSEW]", after))


def _halves(tokens: list[str], text: str) -> tuple[list[str], list[str]]:
    """Return the tokens of the two coordinates."""
    letters = [n for n, token in enumerate(tokens) if token in "NSEW"]
    if letters:
        if len(letters) != 2:
            raise InputError(f"{text!r} needs one letter for each of the two directions; {_HOW}")
        cut = letters[1] if letters[0] == 0 else letters[0] + 1
        halves = tokens[:cut], tokens[cut:]
    elif sum(token in ",;/" for token in tokens) == 1:
        cut = next(n for n, token in enumerate(tokens) if token in ",;/")
        halves = tokens[:cut], tokens[cut:]
    elif any(token in ",;/" for token in tokens):
        raise InputError(f"{text!r} has too many separators; {_HOW}")
    else:
        numbers = [n for n, token in enumerate(tokens) if token[-1].isdigit()]
        if len(numbers) not in (2, 4, 6):
            raise InputError(f"{text!r} is not two coordinates; {_HOW}")
        cut = numbers[len(numbers) // 2]
        halves = tokens[:cut], tokens[cut:]
    first, second = ([t for t in half if t not in ",;/"] for half in halves)
    return first, second


def _degrees(tokens: list[str], text: str) -> tuple[float, str]:
    """Return one coordinate [degrees] and its axis, ``lat``, ``lon`` or empty."""
    numbers = [t for t in tokens if t[-1].isdigit()]
    letter = next((t for t in tokens if t in "NSEW"), "")
    marks = [t for t in tokens if t in "°'\":"]
    if not 1 <= len(numbers) <= 3 or [m for m in marks if m != ":"] != ["°", "'", '"'][: len(marks) - marks.count(":")]:
        raise InputError(f"{text!r} is not two coordinates; {_HOW}")
    if any("." in n for n in numbers[:-1]) or any(n[0] in "+-" for n in numbers[1:]):
        raise InputError(
            f"{text!r}: only the last of degrees, minutes and seconds may have decimals, none a sign; {_HOW}"
        )
    if letter and numbers[0][0] in "+-":
        raise InputError(f"{text!r} has both a sign and a letter; leave one of them out")
    degrees, minutes, seconds = [float(n) for n in numbers] + [0.0] * (3 - len(numbers))
    if minutes >= 60 or seconds >= 60:
        raise ImplausibleError(f"{text!r}: minutes and seconds must be below 60")
    size = abs(degrees) + minutes / 60 + seconds / 3600
    below = numbers[0][0] == "-" or letter in ("S", "W")
    return (-size if below else size), {"N": "lat", "S": "lat", "E": "lon", "W": "lon"}.get(letter, "")
