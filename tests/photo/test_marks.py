"""Marks that are wrong: refused with the right one, or the radius follows."""

from __future__ import annotations

import numpy as np
import pytest

from reference import camera, surfaces
from showthrough.colour.difference import ciede2000
from showthrough.errors import ImageError
from showthrough.photo.calibrate.balance import GREY_CARD, Card
from showthrough.photo.measure import read_colour
from showthrough.photo.picture.load import load_picture
from showthrough.photo.place import Region

WHITE, GREY, DARK = (camera.neutral(share) for share in (0.88, 0.18, 0.05))
CHIP = camera.evaluation_samples()[48]
CARD_BOX, OTHER_BOX, CHIP_BOX = (0.06, 0.2, 0.3, 0.6), (0.34, 0.2, 0.54, 0.6), (0.6, 0.2, 0.9, 0.6)


def inner(box, margin=0.02):
    left, top, right, bottom = box
    return Region.rectangle(left + margin, top + margin, right - margin, bottom - margin)


def taken(*things, ground=DARK, **settings):
    scene = camera.Scene(480, 360, ground)
    for spectrum, box in things:
        scene.add_box(spectrum, box)
    settings = {"ratio": 1.3, "glare": 0, **settings}
    rng = np.random.default_rng(3)
    return load_picture(camera.photograph(scene, camera.phone(), "D65", rng, **settings))


def refused(picture, chip, **references):
    with pytest.raises(ImageError) as caught:
        read_colour(picture, chip, light="cloud", **references)
    [problem] = caught.value.problems
    return problem


class TestSwapped:
    def test_card_and_chip_are_offered_the_other_way_round(self):
        picture = taken((WHITE, CARD_BOX), (CHIP, CHIP_BOX))
        card, chip = inner(CARD_BOX), inner(CHIP_BOX)
        problem = refused(picture, card, cards=[Card(chip)])
        assert problem.code == "swapped"
        where = ["{:.4g},{:.4g},{:.4g},{:.4g}".format(*region.box) for region in (chip, card)]
        assert f"mark the chip at {where[0]} and the card at {where[1]}" in problem.message
        as_offered = read_colour(picture, chip, cards=[Card(card)], light="cloud")
        assert ciede2000(as_offered.lab, camera.true_lab(CHIP)) < as_offered.radius

    def test_a_grey_card_said_to_be_white_is_told_too(self):
        picture = taken((GREY, CARD_BOX), (WHITE, CHIP_BOX))
        problem = refused(picture, inner(CHIP_BOX), cards=[Card(inner(CARD_BOX))])
        assert problem.message.endswith("or if the card is a grey one, say so")

    def test_a_white_chip_is_none(self):
        pale = camera.neutral(0.86)
        picture = taken((WHITE, CARD_BOX), (pale, CHIP_BOX), ratio=2.0)
        colour = read_colour(picture, inner(CHIP_BOX), cards=[Card(inner(CARD_BOX))])
        assert ciede2000(colour.lab, camera.true_lab(pale)) < colour.radius

    def test_kinds_of_two_cards_are_told(self):
        picture = taken((WHITE, CARD_BOX), (GREY, OTHER_BOX), (CHIP, CHIP_BOX))
        cards = [Card(inner(OTHER_BOX)), Card(inner(CARD_BOX), GREY_CARD)]
        problem = refused(picture, inner(CHIP_BOX), cards=cards)
        assert problem.field == "cards[1]"
        assert "check which is the white, the grey" in problem.message
        right = [Card(inner(CARD_BOX)), Card(inner(OTHER_BOX), GREY_CARD)]
        assert read_colour(picture, inner(CHIP_BOX), cards=right).basis == "card"


class TestAGreyCard:
    def test_that_is_white_is_told(self):
        picture = taken((WHITE, CARD_BOX), (CHIP, CHIP_BOX))
        problem = refused(picture, inner(CHIP_BOX), cards=[Card(inner(CARD_BOX), GREY_CARD)])
        assert problem.field == "cards[0]"
        assert "say white if it is white" in problem.message

    def test_beside_white_paper_is_believed(self):
        picture = taken((GREY, CARD_BOX), (WHITE, OTHER_BOX), (CHIP, CHIP_BOX))
        colour = read_colour(picture, inner(CHIP_BOX), cards=[Card(inner(CARD_BOX), GREY_CARD)])
        assert ciede2000(colour.lab, camera.true_lab(CHIP)) < colour.radius

    def test_of_known_colour_is_believed(self):
        picture = taken((GREY, CARD_BOX), (CHIP, CHIP_BOX), level=(2.4, 2.5))
        card = Card.measured(inner(CARD_BOX), camera.true_lab(GREY))
        assert read_colour(picture, inner(CHIP_BOX), cards=[card]).basis == "card"


