"""Swatch files: our own samples, and a painter's."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from showthrough.colour.files.shipped import swatch_text
from showthrough.colour.files.swatches import (
    COLUMNS,
    SKINS,
    Swatch,
    common_words,
    find_swatch,
    nearest_swatches,
    parse_swatches,
    read_swatches,
    shipped_swatches,
)
from showthrough.colour.names import describe_colour
from showthrough.colour.notation import parse_colour
from showthrough.colour.reading import Reading, colours_of
from showthrough.colour.space import lab_to_lch
from showthrough.colour.spectrum import PAINT_BOUNDS, SURFACE_BOUNDS
from showthrough.errors import InputError, NotationError
from showthrough.workshop.grounds import GROUND_KINDS

TOPCOATS = shipped_swatches("topcoats")
SURFACES = shipped_swatches("surfaces")


def labs(swatches, bounds):
    return np.array([colour.lab for colour in colours_of([s.reading for s in swatches], bounds)])


class TestShipped:
    def test_there_are_enough_of_them(self):
        assert len(TOPCOATS) >= 60
        assert len(SURFACES) >= 12

    def test_every_topcoat_is_a_colour_that_paint_can_have(self):
        colours = colours_of([swatch.reading for swatch in TOPCOATS], PAINT_BOUNDS)
        assert [c.text for c in colours if c.notes] == []

    def test_every_surface_is_a_colour_that_a_surface_can_have(self):
        colours = colours_of([swatch.reading for swatch in SURFACES], SURFACE_BOUNDS)
        assert [c.text for c in colours if c.notes] == []

    def test_topcoats_spread_over_lightness_chroma_and_hue(self):
        lightness, chroma, hue = lab_to_lch(labs(TOPCOATS, PAINT_BOUNDS)).T
        assert lightness.min() < 20.0
        assert lightness.max() > 95.0
        grey = chroma < 5.0
        assert grey.sum() >= 8
        # In each of twelve sectors of hue: something pale, something middling, something deep.
        for start in range(0, 360, 30):
            here = ~grey & (hue >= start) & (hue < start + 30)
            assert (lightness[here] > 75.0).any()
            assert ((lightness[here] >= 45.0) & (lightness[here] <= 75.0)).any()
            assert (lightness[here] < 45.0).any()
        # And vivid ones all round.
        for start in range(0, 360, 60):
            assert (chroma[(hue >= start) & (hue < start + 60)] > 40.0).any()

    def test_topcoats_are_named_by_our_words_and_their_lightness(self):
        for swatch in TOPCOATS:
            lab = swatch.reading.lab
            assert swatch.name == f"{describe_colour(lab)} {lab[0]:.0f}"

    def test_the_colours_of_the_common_practice_table_are_among_them(self):
        # Source: common practice, no source; the rows that the README prints.
        shipped = {swatch.reading.lab for swatch in TOPCOATS}
        for lab in [
            (66, -24, 55),
            (96, -0.5, 2),
            (92, 0, 6),
            (82, 6, 80),
            (42, 58, 38),
            (24, 3, -22),
            (18, 0, 0),
            (55, 0, 0),
            (75, 0, 0),
            (65, -10, 10),
        ]:
            assert lab in shipped

    def test_every_surface_says_what_it_is(self):
        for swatch in SURFACES:
            assert swatch.skin in SKINS
            assert swatch.ground in GROUND_KINDS
            assert isinstance(swatch.porous, bool)
            assert isinstance(swatch.bleeds, bool)

    def test_bare_and_coated_porous_and_bleeding_surfaces_are_all_there(self):
        assert {s.skin for s in SURFACES} == set(SKINS)
        assert {s.porous for s in SURFACES} == {True, False}
        assert {s.bleeds for s in SURFACES} == {True, False}
        assert {"wood", "varnish", "laminate", "melamine", "gloss", "metal", "filler", "waxed"} <= {
            s.ground for s in SURFACES
        }

    def test_names_are_unique_over_all_sets(self):
        names = [swatch.name.lower() for swatch in (*TOPCOATS, *SURFACES)]
        assert len(set(names)) == len(names)

    def test_no_name_says_old(self):
        assert not [s.name for s in (*TOPCOATS, *SURFACES) if re.search(r"\bold\b", s.name)]

    @pytest.mark.parametrize("name", ["topcoats", "surfaces"])
    def test_the_files_say_that_all_is_invented(self, name):
        head = swatch_text(f"{name}.csv").splitlines()[0]
        assert head.startswith("#")
        assert "invented" in head

    def test_an_unknown_set_lists_those_there_are(self):
        with pytest.raises(InputError, match="use topcoats or surfaces"):
            shipped_swatches("finishes")


class TestFinding:
    def test_capitals_and_spaces_do_not_matter(self):
        assert find_swatch("  Vivid  YELLOW 82 ").reading.lab == (82.0, 6.0, 80.0)

    @pytest.mark.parametrize(
        ("name", "near"),
        [
            ("vivid yelow 82", "vivid yellow 82"),
            ("brown lamnate", "brown laminate"),
            ("blue", "blue 54"),
        ],
    )
    def test_a_wrong_name_is_told_the_nearest(self, name, near):
        with pytest.raises(NotationError) as caught:
            find_swatch(name)
        assert near in str(caught.value)

    @pytest.mark.parametrize(
        ("name", "first"),
        [  # Common practice, no source: what painters mean by these words.
            ("sage green", "light greyish green 67"),
            ("Sage", "light greyish green 67"),
            ("duck egg blue", "pale blue-green 81"),
            ("charcoal", "very dark grey 25"),
            ("mustard", "vivid yellow 80"),
            # Without a hint: those that share the hue, the nearest spelling first.
            ("darkish green", "dark green 30"),
            ("palest blue", "pale blue 8"),
        ],
    )
    def test_a_common_word_says_what_is_offered_first(self, name, first):
        found = nearest_swatches(name, shipped_swatches("topcoats"))
        assert found[0].name.startswith(first)
        assert len({swatch.name for swatch in found}) == 3

    def test_a_hue_that_was_said_is_the_hue_of_every_offer(self):
        for name in ("sage green", "bluish green", "some odd green", "forest green"):
            for swatch in nearest_swatches(name, shipped_swatches("topcoats")):
                assert "green" in swatch.name, (name, swatch.name)

    def test_a_slip_of_the_pen_comes_before_every_hint(self):
        found = nearest_swatches("dark cool gery 38", shipped_swatches("topcoats"))
        assert found[0].name == "dark cool grey 38"

    def test_each_common_word_offers_three_of_ours_and_is_no_colour(self):
        ours = {swatch.name for swatch in shipped_swatches("topcoats")}
        for word, names in common_words().items():
            assert len(set(names)) == 3
            assert set(names) <= ours, word
            with pytest.raises(NotationError):
                find_swatch(word)

    @pytest.mark.parametrize("name", ["", "zzzzzz"])
    def test_a_name_like_none_is_shown_what_names_look_like(self, name):
        with pytest.raises(NotationError, match="names are such as: white 96"):
            find_swatch(name)

    def test_ones_own_swatches_can_be_searched(self):
        mine = parse_swatches("name,L,a,b\nmy blue,40,0,-30")
        assert find_swatch("My blue", mine).reading.lab == (40.0, 0.0, -30.0)
        with pytest.raises(NotationError, match="no swatches at all"):
            find_swatch("x", ())


class TestParsing:
    def test_four_columns_are_enough(self):
        (swatch,) = parse_swatches("name,L,a,b\nmy blue,40,0,-30\n")
        reading = Reading(lab=(40, 0, -30), text="my blue")
        assert swatch == Swatch("my blue", reading)

    def test_every_column_is_read(self):
        row = "bare oak,67,7,23,A,10,included,measured,BARE,yes,Wood,no"
        (swatch,) = parse_swatches(f"{','.join(COLUMNS)}\n{row}\n")
        assert swatch == Swatch(
            "bare oak",
            Reading((67.0, 7.0, 23.0), None, "A", 10, True, "bare oak"),
            "measured",
            "bare",
            True,
            "wood",
            False,
        )

    @pytest.mark.parametrize(
        "text",
        [
            "name;L;a;b\nmy blue;40,5;0;-30",
            "name\tL*\ta*\tb*\nmy blue\t40.5\t0\t-30",
            "\ufeffNAME,l,A,B\r\nmy blue,40.5,0,−30\r\n",
            '# mine\nb,a,L,name,maker\n-30,0,40.5,"my blue",x\n',
        ],
    )
    def test_the_usual_forms_of_a_table_are_read(self, text):
        (swatch,) = parse_swatches(text)
        assert swatch.name == "my blue"
        assert swatch.reading.lab == (40.5, 0.0, -30.0)

    def test_all_faulty_rows_are_told_at_once_with_their_numbers(self):
        text = (
            "# mine\n"
            "name,L,a,b,illuminant,observer,specular\n"
            "x,1,2\n"
            ",50,x,3,D65,2,excluded\n"
            "y,120,0,0,D70,3,maybe\n"
            "z,50,0,0,D50,10,included\n"
            "Z,50,0,0,,,\n"
            "w,,0,nan,,,\n"
        )
        with pytest.raises(InputError) as caught:
            parse_swatches(text)
        told = {(p.field, p.message.split(";")[0]) for p in caught.value.problems}
        assert told == {
            ("row 3", "the row has 3 cells, the header has 7"),
            ("row 4.name", "the name is empty"),
            ("row 4.a", "'x' is not a number"),
            ("row 5.lab", "L* 120 is outside 0 to 100, from black to white"),
            ("row 5.illuminant", "illuminant 'D70' is not one a reading may state"),
            ("row 5.observer", "observer '3' is not known"),
            ("row 5.specular", "specular 'maybe' is not known"),
            ("row 7.name", "'Z' is already the name of row 6"),
            ("row 8.L", "the cell is empty"),
            ("row 8.b", "'nan' is not a number"),
        }

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("", "is empty"),
            ("# nothing\n", "is empty"),
            ("name,L,a\nx,1,2", "the column b is missing"),
            ("name,L,a,b,b\nx,1,2,3,4", "the column b stands there twice"),
            ("name,L,a,b\n", "has a header, but no swatches"),
            ("name,L,a,b\n" + "x" * 90 + ",50,0,0", "at most 80 characters"),
            ("name,L,a,b\n" + "x,50,0,0\n" * 20_001, "at most 20000 are read"),
            ('name,L,a,b\n"' + "x" * 200_000 + '",50,0,0', "is no CSV"),
        ],
    )
    def test_a_file_that_cannot_be_read_says_why(self, text, message):
        with pytest.raises(InputError, match=message):
            parse_swatches(text)

    @pytest.mark.parametrize(
        ("text", "colour"),
        [
            ("name,hex\npale green,#a3b84c", "#a3b84c"),
            ("hex;name\na3b84c;pale green", "#a3b84c"),
            ("pale green,#a3b84c", "#a3b84c"),
            ("#a3b84c\tpale green", "#a3b84c"),
            ("# mine\nhex,name\n#a3b84c,pale green", "#a3b84c"),
            ("\ufeffName;Hex\r\npale green;#A3B84C\r\n", "#a3b84c"),
            ("name,hex\rpale green,#a3b84c\r", "#a3b84c"),
            ("name,munsell\npale green,5GY 6/8", "5GY 6/8"),
            ("name,lab,illuminant\npale green,66 -24 55,D50", "lab(66 -24 55) D50/2"),
            ('name,colour\npale green,"lch(66, 60, 114)"', "lch(66 60 114)"),
            ("name;LRV\npale green;45,5", "lrv 45.5"),
            ("name,rgb,maker\npale green,163 184 76,mine", "rgb(163 184 76)"),
        ],
    )
    def test_a_name_and_one_colour_in_any_notation_are_enough(self, text, colour):
        (swatch,) = parse_swatches(text)
        assert swatch.name == "pale green"
        assert swatch.reading == replace(parse_colour(colour), text="pale green")

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("name,hex,rgb\nx,#123,1 2 3", "more than once: hex and rgb; keep one"),
            ("name,hex,hex\nx,#123,#123", "the column hex stands there twice"),
            ("hex\n#123", "the column name is missing"),
            (
                "name,munsell\n" + "x,5GY 6/8\n" * 151,
                "151 Munsell notations with a hue; at most 150",
            ),
            ("400;0,400\n410;0,410\n", "the column name is missing"),
            ("name,hex\nx,", "row 2.hex: the cell is empty"),
            ("name,hex\nx,#12", "3 or 6 digits, this one has 2"),
            ("name,hex,illuminant\nx,#123,A", "hex is defined for D65"),
            ("name,lab\nx,lab(66, -24, 55)", "what holds commas stands in quotes"),
            ("name,L,a,b\nx,40,5,0,-30", "decimals need a point"),
            ("name,L,a,b\n\x1b[31mred,40,5,0", "cannot be printed"),
        ],
    )
    def test_a_colour_column_that_is_wrong_says_why(self, text, message):
        with pytest.raises(InputError, match=re.escape(message)):
            parse_swatches(text)

    def test_a_collection_of_iso_28178_is_a_swatch_file(self):
        text = (
            "BEGIN_DATA_FORMAT\nSAMPLE_NAME LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n"
            '"pale ochre" 80 5 30\ngrey 50 0 0\ngrey 55 0 0\nEND_DATA\n'
        )
        swatches = parse_swatches(text)
        assert [s.name for s in swatches] == ["pale ochre", "grey", "grey (line 7)"]
        assert swatches[0].reading.lab == (80.0, 5.0, 30.0)
        assert swatches[0].reading.illuminant == "D50"

    def test_rows_that_cannot_be_used_stand_beside_those_that_can(self):
        file = read_swatches("name,L,a,b\nfine,50,0,0\nodd,x,0,0\n,1,2,3\nFine,1,2,3\n")
        assert [s.name for s in file.swatches] == ["fine"]
        assert [(row.name, row.reason) for row in file.faulty] == [
            ("odd", "row 3.L: 'x' is not a number"),
            ("row 4", "row 4.name: the name is empty"),
            ("Fine", "row 5.name: 'Fine' is already the name of row 2"),
        ]

    def test_of_very_many_faults_the_first_are_told_and_the_rest_counted(self):
        with pytest.raises(InputError, match="and 4980 more like these") as caught:
            parse_swatches("name,L,a,b\n" + "x,y,0,0\n" * 5000)
        assert len(caught.value.problems) == 21

    def test_thousands_of_rows_are_read(self):
        rows = [f"colour {i},{20 + i % 70},{i % 9},{i % 11}" for i in range(5000)]
        swatches = parse_swatches("\n".join(["name,L,a,b", *rows]))
        assert len(swatches) == 5000
        assert len(colours_of([s.reading for s in swatches])) == 5000
