"""What leaves of a place: nothing finer than a grid, and a radius that holds the truth."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import pickle

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

import trug.place.release as release_module
from trug.determine.find import Find, Place
from trug.errors import ImplausibleError, InputError
from trug.place import GRIDS_DEG, Policy, Position, Released, cell_of, release_position

LATS = st.floats(-90, 90)
LONS = st.floats(-180, 180)
GRIDS = st.sampled_from(GRIDS_DEG)
POSITIONS = st.builds(Position, LATS, LONS, st.none() | st.floats(1, 50_000))
# C. F. F. Karney (2013), doi:10.1007/s00190-012-0578-z
GEODESIC = pytest.importorskip("geographiclib.geodesic").Geodesic.WGS84


@given(POSITIONS, GRIDS, st.floats(0, 360), st.floats(0, 1))
@example(Position(60.249, 24.949, 5000.0), 0.1, 45.0, 1.0)
@example(Position(-60.249, 24.949, 50_000.0), 0.1, 135.0, 1.0)
@example(Position(89.99, 24.949, 50_000.0), 0.1, 0.0, 1.0)
@example(Position(0.0, 179.999, 50_000.0), 1.0, 90.0, 1.0)
def test_the_radius_holds_the_true_point(position: Position, grid: float, azimuth: float, share: float) -> None:
    """The true point lies anywhere within the position's own uncertainty; the released circle holds it."""
    true = GEODESIC.Direct(position.lat, position.lon, azimuth, share * (position.uncertainty_m or 0.0))
    released = release_position(position, grid_deg=grid)

    assert released.uncertainty_m is not None
    assert GEODESIC.Inverse(released.lat, released.lon, true["lat2"], true["lon2"])["s12"] <= released.uncertainty_m


@pytest.mark.parametrize("grid", GRIDS_DEG)
def test_the_radius_holds_every_corner_of_a_cell_and_little_more(grid: float) -> None:
    """In every tenth row, and in the rows next to the poles."""
    rows = round(90 / grid)
    for row in {*range(-rows, rows + 1, 10 if grid < 1 else 1), -rows, -rows + 1, rows - 1, rows}:
        cell = cell_of(row * grid if abs(row) < rows else 90.0 * (1 if row > 0 else -1), 25.0, grid)
        corners = [(lat, lon) for lat in (cell.south, cell.north) for lon in (cell.west, cell.east)]
        farthest = max(GEODESIC.Inverse(cell.lat, cell.lon, *corner)["s12"] for corner in corners)
        assert farthest <= cell.radius_m() <= farthest * 1.002 + 2


@given(POSITIONS, GRIDS)
def test_nothing_finer_than_the_grid_leaves(position: Position, grid: float) -> None:
    released = release_position(position, grid_deg=grid)

    for text in (released.lat_text, released.lon_text):
        assert len(text.partition(".")[2]) <= (1 if grid < 1 else 0)
    for value in (released.lat, released.lon):
        assert value == pytest.approx(round(value / grid) * grid, abs=1e-9)
    assert released.uncertainty_m is not None
    assert released.uncertainty_m % 100 == 0 or released.uncertainty_m > 20_000_000


@given(LATS, LONS, GRIDS, st.floats(0, 1, exclude_max=True), st.floats(0, 1, exclude_max=True))
def test_every_point_of_a_cell_leaves_as_the_same_point(
    lat: float, lon: float, grid: float, u: float, v: float
) -> None:
    cell = cell_of(lat, lon, grid)
    other_lat = cell.south + u * (cell.north - cell.south)
    other_lon = cell.west + v * (cell.east - cell.west)
    other = cell_of(other_lat, other_lon if other_lon >= -180 else other_lon + 360, grid)
    at_edge = min(u, v) < 1e-6 or max(u, v) > 1 - 1e-6  # where the arithmetic of this test may round over the edge

    assert at_edge or other == cell
    if other == cell:
        here = release_position(Position(lat, lon, 10.0), grid_deg=grid)
        there = release_position(
            Position(other_lat, other_lon if other_lon >= -180 else other_lon + 360, 10.0), grid_deg=grid
        )
        assert here == there


@given(POSITIONS, GRIDS)
def test_generalising_twice_is_generalising_once(position: Position, grid: float) -> None:
    once = release_position(position, grid_deg=grid)
    again = release_position(Position(once.lat, once.lon, once.uncertainty_m), grid_deg=grid)

    assert release_position(once, grid_deg=grid) == once
    assert (again.lat, again.lon) == (once.lat, once.lon)


