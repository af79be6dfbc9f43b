"""The open text format of ISO 28178."""

from __future__ import annotations

import numpy as np
import pytest

from showthrough.colour.bands import reading_from_spectrum
from showthrough.colour.files.cgats import readings_from_cgats, samples_from_cgats
from showthrough.colour.files.cgats_tables import looks_like_cgats
from showthrough.colour.files.spectra import parse_spectra, read_spectral_file
from showthrough.errors import InputError

NM = range(400, 701, 10)
RAMP = [0.05 + 0.9 * i / 30 for i in range(31)]
GREY = [0.5] * 31


def file_of(fields, *rows, keywords=()):
    return "\n".join(
        [
            "CGATS.17",
            'ORIGINATOR "made for a test"',
            *keywords,
            f"NUMBER_OF_FIELDS {len(fields.split())}",
            "BEGIN_DATA_FORMAT",
            fields,
            "END_DATA_FORMAT",
            f"NUMBER_OF_SETS {len(rows)}",
            "BEGIN_DATA",
            *rows,
            "END_DATA",
        ]
    )


def numbers(values, scale=1.0):
    return " ".join(f"{value * scale:.6g}" for value in values)


class TestSpectra:
    @pytest.mark.parametrize(
        ("prefix", "scale"),
        [
            ("SPECTRAL_NM", 1.0),
            ("SPECTRAL_NM", 100.0),
            ("SPECTRAL_NM_", 1.0),
            ("SPECTRAL_PCT", 100.0),
            ("SPECTRAL_DEC", 1.0),
            ("SPECTRAL_", 1.0),
            ("SPEC_", 100.0),
            ("nm", 1.0),
            ("R_", 100.0),
        ],
    )
    def test_fields_that_carry_their_wavelength_are_read(self, prefix, scale):
        fields = "SAMPLE_ID SAMPLE_NAME " + " ".join(f"{prefix}{nm}" for nm in NM)
        first, second = readings_from_cgats(
            file_of(
                fields, f'1 "pale ramp" {numbers(RAMP, scale)}', f"2 grey {numbers(GREY, scale)}"
            )
        )
        assert (first.text, second.text) == ("pale ramp", "grey")
        np.testing.assert_allclose(first.reflectance, RAMP, atol=1e-6)
        np.testing.assert_allclose(second.reflectance, GREY, atol=1e-6)

    @pytest.mark.parametrize(("kind", "scale"), [("SPECTRAL_PCT", 100.0), ("SPECTRAL_DEC", 1.0)])
    def test_pairs_of_wavelength_and_value_are_read(self, kind, scale):
        pairs = " ".join(f"{nm} {v * scale:.6g}" for nm, v in zip(NM, RAMP, strict=True))
        (reading,) = readings_from_cgats(
            file_of("SAMPLE_ID " + f"SPECTRAL_NM {kind} " * 31, f"A1 {pairs}")
        )
        assert reading.text == "A1"
        np.testing.assert_allclose(reading.reflectance, RAMP, atol=1e-6)

    def test_a_stated_unit_holds_for_values_that_leave_it_open(self):
        fields = " ".join(f"SPECTRAL_PCT{nm}" for nm in NM)
        (black,) = readings_from_cgats(file_of(fields, numbers([0.9] * 31)))
        np.testing.assert_allclose(black.reflectance, 0.009)

    def test_a_decimal_comma_and_remarks_are_understood(self):
        fields = "SAMPLE_ID " + " ".join(f"nm{nm}" for nm in NM)
        row = "7 " + numbers(RAMP).replace(".", ",") + " # the end"
        (reading,) = readings_from_cgats(file_of(fields, row))
        np.testing.assert_allclose(reading.reflectance, RAMP, atol=1e-6)

    def test_a_spectrum_is_taken_before_cielab(self):
        fields = "LAB_L LAB_A LAB_B " + " ".join(f"nm{nm}" for nm in NM)
        (reading,) = readings_from_cgats(file_of(fields, "90 0 0 " + numbers(GREY)))
        assert reading.lab is None

    def test_the_format_may_stand_over_several_lines_and_serve_two_tables(self):
        names = [f"nm{nm}" for nm in NM]
        text = file_of(" ".join(names[:16]) + "\n" + " ".join(names[16:]), numbers(RAMP))
        text += f"\nNUMBER_OF_SETS 1\nBEGIN_DATA\n{numbers(GREY)}\nEND_DATA\n"
        first, second = readings_from_cgats(text)
        np.testing.assert_allclose(first.reflectance, RAMP, atol=1e-6)
        np.testing.assert_allclose(second.reflectance, GREY)

    @pytest.mark.parametrize(
        ("keyword", "included"),
        [
            ('MEASUREMENT_GEOMETRY "d/8 specular included"', True),
            ('MEASUREMENT_GEOMETRY "di:8"', True),
            ('MEASUREMENT_GEOMETRY "SCI"', True),
            ('MEASUREMENT_GEOMETRY "de:8"', False),
            ('MEASUREMENT_GEOMETRY "45/0"', False),
        ],
    )
    def test_the_geometry_tells_whether_the_mirror_is_included(self, keyword, included):
        text = file_of(" ".join(f"nm{nm}" for nm in NM), numbers(GREY), keywords=[keyword])
        assert readings_from_cgats(text)[0].specular_included is included
        assert not readings_from_cgats(text, specular_included=False)[0].specular_included


