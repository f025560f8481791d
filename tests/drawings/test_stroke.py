import math

from hypothesis import given
from hypothesis import strategies as st

from trug.drawings.stroke import (
    balanced,
    contains,
    ellipse,
    inside,
    level,
    main,
    mirrored,
    outside,
    smooth,
    spread,
    stacked,
    straight,
    turned,
    united,
    without,
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
    assert all(p in kept for part in (*seen, *hidden) for p in part[1:-1] for kept in [line])


@given(st.floats(20, 76), st.floats(5, 30))
def test_a_line_is_cut_where_it_meets_the_edge(height, radius):
    (part,) = inside(straight((0, height), (96, height)), ellipse(48, height, radius, radius))

    assert math.isclose(part[0][0], 48 - radius, abs_tol=0.1)
    assert math.isclose(part[-1][0], 48 + radius, abs_tol=0.1)


@given(st.floats(25, 71), st.floats(25, 71), st.floats(4, 18))
def test_what_is_not_behind_another_shape_is_all_of_the_rest(x, y, radius):
    shape, front = ellipse(48, 48, 20, 20), ellipse(x, y, radius, radius)
    rest = without(shape, front)
    grid = [(i, j) for i in range(27, 70, 3) for j in range(27, 70, 3)]
    clear = [p for p in grid if abs(math.dist(p, (48, 48)) - 20) > 1.6 and abs(math.dist(p, (x, y)) - radius) > 1.6]

    for p in clear:
        shown = sum(contains(loop, p) for loop in rest) % 2 == 1
        assert shown == (contains(shape, p) and not contains(front, p))


@given(st.lists(st.tuples(st.floats(5, 47), coordinate), min_size=2, max_size=5, unique=True))
def test_a_balanced_line_is_its_own_mirror_image_and_level_in_the_middle(left):
    line = balanced(*left, (48, 20))

    assert all(math.dist(a, b) < 1e-6 for a, b in zip(line, mirrored(line), strict=True))
    half = line[: len(line) // 2 + 1][::-1]
    assert all(math.dist(a, b) < 1e-6 for a, b in zip(level((48, 20), *left[::-1]), half, strict=True))


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
    assert main(straight((10, 10), (50, 30.5))) == '<path d="m10 10 40 20.5"/>'


def test_nothing_to_ink_is_no_element():
    assert main([]) == ""