class TestOnWood:
    @pytest.mark.parametrize("texture", [0.0, 0.05])
    def test_a_card_is_no_card(self, texture):
        labels, labs = surfaces.board()
        picture = load_picture(surfaces.picture_of(labels, labs, texture=texture))
        for box in ((0.05, 0.6, 0.3, 0.9), (0.5, 0.1, 0.75, 0.45)):
            problem = refused(
                picture, Region.rectangle(0.6, 0.8, 0.9, 0.95), cards=[Card(Region.rectangle(*box))]
            )
            assert problem.field == "cards[0]"
            assert "wood" in problem.message

    def test_nor_on_a_plain_coloured_table(self):
        # Invented: a reddish wood without its grain.
        tan = 0.05 + 0.5 * np.clip((np.arange(380, 781, 5) - 520) / 120, 0.0, 1.0)
        picture = taken((CHIP, CHIP_BOX), ground=tan, noise=0.002)
        problem = refused(
            picture, inner(CHIP_BOX), cards=[Card(Region.rectangle(0.2, 0.3, 0.4, 0.6))]
        )
        assert "the surface around it" in problem.message


def test_opposite_corners_under_a_near_lamp_widen_the_radius(monkeypatch):
    # On grained wood nothing shows the light between card and chip.
    rng = np.random.default_rng(5)
    checks = (rng.random((18, 24)) > 0.5).repeat(20, 0).repeat(20, 1).astype(float)
    inside, radii = [], []
    for i in range(12):
        place = rng.uniform(0.0, 0.3, 2) if i % 2 else rng.uniform(0.7, 1.0, 2)
        monkeypatch.setattr(camera, "fall_off", camera.near_lamp(rng.uniform(0.7, 1.4), place))
        scene = camera.Scene(480, 360, camera.neutral(0.45))
        scene.add(camera.training_samples()[20], checks)
        scene.add_box(WHITE, (0.03, 0.04, 0.2, 0.24))
        sample = camera.evaluation_samples()[8 * i]
        scene.add_box(sample, (0.8, 0.76, 0.97, 0.96))
        data = camera.photograph(scene, camera.phone(), "D65", rng, level=(0.6, 0.7))
        card = Card.measured(Region.rectangle(0.05, 0.06, 0.18, 0.22), camera.true_lab(WHITE))
        chip = Region.rectangle(0.82, 0.78, 0.95, 0.94)
        said = {"light": "cloud", "processing": "plain"}
        colour = read_colour(load_picture(data), chip, cards=[card], **said)
        inside.append(ciede2000(colour.lab, camera.true_lab(sample)) <= colour.radius)
        radii.append(colour.radius)
    # 95 of 100 promised; without the lamp's bend in it half of them are outside.
    assert sum(inside) >= 10
    assert np.median(radii) < 20.0


class TestPaleWoodTakenForACard:
    # A smooth pale board, its reflectance rising evenly to the red (invented, as all boards here).
    WOOD = 0.48 + 0.28 * np.linspace(0.0, 1.0, 81)

    def read(self, *cards):
        picture = taken((self.WOOD, CARD_BOX), (GREY, OTHER_BOX), (CHIP, CHIP_BOX))
        return read_colour(picture, inner(CHIP_BOX), light="cloud", cards=cards)

    def test_is_unnoticed_by_itself_and_so_every_reading_says_what_was_taken_on_trust(self):
        found = self.read(Card(inner(CARD_BOX)))
        assert sum("taken on trust that the mark lies on the card" in n for n in found.notes) == 1

    def test_shows_itself_beside_a_second_card(self):
        found = self.read(Card(inner(CARD_BOX)), Card(inner(OTHER_BOX), GREY_CARD))
        assert any("disagrees with the first card" in note for note in found.notes)
        assert not any("on trust" in note for note in found.notes)

    def test_two_true_cards_do_not_disagree(self):
        picture = taken((WHITE, CARD_BOX), (GREY, OTHER_BOX), (CHIP, CHIP_BOX))
        cards = [
            Card.measured(inner(box), camera.true_lab(own))
            for own, box in ((WHITE, CARD_BOX), (GREY, OTHER_BOX))
        ]
        found = read_colour(picture, inner(CHIP_BOX), light="cloud", cards=cards)
        assert not any("disagrees" in note or "on trust" in note for note in found.notes)
