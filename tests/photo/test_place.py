"""Regions: polygons in fractions of the picture, and those that cannot be measured."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showthrough.errors import ImageError
from showthrough.photo.place import Region, check_regions

SIZE = (200, 100)
GOOD = Region.rectangle(0.1, 0.1, 0.4, 0.6)


def problems_of(regions, reference=None):
    with pytest.raises(ImageError) as caught:
        check_regions(SIZE, regions, reference or {})
    return {p.field: p for p in caught.value.problems}


def covered(region, size=SIZE):
    window = region.window(size)
    mask = np.zeros(size[::-1], dtype=bool)
    mask[window.rows, window.columns] = window.inside
    return mask


def test_a_rectangle_holds_the_pixels_whose_centres_it_holds():
    mask = covered(GOOD)
    assert mask.sum() == 60 * 50
    assert mask[10:60, 20:80].all()


def test_a_polygon_agrees_with_the_rasteriser_of_scikit_image():
    from skimage.draw import polygon2mask

    corners = [(0.11, 0.07), (0.83, 0.22), (0.61, 0.91), (0.33, 0.52), (0.07, 0.88)]
    mask = covered(Region.polygon(corners))
    # Its pixels are counted from centres and ours from corners: half a pixel apart.
    rows_columns = [(y * 100 - 0.5, x * 200 - 0.5) for x, y in corners]
    other = polygon2mask((100, 200), rows_columns)
    assert (mask != other).sum() <= 3


@given(st.floats(0.0, 0.7), st.floats(0.0, 0.7), st.floats(0.05, 0.3), st.floats(0.05, 0.3))
def test_the_order_of_corners_and_where_they_begin_change_nothing(left, top, wide, high):
    region = Region.rectangle(left, top, left + wide, top + high)
    points = region.points
    turned = Region((*points[2:], *points[:2]))
    mirrored = Region(points[::-1])
    np.testing.assert_array_equal(covered(region), covered(turned))
    np.testing.assert_array_equal(covered(region), covered(mirrored))


def test_a_region_outside_the_picture_is_named_with_what_would_work():
    found = problems_of({"chip": Region.rectangle(0.5, 0.5, 1.2, 0.9)})
    assert "outside the picture" in found["chip"].message
    assert "from 0 to 1" in found["chip"].message
    assert found["chip"].code == "outside"


def test_a_reference_outside_the_picture_is_refused_too():
    found = problems_of({"chip": GOOD}, {"cards[0]": Region.rectangle(-0.1, 0.0, 0.2, 0.2)})
    assert found["cards[0]"].code == "outside"


def test_a_region_of_too_few_pixels_says_how_many_are_needed():
    found = problems_of({"chip": Region.rectangle(0.5, 0.5, 0.53, 0.55)})
    assert "at least 150 are needed" in found["chip"].message


@pytest.mark.parametrize(
    "points",
    [((0.1, 0.1), (0.2, 0.2)), ((0.1, 0.1), (0.5, float("nan")), (0.5, 0.5))],
)
def test_a_region_that_is_no_polygon_is_refused(points):
    found = problems_of({"chip": Region(points)})
    assert "at least three corners, all numbers" in found["chip"].message


def test_a_region_over_the_reference_is_refused():
    found = problems_of({"chip": Region.rectangle(0.3, 0.3, 0.8, 0.8)}, {"cards[0]": GOOD})
    assert "over the reference" in found["chip"].message
    assert found["chip"].code == "overlap"


def test_all_problems_are_told_at_once():
    found = problems_of(
        {"one": Region.rectangle(0.5, 0.5, 1.2, 0.9), "two": Region.rectangle(0.3, 0.3, 0.8, 0.8)},
        {"cards[0]": GOOD},
    )
    assert set(found) == {"one", "two"}


def test_good_regions_pass():
    check_regions(SIZE, {"chip": Region.rectangle(0.5, 0.1, 0.9, 0.9)}, {"cards[0]": GOOD})