class TestCielab:
    @pytest.mark.parametrize(
        ("keywords", "light"),
        [
            (['WEIGHTING_FUNCTION "ILLUMINANT, D65"', 'WEIGHTING_FUNCTION "OBSERVER, 10 degree"'],
             ("D65", 10)),
            (['ILLUMINATION_NAME "D50"', 'OBSERVER_ANGLE "2"'], ("D50", 2)),
            (['MEASUREMENT_SOURCE "Illumination=A ObserverAngle=10 Filter=no"'], ("A", 10)),
            (['ILLUMINANT "C"'], ("C", 2)),
        ],
    )  # fmt: skip
    def test_it_is_read_in_the_light_that_the_keywords_state(self, keywords, light):
        text = file_of("SAMPLE_ID LAB_L LAB_A LAB_B", "A 50 1 -2", keywords=keywords)
        (reading,) = readings_from_cgats(text)
        assert reading.lab == (50.0, 1.0, -2.0)
        assert (reading.illuminant, reading.observer) == light
        assert reading.notes == ()

    def test_without_a_statement_the_standards_light_is_taken_and_said(self):
        # Source: ISO 13655: D50 and 2 degrees.
        (reading,) = readings_from_cgats(file_of("LAB_L LAB_A LAB_B", "50 1 2"))
        assert (reading.illuminant, reading.observer) == ("D50", 2)
        assert "D50 is taken (ISO 13655)" in reading.notes[0]

    def test_a_light_given_beside_the_file_holds(self):
        text = file_of("LAB_L LAB_A LAB_B", "50 1 2", keywords=['ILLUMINANT "D50"'])
        (reading,) = readings_from_cgats(text, illuminant="A", observer=10)
        assert (reading.illuminant, reading.observer) == ("A", 10)

    def test_xyz_is_read(self):
        text = file_of("XYZ_X XYZ_Y XYZ_Z", "96.42 100 82.52", keywords=['ILLUMINANT "D50"'])
        np.testing.assert_allclose(readings_from_cgats(text)[0].lab, (100, 0, 0), atol=0.05)


class TestNames:
    @pytest.mark.parametrize(
        ("fields", "row", "name"),
        [
            ("SAMPLE_NAME SAMPLE_ID SAMPLE_LOC", '"pale ramp" 7 B2', "pale ramp"),
            ("SAMPLE_ID SAMPLE_LOC", "7 B2", "7"),
            ("SAMPLE_LOC", "B2", "B2"),
            ("SAMPLE_NAME SAMPLE_LOC", '"" B2', "B2"),
            ("STRING", "x", "row 2"),
        ],
    )
    def test_a_sample_has_the_best_name_that_the_file_gives(self, fields, row, name):
        text = file_of(f"{fields} LAB_L LAB_A LAB_B", f"{row} 50 1 2", f"{row} 60 1 2")
        assert readings_from_cgats(text)[1].text == name


