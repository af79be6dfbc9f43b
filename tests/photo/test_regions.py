"""Patches proposed from photos of surfaces whose patches are known."""

from __future__ import annotations

import numpy as np
import pytest

from reference import camera, surfaces
from reference.surfaces import FILLER, OLD_PAINT, PINE_DARK, PINE_LIGHT, WALNUT, board, picture_of
from showthrough.colour.difference import ciede2000
from showthrough.colour.space import lab_to_xyz, xyz_to_linear_rgb
from showthrough.errors import ImageError, InputError
from showthrough.photo.calibrate.balance import Card
from showthrough.photo.calibrate.chart_fit import lab_of_linear
from showthrough.photo.patches.regions import propose_patches
from showthrough.photo.patches.shapes import outlines
from showthrough.photo.picture.load import load_picture
from showthrough.photo.place import Region

HEIGHT, WIDTH = 288, 384


def two_halves(left, right):
    labels = np.zeros((HEIGHT, WIDTH), dtype=int)
    labels[:, WIDTH // 2 :] = 1
    return labels, [left, right]


def walnut_with_filler():
    labels = surfaces.disc(HEIGHT, WIDTH, 0.5, 0.5, 0.15).astype(int)
    return labels, [WALNUT, FILLER]


def grained():
    return surfaces.grain(HEIGHT, WIDTH, 2).astype(int), [PINE_LIGHT, PINE_DARK]


def five():
    labels = surfaces.grain(HEIGHT, WIDTH, 3, share=0.5).astype(int)
    labels[surfaces.disc(HEIGHT, WIDTH, 0.7, 0.7, 0.14)] = 2
    labels[surfaces.disc(HEIGHT, WIDTH, 0.2, 0.3, 0.14)] = 3
    labels[:60] = 4
    return labels, [PINE_LIGHT, PINE_DARK, FILLER, OLD_PAINT, (30.0, 5.0, 6.0)]


SCENES = {
    "board": board(HEIGHT, WIDTH),
    "grain": grained(),
    "walnut": walnut_with_filler(),
    "five": five(),
    "halves": two_halves(PINE_LIGHT, OLD_PAINT),
}

LIGHTS = {
    "even": {},
    "two to one": {"ratio": 2.0},
    "two to one downwards": {"ratio": 2.0, "turn": 2.0},
    "fibres": {"texture": 0.05},
}


def seen(labs):
    """What the ideal camera shows of these colours: its exposure is 0.85."""
    return lab_of_linear(0.85 * xyz_to_linear_rgb(lab_to_xyz(np.array(labs))))


def level_free(lab, target):
    """Least difference over all levels of light: a fall-off leaves the level open."""
    linear = xyz_to_linear_rgb(lab_to_xyz(np.array(target)))
    levels = np.linspace(0.5, 1.3, 161)[:, None]
    return float(ciede2000(lab_of_linear(levels * linear), np.array(lab)).min())


@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize("name", SCENES)
def test_shares_are_within_5_points_and_colours_within_2_above_5_percent(name, light):
    labels, labs = SCENES[name]
    picture = load_picture(picture_of(labels, labs, **LIGHTS[light]))
    found = propose_patches(picture)
    true_shares = np.bincount(labels.ravel(), minlength=len(labs)) / labels.size
    matched = {}
    for index, patch in enumerate(found.patches):
        mask = found.mask(index, (WIDTH, HEIGHT))
        matched[int(np.bincount(labels[mask], minlength=len(labs)).argmax())] = patch
    for i in np.flatnonzero(true_shares > 0.05):
        patch = matched[int(i)]
        assert abs(patch.share - true_shares[i]) < 0.05
        if "ratio" in LIGHTS[light]:
            assert level_free(patch.lab, labs[i]) < 2.0
        else:
            assert ciede2000(patch.lab, seen(labs)[i]) < 2.0
    assert len(found.patches) == len(labs)
    assert sum(p.share for p in found.patches) == pytest.approx(1.0)


def test_every_centre_and_spot_lies_inside_its_patch():
    labels, labs = SCENES["board"]
    found = propose_patches(load_picture(picture_of(labels, labs)))
    for index, patch in enumerate(found.patches):
        mask = found.mask(index, (WIDTH, HEIGHT))
        x, y = patch.centre
        assert mask[int(y * HEIGHT), int(x * WIDTH)]
        window = patch.spot.window((WIDTH, HEIGHT))
        inside = mask[window.rows, window.columns][window.inside]
        assert inside.mean() > 0.95


def test_outlines_drawn_by_the_even_odd_rule_cover_the_patch():
    labels, labs = SCENES["board"]
    found = propose_patches(load_picture(picture_of(labels, labs)))
    for index, patch in enumerate(found.patches):
        drawn = np.zeros((HEIGHT, WIDTH), dtype=bool)
        for polygon in patch.outline:
            window = Region(polygon).window((WIDTH, HEIGHT))
            drawn[window.rows, window.columns] ^= window.inside
        mask = found.mask(index, (WIDTH, HEIGHT))
        assert (drawn & mask).sum() / (drawn | mask).sum() > 0.9


def test_small_pieces_of_a_patch_are_outlined_and_specks_are_not():
    mask = np.zeros((200, 300), dtype=bool)
    mask[20:120, 20:220] = True
    mask[150:158, 40:48] = True  # 64 pixels: twice the least
    mask[150:153, 100:103] = True
    assert len(outlines(mask)) == 2


def test_names_tell_grain_filler_and_old_paint_apart():
    labels, labs = SCENES["board"]
    names = {p.name for p in propose_patches(load_picture(picture_of(labels, labs))).patches}
    assert {"light grain", "dark grain", "filler or pale patch"} < names
    [paint] = names - {"light grain", "dark grain", "filler or pale patch"}
    assert "green" in paint
    assert paint.endswith("patch")


def test_the_same_bytes_give_the_same_patches():
    labels, labs = SCENES["board"]
    data = picture_of(labels, labs)
    one, two = (propose_patches(load_picture(data)) for _ in range(2))
    assert one.patches == two.patches
    np.testing.assert_array_equal(one.labels, two.labels)


def test_a_plain_surface_is_one_patch_and_said_so():
    labels = np.zeros((HEIGHT, WIDTH), dtype=int)
    found = propose_patches(load_picture(picture_of(labels, [PINE_LIGHT], ratio=2.0)))
    assert [p.share for p in found.patches] == [1.0]
    assert any("looks even" in note for note in found.notes)


def test_fewer_patches_are_proposed_where_fewer_are_asked_for():
    labels, labs = SCENES["five"]
    found = propose_patches(load_picture(picture_of(labels, labs)), most=3)
    assert len(found.patches) == 3
    with pytest.raises(InputError, match="1 to 6"):
        propose_patches(load_picture(picture_of(labels, labs)), most=9)


def test_an_area_keeps_the_rest_of_the_picture_out():
    labels, labs = two_halves(PINE_LIGHT, OLD_PAINT)
    picture = load_picture(picture_of(labels, labs))
    found = propose_patches(picture, Region.rectangle(0.0, 0.0, 0.45, 1.0))
    assert len(found.patches) == 1
    assert ciede2000(found.patches[0].lab, seen(labs)[0]) < 1.0


def test_an_area_outside_or_too_small_is_refused():
    labels, labs = SCENES["grain"]
    picture = load_picture(picture_of(labels, labs))
    with pytest.raises(ImageError, match="outside the picture"):
        propose_patches(picture, Region.rectangle(0.0, 0.0, 1.5, 1.0))
    with pytest.raises(ImageError, match="at least"):
        propose_patches(picture, Region.rectangle(0.0, 0.0, 0.01, 0.01))


def test_beside_a_card_the_patches_come_in_true_colours_and_the_card_is_none_of_them():
    wood, filler = camera.training_samples()[[120, 60]]
    scene = camera.Scene(WIDTH, HEIGHT, wood)
    scene.add(filler, surfaces.disc(HEIGHT, WIDTH, 0.6, 0.4, 0.14))
    white = camera.neutral(0.88)
    scene.add_box(white, (0.04, 0.55, 0.32, 0.95))
    rng = np.random.default_rng(2)
    picture = load_picture(camera.photograph(scene, camera.phone(), "D65", rng, glare=0))
    card = Card.measured(Region.rectangle(0.06, 0.58, 0.3, 0.92), camera.true_lab(white))
    found = propose_patches(picture, cards=[card], light="cloud")
    assert len(found.patches) == 2
    for patch, true in zip(found.patches, camera.true_lab([wood, filler]), strict=True):
        assert ciede2000(patch.lab, true) < patch.radius
        assert patch.colour.basis == "card"


def test_a_piece_all_burnt_out_is_refused():
    picture = load_picture(picture_of(*SCENES["grain"]))
    picture.clipped_high[:] = True
    with pytest.raises(ImageError, match="too little of the surface"):
        propose_patches(picture)


LAMPS = [(1.4, (0.2, 0.2)), (0.9, (0.1, 0.1)), (0.7, (0.8, 0.7)), (0.6, (0.9, 0.1))]
"""Height of a lamp over the piece in picture widths, and where it stands."""


@pytest.mark.parametrize("by_card", [[], ["card"]])
@pytest.mark.parametrize(("height", "place"), LAMPS)
def test_a_board_under_a_near_lamp_is_parted_by_its_colours_alone(
    height, place, by_card, monkeypatch
):
    monkeypatch.setattr(camera, "fall_off", camera.near_lamp(height, place))
    waves = np.clip((np.arange(380, 781, 5) - 450) / 300, 0.0, 1.0)
    pine, late, filler = 0.12 + 0.5 * waves, 0.05 + 0.25 * waves, camera.neutral(0.7)
    grain = surfaces.grain(HEIGHT, WIDTH, 2).astype(float)
    spot = surfaces.disc(HEIGHT, WIDTH, 0.6, 0.5, 0.12).astype(float)
    white = camera.neutral(0.88)
    cards = [Card.measured(Region.rectangle(0.05, 0.06, 0.18, 0.27), camera.true_lab(white))]
    for laid, count in (((), 1), (((late, grain),), 2), (((filler, spot),), 2)):
        scene = camera.Scene(WIDTH, HEIGHT, pine)
        for spectrum, cover in laid:
            scene.add(spectrum, cover)
        scene.add_box(white, (0.03, 0.04, 0.2, 0.3))
        rng = np.random.default_rng(1)
        data = camera.photograph(scene, camera.phone(), "D65", rng, glare=0, level=(0.6, 0.7))
        board = Region.rectangle(0.24, 0.02, 0.98, 0.98)
        found = propose_patches(load_picture(data), board, cards=cards if by_card else [])
        assert len(found.patches) == count
        inside = found.labels >= 0
        for _, cover in laid:
            rows, columns = (
                np.linspace(0, n - 1, m).astype(int)
                for n, m in zip(cover.shape, inside.shape, strict=True)
            )
            true = cover[np.ix_(rows, columns)][inside].mean()
            assert min(abs(p.share - true) for p in found.patches) < 0.05


@pytest.mark.parametrize("seed", range(6))
def test_surfaces_of_chance_colours_are_parted_alike(seed):
    rng = np.random.default_rng(seed)
    labs = [PINE_LIGHT]
    while len(labs) < 4:
        # Surfaces that meet brushes: neither black nor very vivid.
        lab = (rng.uniform(30, 88), rng.uniform(-20, 25), rng.uniform(-10, 40))
        if min(float(ciede2000(lab, other)) for other in labs) > 12.0:
            labs.append(lab)
    labels = board(HEIGHT, WIDTH, seed)[0]
    found = propose_patches(load_picture(picture_of(labels, labs, texture=0.03, seed=seed)))
    shares = np.bincount(labels.ravel()) / labels.size
    for index, patch in enumerate(found.patches):
        mask = found.mask(index, (WIDTH, HEIGHT))
        i = int(np.bincount(labels[mask], minlength=4).argmax())
        assert abs(patch.share - shares[i]) < 0.05
        assert ciede2000(patch.lab, seen(labs)[i]) < 2.0
    assert len(found.patches) == 4
