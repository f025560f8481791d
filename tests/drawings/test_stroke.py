import math

from hypothesis import given
from hypothesis import strategies as st

from trug.drawings.stroke import (
    contains,
    ellipse,
    inside,
    main,
    mirrored,
    outside,
    smooth,
    spread,
    stacked,
    straight,
    turned,
    united,
)

coordinate = st.floats(0, 96).map(lambda v: round(v, 2))
point = st.tuples(coordinate, coordinate)


@given(st.lists(point, min_size=3, max_size=8, unique=True))
def test_a_smooth_curve_goes_through_its_knots(knots):
    curve = smooth(*knots)

    assert all(min(math.dist(k, c) for c in curve) < 1e-6 for k in knots)


@given(st.lists(point, min_size=2, max_size=6, unique=True), point, st.floats(2, 40))
def test_a_line_is_cut_into_what_is_hidden_and_what_is_not(knots, middle, radius):
    line, shape = straight(*knots), ellipse(*middle, radius, radius)
    seen, hidden = outside(line, shape), inside(line, shape)

    assert all(not contains(shape, p) for part in seen for p in part)
    assert all(contains(shape, p) for part in hidden for p in part)
    assert sum(map(len, seen)) + sum(map(len, hidden)) <= len(line)


@given(st.lists(point, min_size=2, max_size=6), st.floats(-360, 360))
def test_mirroring_twice_and_turning_back_change_nothing(points, degrees):
    back = turned(turned(points, degrees), -degrees)

    assert all(math.dist(a, b) < 1e-9 for a, b in zip(mirrored(mirrored(points)), points, strict=True))
    assert all(math.dist(a, b) < 1e-6 for a, b in zip(back, points, strict=True))


def test_the_first_of_two_shapes_stands_in_front():
    front, back = ellipse(40, 48, 20, 20), ellipse(60, 48, 20, 20)
    shown = stacked([front, back])

    assert shown[0] == front
    assert all(not contains(front, p) for part in shown[1:] for p in part)


def test_shapes_grown_together_show_no_line_within():
    shapes = [ellipse(40, 48, 20, 20), ellipse(60, 48, 20, 20)]

    assert all(sum(contains(s, p) for s in shapes) <= 1 for part in united(shapes) for p in part)
    assert not any(43 < x < 57 and 40 < y < 56 for part in united(shapes) for x, y in part)


@given(st.floats(3, 12), st.integers(0, 20))
def test_strewn_points_lie_within_and_keep_apart(spacing, seed):
    shape = ellipse(48, 48, 30, 20)
    points = spread(shape, spacing, seed)

    assert points == spread(shape, spacing, seed)
    assert all(contains(shape, p) for p in points)
    assert all(math.dist(p, q) >= spacing * 0.8 for i, p in enumerate(points) for q in points[:i])


def test_a_straight_stroke_keeps_only_its_ends():
    assert main(straight((10, 10), (50, 30.5))) == '<path d="M10 10 50 30.5"/>'


def test_nothing_to_ink_is_no_element():
    assert main([]) == ""