class TestForms:
    @pytest.mark.parametrize(
        "change",
        [
            lambda text: "\ufeff" + text.partition("keywords\n")[2],
            lambda text: text.replace("\n", "\r"),
            lambda text: text.replace("\n", "\r\n"),
            str.lower,
            lambda text: text.replace(".", ","),
        ],
        ids=["a mark at the start", "old newlines", "both newlines", "small", "commas"],
    )
    def test_the_same_is_read_however_the_text_is_written(self, change):
        text = file_of("LAB_L LAB_A LAB_B", "50.5 1 2").partition("NUMBER_OF_FIELDS 3\n")[2]
        text = change("keywords\n" + text)
        assert looks_like_cgats(text)
        assert parse_spectra(text)[0].lab == (50.5, 1.0, 2.0)

    def test_one_wild_value_does_not_turn_a_file_of_fractions_into_percents(self):
        rows = [f"{i} {numbers(GREY)}" for i in range(30)]
        rows[3] = "3 " + numbers([50.0, *GREY[1:]])
        samples = samples_from_cgats(
            file_of("SAMPLE_ID " + " ".join(f"nm{nm}" for nm in NM), *rows)
        )
        assert [s.name for s in samples if s.problems] == ["3"]
        assert all(s.reading.reflectance == (0.5,) * 31 for s in samples if s.reading)


class TestFaults:
    @pytest.mark.parametrize(
        ("text", "message"),
        [
            (file_of("CMYK_C CMYK_M", "1 2"), "the fields hold no colour"),
            (file_of("LAB_L LAB_A LAB_B", "50 1"), "2 values for 3 fields"),
            (file_of("LAB_L LAB_A LAB_B", "50 1 x"), "'x' is not a number"),
            (file_of("LAB_L LAB_A LAB_B", "150 1 2"), r"L\* 150 is outside"),
            (file_of("LAB_L LAB_A LAB_B"), "holds no samples"),
            (file_of("LAB_L LAB_A LAB_B", "5 1 2").replace("SETS 1", "SETS 9"),
             "says 9, 1 samples"),
            (file_of("LAB_L LAB_A LAB_B", "5 1 2").replace("END_DATA\n", "\n", 1)[:-9],
             "END_DATA is missing"),
            (file_of("LAB_L LAB_A LAB_B", "5 1 2") + "\nEND_DATA", "without its beginning"),
            (file_of(" ".join(f"nm{nm}" for nm in NM), numbers([1.5] * 31)),
             "fraction or a percentage"),
            (file_of("LAB_L LAB_A LAB_B LAB_L LAB_A LAB_B", "5 1 2 5 1 2"),
             "the field list names LAB_L, LAB_A, LAB_B more than once"),
            (file_of("END_DATA_FORMAT\nBEGIN_DATA_FORMAT\nLAB_L LAB_A LAB_B", "5 1 2"),
             "the field list comes twice"),
            (file_of(f"SPECTRAL_NM400 {'SPECTRAL_NM410 ' * 20}", "1 " * 21), "SPECTRAL_NM410 more"),
            (file_of("SPECTRAL_NM SPECTRAL_DEC " * 20, "400 0.5 " * 20),
             "400 nm is given 20 times"),
            (file_of("SPECTRAL_NM SPECTRAL_DEC " * 6, "400 0.5 700 0.5 1e308 0.5 " * 2),
             "1e.308 nm is no wavelength"),
            (file_of("LAB_L LAB_A LAB_B", "5 1 2").replace("END_DATA_FORMAT", "", 1),
             "BEGIN_DATA before END_DATA_FORMAT"),
            ("BEGIN_DATA\n1 2 3\n4 5 6\nEND_DATA", "no BEGIN_DATA_FORMAT names fields"),
            (file_of("LAB_L LAB_A LAB_B", "5 1 2", keywords=["OBSERVER " + "9" * 5000]),
             "observer 9999 is not known"),
            (file_of(" ".join(f"nm{nm}" for nm in range(420, 701, 10)), numbers(GREY[2:])),
             "covers 420 to 700"),
        ],
    )  # fmt: skip
    def test_a_file_that_cannot_be_read_says_why(self, text, message):
        with pytest.raises(InputError, match=message):
            readings_from_cgats(text)

    def test_all_faulty_samples_are_told_with_line_and_name(self):
        fields = "SAMPLE_NAME " + " ".join(f"SPECTRAL_DEC{nm}" for nm in NM)
        bad = numbers([-0.1, *GREY[1:]])
        text = file_of(fields, f"one {bad}", f"two {numbers(GREY)}", f"three {bad}")
        with pytest.raises(InputError) as caught:
            readings_from_cgats(text)
        assert [p.field for p in caught.value.problems] == ["line 9, one", "line 11, three"]
        assert all("-0.1 at 400 nm" in p.message for p in caught.value.problems)

    def test_a_light_that_is_none_is_one_fault_of_the_file(self):
        rows = [f"{i} 50 1 2" for i in range(40)]
        text = file_of("SAMPLE_ID LAB_L LAB_A LAB_B", *rows, keywords=["ILLUMINANT F11"])
        with pytest.raises(InputError) as caught:
            readings_from_cgats(text)
        (problem,) = caught.value.problems
        assert "'F11' is not one a reading may state" in problem.message

    def test_a_count_that_is_no_number_is_passed_over(self):
        text = file_of("LAB_L LAB_A LAB_B", "5 1 2").replace("SETS 1", "SETS ²")
        assert len(readings_from_cgats(text)) == 1

    def test_of_very_many_faults_the_first_are_told_and_the_rest_counted(self):
        for row in ("50 1", "150 1 2", "50 x 2"):
            with pytest.raises(InputError, match="and 480 more like these") as caught:
                readings_from_cgats(file_of("LAB_L LAB_A LAB_B", *([row] * 500)))
            assert len(caught.value.problems) == 21

    def test_more_samples_than_any_collection_has_are_not_read(self):
        with pytest.raises(InputError, match="more than 20000 samples"):
            readings_from_cgats(file_of("LAB_L LAB_A LAB_B", *(["50 1 2"] * 20_001)))