@given(POSITIONS)
def test_a_cell_holds_its_point(position: Position) -> None:
    for grid in GRIDS_DEG:
        cell = cell_of(position.lat, position.lon, grid)
        lon = position.lon - 360 if position.lon >= cell.east else position.lon
        assert cell.south <= position.lat <= cell.north
        assert cell.west <= lon <= cell.east
        assert -180 <= cell.lon < 180


@pytest.mark.parametrize(
    ("lat", "lon", "centre"),
    [
        (60.16952, 24.93545, (60.2, 24.9)),
        (60.15, 24.95, (60.2, 25.0)),
        (60.1499999, 24.9499999, (60.1, 24.9)),
        (-0.04, -0.05, (0.0, 0.0)),
        (90, 123.4, (90.0, 123.4)),
        (-90, 180, (-90.0, -180.0)),
        (0, 179.97, (0.0, -180.0)),
        (0, -179.97, (0.0, -180.0)),
    ],
)
def test_edges_poles_and_the_date_line(lat: float, lon: float, centre: tuple[float, float]) -> None:
    released = release_position(Position(lat, lon))
    assert (released.lat, released.lon) == centre


def test_a_released_position_never_becomes_finer_again() -> None:
    coarse = release_position(Position(60.16952, 24.93545), grid_deg=1.0)

    assert release_position(coarse, Policy.EXACT) == coarse
    assert release_position(coarse, grid_deg=0.1) == coarse
    assert release_position(coarse, grid_deg=10.0).lat == 60.0
    exact = release_position(Position(60.16952, 24.93545), Policy.EXACT)
    assert release_position(exact).lat_text == "60.2"


@pytest.mark.parametrize("policy", [Policy.EXACT, Policy.OWN_DEVICES])
def test_exact_leaves_exactly_and_says_so(policy: Policy) -> None:
    released = release_position(Position(60.16952, -1e-05, 7.0), policy)

    assert (released.lat_text, released.lon_text, released.uncertainty_m) == ("60.16952", "-0.00001", 7.0)
    assert released.exact
    assert released.generalisation == ""


def test_the_default_is_generalised_and_says_so() -> None:
    released = release_position(Position(60.16952, 24.93545))

    assert inspect.signature(release_position).parameters["policy"].default is Policy.GENERALISED
    assert released.policy is Policy.GENERALISED
    assert "0.1 degree" in released.generalisation
    assert "not recorded" in released.generalisation
    assert "not recorded" not in release_position(Position(60.16952, 24.93545, 5.0)).generalisation


def test_only_one_function_makes_a_released_position() -> None:
    exact = release_position(Position(60.16952, 24.93545), Policy.EXACT)
    coarse = release_position(Position(60.16952, 24.93545))

    with pytest.raises(TypeError, match="release_position"):
        Released(60.16952, 24.93545, 5.0, Policy.GENERALISED, 0.1, "")
    with pytest.raises(TypeError, match="release_position"):
        dataclasses.replace(coarse, lat=60.16952)
    with pytest.raises(dataclasses.FrozenInstanceError):
        coarse.lat = 60.16952  # type: ignore[misc]
    assert copy.copy(coarse) == pickle.loads(pickle.dumps(coarse)) == coarse
    assert exact != coarse
    assert inspect.getsource(release_module).count("seal=_SEAL") == 2


def test_finds_and_places_are_taken() -> None:
    place = Place(60.16952, 24.93545, 12.0)
    find = Find("f", "2026-10-04", (), place=place)

    assert release_position(find) == release_position(place) == release_position(Position(60.16952, 24.93545, 12.0))
    assert release_position(Find("f", "2026-10-04", ())) is None
    assert release_position(None) is None


@pytest.mark.parametrize("grid", [0.01, 0.05, 0.3, 0.0, -1.0, 90.0, float("nan")])
def test_other_grids_are_refused(grid: float) -> None:
    with pytest.raises(ImplausibleError, match=r"0\.1, 0\.2, 0\.5"):
        release_position(Position(60.0, 25.0), grid_deg=grid)


def test_another_datum_does_not_leave() -> None:
    with pytest.raises(InputError, match="ED50"):
        release_position(Place(60.0, 25.0, datum="ED50"))
