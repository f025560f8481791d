import re
from itertools import pairwise

import defusedxml.ElementTree as safe_xml
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.drawings.size_bar import PAPER_MM, reduction, silhouette, size_bar


def told(svg: str) -> list[str]:
    return [e.text for e in safe_xml.fromstring(svg).iter() if e.tag.endswith("}text")]


def title(svg: str) -> str:
    return next(e.text for e in safe_xml.fromstring(svg).iter() if e.tag.endswith("}title"))


def paths(svg: str) -> list[str]:
    return [e.attrib["d"] for e in safe_xml.fromstring(svg).iter() if e.tag.endswith("}path")]


def usual(svg: str) -> tuple[float, float]:
    return tuple(float(n) for n in re.fullmatch(r"M([\d.]+) 4H([\d.]+)", paths(svg)[1]).groups())


@given(st.floats(1, PAPER_MM), st.floats(0, 1), st.floats(0, 1))
def test_one_unit_is_one_css_millimetre_at_full_size(high, share, less):
    low = high * share
    svg = size_bar(low, high, low * less, high, "cap width")
    root = safe_xml.fromstring(svg)
    _, _, width, height = root.attrib["viewBox"].split(" ")
    a, b = usual(svg)

    assert root.attrib["width"] == f"{width}mm"
    assert root.attrib["height"] == f"{height}mm"
    assert b - a == pytest.approx(high - low, abs=0.02)
    assert title(svg) == "cap width (1 : 1)"


def test_ticks_stand_a_millimetre_apart():
    ticks = [float(x) for x in re.findall(r"M([\d.]+) 8v", paths(size_bar(30, 80, 20, 120))[2])]

    assert len(ticks) == 121
    assert all(b - a == pytest.approx(1) for a, b in pairwise(ticks))


def test_what_does_not_fit_is_reduced_and_says_so():
    svg = size_bar(150, 300, 100, 600, "cap width")
    a, b = usual(svg)

    assert b - a == pytest.approx(150 / 5)
    assert "1 : 5" in told(svg)
    assert title(svg) == "cap width (1 : 5)"
    assert "600 mm" in told(svg)


@pytest.mark.parametrize(("longest", "n"), [(0.5, 1), (150, 1), (150.1, 2), (300, 2), (301, 5), (1000, 10), (7500, 50)])
def test_the_scale_is_the_largest_that_fits(longest, n):
    assert reduction(longest) == n


@pytest.mark.parametrize("sizes", [(80, 30, 20, 120), (30, 80, 40, 120), (30, 80, 20, 70), (-1, 80, -2, 90)])
def test_sizes_out_of_order_are_refused(sizes):
    with pytest.raises(ValueError, match="sizes must be ordered"):
        size_bar(*sizes)


@pytest.mark.parametrize("longest", [0, -3, float("nan"), float("inf"), 7501])
def test_a_length_that_cannot_be_drawn_is_refused(longest):
    with pytest.raises(ValueError, match="'longest_mm' must be"):
        reduction(longest)


def test_a_silhouette_has_the_width_of_the_cap_and_the_length_of_the_stipe():
    cap, stipe = paths(silhouette(60, 80, 9))[:2]
    left, right = float(re.match(r"M([\d.]+)", cap)[1]), float(re.search(r"([\d.]+) [\d.]+Z$", cap)[1])
    top, foot = float(re.match(r"M[\d.]+ ([\d.]+)", stipe)[1]), float(re.search(r"V([\d.]+)H", stipe)[1])

    assert right - left == pytest.approx(60)
    assert foot - top == pytest.approx(80)


def test_a_tall_silhouette_is_reduced():
    assert "1 : 2" in told(silhouette(120, 200, 15))


@pytest.mark.parametrize("sizes", [(0, 80, 9), (60, -1, 9), (60, 80, float("nan"))])
def test_a_silhouette_without_size_is_refused(sizes):
    with pytest.raises(ValueError, match="must be above 0"):
        silhouette(*sizes)