def test_samples_that_cannot_be_stand_beside_those_that_can():
    text = file_of("SAMPLE_LOC XYZ_X XYZ_Y XYZ_Z", "A1 40 41 33", "A2 40 141 33", "A3 1 x 2")
    first, second, third = samples_from_cgats(text)
    assert first.reading is not None
    assert (second.name, third.name) == ("A2", "A3")
    assert "Y 141 is outside" in second.problems[0].message
    assert "'x' is not a number" in third.problems[0].message


def test_many_spectra_at_once_are_what_each_is_alone():
    # The reader of single spectra is the second implementation.
    rng = np.random.default_rng(3)
    for grid in (range(380, 731, 10), range(400, 701, 20), range(385, 716, 15), range(398, 708, 3)):
        values = np.round(rng.uniform(0.0, 1.1, (12, len(grid))), 4)
        rows = [f"{i} {numbers(v)}" for i, v in enumerate(values)]
        fields = "SAMPLE_ID " + " ".join(f"SPECTRAL_DEC{nm}" for nm in grid)
        for reading, v in zip(readings_from_cgats(file_of(fields, *rows)), values, strict=True):
            alone = reading_from_spectrum(list(grid), v.tolist(), percent=False)
            np.testing.assert_allclose(reading.reflectance, alone.reflectance, atol=1e-12)
            assert reading.notes == alone.notes


def test_the_format_is_recognised_by_its_tables(tmp_path):
    text = file_of("SAMPLE_NAME LAB_L LAB_A LAB_B", "pale 80 1 2", "dark 20 1 2")
    assert looks_like_cgats(text)
    assert not looks_like_cgats("400,0.5\n410,0.5")
    assert parse_spectra(text) == readings_from_cgats(text)
    file = tmp_path / "patches.txt"
    file.write_text(text, "utf-8")
    assert read_spectral_file(file, "dark").lab == (20.0, 1.0, 2.0)
