import re

import pytest


def _places_of(d: str) -> list[tuple[float, float]]:
    """Return where each step of relative path data leads."""
    x, y, places = 0.0, 0.0, []
    start = (x, y)
    for letter, rest in re.findall(r"([mlchaz])([^a-z]*)", d):
        numbers = [float(n) for n in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", rest)]
        size = {"m": 2, "l": 2, "c": 6, "h": 1, "a": 7, "z": 1}[letter]
        for k in range(0, len(numbers), size):
            step = numbers[k : k + size]
            x, y = x + (step[0] if letter == "h" else step[-2]), y + (0 if letter == "h" else step[-1])
            places.append((x, y))
            start = (x, y) if letter == "m" and k == 0 else start
        x, y = start if letter == "z" else (x, y)
    return places


@pytest.fixture(scope="session")
def places_of():
    return _places_of
