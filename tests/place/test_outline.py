"""The map's mathematics: projection, cutting, thinning."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.errors import ImplausibleError
from trug.place.outline import (
    FARTHEST_LAT,
    View,
    clipped_area,
    clipped_lines,
    degree_step,
    scale_bar,
    thinned,
    view_of,
)

LATS = st.floats(-FARTHEST_LAT, FARTHEST_LAT)
LONS = st.floats(-180, 180)
ZOOMS = st.floats(1, 13)


def area_of(xy: np.ndarray) -> float:
    x, y = xy[:, 0], xy[:, 1]
    return abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2


# Snyder (1987), Map projections, table 7, Mercator for the sphere of radius 1: latitude, y.
@pytest.mark.parametrize(("lat", "y"), [(85, 3.13130), (60, 1.31696), (45, 0.88137), (30, 0.54931), (0, 0.0)])
def test_northings_match_snyder_1987(lat: float, y: float) -> None:
    view = View(0, 0, 8)
    down = view.height_px / 2 - float(view.xy(np.array([[0.0, lat]]))[0, 1])
    assert down / view.world_px * 2 * math.pi == pytest.approx(y, abs=0.5e-5)


@given(LATS, LONS, ZOOMS, LATS, LONS)
def test_a_point_comes_back_from_the_sheet(lat: float, lon: float, zoom: float, at: float, to: float) -> None:
    view = View(lat, lon, zoom)
    x, y = view.xy(np.array([[to, at]]))[0]
    assert view.lat_lon(float(x), float(y)) == pytest.approx((at, to), abs=1e-6)


@given(LATS, LONS, ZOOMS)
def test_the_middle_lies_in_the_middle(lat: float, lon: float, zoom: float) -> None:
    view = View(lat, lon, zoom, 600, 400)
    assert view.xy(np.array([[lon, lat]]))[0] == pytest.approx([300, 200], abs=1e-6)


@given(st.floats(-80, 80), LONS, st.floats(3, 13), st.floats(-200, 200))
def test_moving_there_and_back_changes_nothing(lat: float, lon: float, zoom: float, px: float) -> None:
    view = View(lat, lon, zoom)
    back = view.moved(px, px / 4).moved(-px, -px / 4)
    if abs(view.moved(px, px / 4).lat) < FARTHEST_LAT:
        assert back.lat == pytest.approx(lat, abs=1e-6)
        assert math.remainder(back.lon - lon, 360) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    "wrong", [(91, 0, 5), (0, 181, 5), (0, 0, 0.5), (0, 0, 14), (math.nan, 0, 5), (0, 0, math.nan)]
)
def test_a_view_off_the_map_is_refused(wrong: tuple[float, float, float]) -> None:
    with pytest.raises(ImplausibleError):
        View(*wrong)


@given(st.floats(-300, 900), st.floats(-300, 900), st.floats(1, 800), st.floats(1, 800))
def test_a_cut_rectangle_has_the_area_of_the_overlap(x: float, y: float, wide: float, high: float) -> None:
    corners = np.array([[x, y], [x + wide, y], [x + wide, y + high], [x, y + high]])
    cut = clipped_area(corners, 600, 400, margin_px=0)
    across = max(0.0, min(600, x + wide) - max(0.0, x))
    down = max(0.0, min(400, y + high) - max(0.0, y))
    assert (area_of(cut) if len(cut) else 0.0) == pytest.approx(across * down, abs=1e-6)


@given(st.lists(st.tuples(st.floats(-2000, 2000), st.floats(-2000, 2000)), min_size=3, max_size=30))
def test_a_cut_area_stays_on_the_sheet(points: list[tuple[float, float]]) -> None:
    cut = clipped_area(np.array(points), 600, 400, margin_px=8)
    assert (cut >= -8 - 1e-6).all()
    assert (cut <= np.array([608, 408]) + 1e-6).all()


@given(st.lists(st.tuples(st.floats(-2000, 2000), st.floats(-2000, 2000)), min_size=2, max_size=30))
def test_no_stretch_with_an_end_on_the_sheet_is_lost(points: list[tuple[float, float]]) -> None:
    xy = np.array(points)
    kept = {tuple(p) for line in clipped_lines(xy, 600, 400) for p in line.tolist()}
    for start, end in pairwise(xy):
        if any((p >= 0).all() and (p <= [600, 400]).all() for p in (start, end)):
            assert {tuple(start.tolist()), tuple(end.tolist())} <= kept


def test_a_line_across_the_sheet_is_kept_though_both_ends_lie_outside() -> None:
    assert len(clipped_lines(np.array([[-50.0, 200.0], [900.0, 200.0]]), 600, 400)) == 1


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 100)), min_size=2, max_size=60))
def test_thinning_keeps_both_ends_and_stays_near(points: list[tuple[float, float]]) -> None:
    xy = np.array(points)
    thin = thinned(xy, 0.6)
    assert (thin[0] == xy[0]).all()
    assert (thin[-1] == xy[-1]).all()
    nearest = np.linalg.norm(xy[:, None] - thin[None], axis=2).min(axis=1)
    assert nearest.max() <= 0.6 * math.sqrt(2) + 1e-9


@given(st.lists(st.tuples(st.floats(-180, 180), st.floats(-80, 80)), min_size=1, max_size=6))
def test_the_first_view_shows_every_point(points: list[tuple[float, float]]) -> None:
    view = view_of(np.array(points), 1000, 1000)
    west, south, east, north = view.bounds
    for lon, lat in points:
        turned = view.lon + math.remainder(lon - view.lon, 360)
        if view.zoom > 1:
            assert west <= turned <= east
            assert south <= lat <= north


def test_points_on_both_sides_of_the_date_line_are_shown_the_short_way() -> None:
    view = view_of(np.array([[179.0, 65.0], [-179.0, 65.0]]), 600, 400)
    assert abs(view.lon) == pytest.approx(180, abs=1e-9)
    assert view.zoom >= 6


@given(st.floats(-70, 70), ZOOMS)
def test_the_scale_bar_is_round_and_fits(lat: float, zoom: float) -> None:
    bar = scale_bar(View(lat, 0, zoom), 140)
    lead = bar.metres / 10 ** math.floor(math.log10(bar.metres) + 1e-9)
    assert round(lead, 6) in (1, 2, 5)
    assert 140 / 2.5 - 1e-6 <= bar.px <= 140 + 1e-6


@given(st.floats(0.05, 360))
def test_the_graticule_has_few_lines(span: float) -> None:
    assert span / degree_step(span) <= 8
