import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trug.drawings.path import dot_data, path_data
from trug.drawings.stroke import ellipse, smooth, straight

coordinate = st.floats(0, 96).map(lambda v: round(v, 2))
point = st.tuples(coordinate, coordinate)
#: Half a tenth is lost by rounding each way, the rest is what a curve may pass beside its line [units].
NEAR = 0.35
#: Most that lies between two points of a sampled line [units].
STEP = 0.8


def drawn(d):
    """Return points along path data made of moves, straight steps and curves."""
    x, y, out = 0.0, 0.0, []
    for letter, rest in re.findall(r"([mlcz])([^a-z]*)", d):
        numbers = [float(n) for n in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", rest)]
        size = 6 if letter == "c" else 2
        for k in range(0, len(numbers), size):
            steps = [
                (x + a, y + b) for a, b in zip(numbers[k : k + size : 2], numbers[k + 1 : k + size : 2], strict=True)
            ]
            if letter == "m" and k == 0:
                out.append(steps[0])
            else:
                c1, c2, end = steps if letter == "c" else ((x, y), steps[0], steps[0])
                n = 8 + round(4 * (math.dist((x, y), c1) + math.dist(c1, c2) + math.dist(c2, end)))
                for t in (m / n for m in range(1, n + 1)):
                    shares = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
                    out.append(tuple(float(np.dot(shares, axis)) for axis in zip((x, y), c1, c2, end, strict=True)))
            x, y = steps[-1]
    return out


def farthest(points, line):
    """Return how far the point that lies farthest from a line of near points is from it."""
    gaps = np.linalg.norm(np.asarray(points)[:, None] - np.asarray(line)[None], axis=2)
    return gaps.min(axis=1).max()


@settings(deadline=None)
@given(st.lists(point, min_size=2, max_size=6, unique=True))
def test_curves_follow_the_line_they_stand_for(knots):
    line = smooth(*knots)
    inked = drawn(path_data([line]))

    assert farthest(line, inked) < NEAR
    assert farthest(inked, line) < NEAR + STEP / 2


@settings(deadline=None)
@given(st.lists(point, min_size=2, max_size=6, unique=True))
def test_corners_stay_where_they_are(knots):
    inked = drawn(path_data([straight(*knots)]))

    assert farthest(knots, inked) < NEAR


def test_numbers_are_as_short_as_can_be():
    assert path_data([[(10, 10), (10.5, 9.5)], [(9.5, 9), (30, 9)]]) == "m10 10 .5-.5m-1-.5 20.5 0"


def test_a_whole_ellipse_is_two_arcs():
    assert path_data([ellipse(48, 40, 20, 10.5)]) == "m28 40a20 10.5 0 1 0 40 0a20 10.5 0 1 0-40 0z"


def test_an_arc_is_no_whole_ellipse():
    assert "a" not in path_data([ellipse(48, 40, 20, 10)[:-8]])


def test_a_closed_line_ends_where_it_began():
    assert path_data([[(10, 10), (20, 10), (20, 20)]], closed=True) == "m10 10 10 0 0 10z"


@pytest.mark.parametrize("lines", [[], [[]], [[(1, 1)]], [[(1, 1), (1, 1)]]])
def test_what_has_no_length_leaves_no_data(lines):
    assert path_data(lines) == ""


def test_dots_are_lines_without_length():
    assert dot_data([(10, 10), (12.5, 9)]) == "m10 10h0m2.5-1h0"
