"""Spectra from CSV text and from files."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showthrough.colour.files.spectra import (
    parse_spectra,
    parse_spectra_csv,
    read_spectral_file,
    reading_from_grid,
)
from showthrough.errors import InputError, NotationError

NM = range(400, 701, 10)
VALUES = [round(0.05 + 0.9 * i / 30, 6) for i in range(31)]
PAIRS = list(zip(NM, VALUES, strict=True))


def columns(part=",", scale=1.0, head="", point="."):
    rows = [f"{nm}{part}{value * scale:.5g}".replace(".", point) for nm, value in PAIRS]
    return "\n".join([head, *rows] if head else rows) + "\n"


def one(text, **options):
    (reading,) = parse_spectra(text, **options)
    return reading


class TestColumns:
    @pytest.mark.parametrize(
        "text",
        [
            columns(),
            columns(part=", "),
            columns(part=";"),
            columns(part="\t"),
            columns(part="   "),
            columns(part=";", point=","),
            columns(part="\t", point=","),
            columns(part=" ", point=","),
            columns(head="wavelength,reflectance"),
            columns(head="wavelength (nm),value"),
            columns(head="# a remark\n\nnm,R"),
            columns(scale=100.0),
            columns(scale=100.0, head="wavelength,R %"),
            columns(scale=100.0, head="nm;percent", part=";"),
            "\ufeff" + columns(head="nm,R"),
            columns().replace("\n", "\r\n"),
            "\n".join(reversed(columns().split())),
            "\n".join(f"{nm} nm,{100 * value:.5g}%" for nm, value in PAIRS),
        ],
    )
    def test_the_same_spectrum_is_read_however_it_is_written(self, text):
        assert one(text).reflectance == pytest.approx(VALUES, abs=1e-5)

    def test_a_header_settles_what_the_values_leave_open(self):
        dark = "\n".join(f"{nm},1.5" for nm in NM)
        with pytest.raises(InputError, match="may be a fraction or a percentage"):
            parse_spectra(dark)
        assert one("nm,R (%)\n" + dark).reflectance == pytest.approx([0.015] * 31)
        assert one(dark, percent=True).reflectance == pytest.approx([0.015] * 31)
        low = "\n".join(f"{nm},0.9" for nm in NM)
        assert one("nm,percent\n" + low).reflectance == pytest.approx([0.009] * 31)
        assert one("nm,fraction\n" + low).reflectance == pytest.approx([0.9] * 31)

    def test_several_samples_stand_side_by_side_under_their_names(self):
        rows = [f"{nm},{value},{value / 100}" for nm, value in PAIRS]
        light, dark = parse_spectra("\n".join(["nm,pale one,dark one", *rows]))
        assert (light.text, dark.text) == ("pale one", "dark one")
        # The dark one stays below 1.2 either way: the file is judged as a whole.
        assert dark.reflectance == pytest.approx([v / 100 for v in VALUES])

    def test_samples_in_one_file_share_their_scale(self):
        rows = [f"{nm},80,0.9" for nm in NM]
        _, dark = parse_spectra("\n".join(rows))
        assert dark.reflectance == pytest.approx([0.009] * 31)
        assert dark.text == "column 3"

    def test_a_single_sample_takes_the_name_it_is_given(self):
        assert one(columns(), name="my chip").text == "my chip"

    def test_mirror_reflection_is_passed_on(self):
        assert one(columns(), specular_included=True).specular_included
        assert not one(columns()).specular_included

    @pytest.mark.parametrize("step", [1, 2, 5, 20])
    def test_other_grids_are_read(self, step):
        text = "\n".join(f"{nm},0.5" for nm in range(380, 741, step))
        assert one(text).reflectance == pytest.approx([0.5] * 31)


class TestRows:
    def test_a_header_of_wavelengths_over_rows_of_values(self):
        head = "name," + ",".join(str(nm) for nm in NM)
        row = ",".join(str(value) for value in VALUES)
        first, second = parse_spectra(f'{head}\n"pale, green",{row}\nother,{row}\n')
        assert (first.text, second.text) == ("pale, green", "other")
        assert first.reflectance == second.reflectance == pytest.approx(VALUES)

    @pytest.mark.parametrize("style", ["{}", "{} nm", "R{}", "R_{}nm", "nm{}", "{}.0"])
    def test_wavelengths_may_carry_their_usual_letters(self, style):
        head = ",".join(style.format(nm) for nm in NM)
        assert one(f"{head}\n{','.join(map(str, VALUES))}").reflectance == pytest.approx(VALUES)

    def test_rows_without_names_are_numbered_by_line(self):
        head, row = ",".join(map(str, NM)), ",".join(map(str, VALUES))
        assert [r.text for r in parse_spectra(f"{head}\n{row}\n\n{row}")] == ["row 2", "row 4"]

    def test_a_faulty_row_is_told_with_its_number(self):
        head, row = ",".join(map(str, NM)), ",".join(map(str, VALUES))
        with pytest.raises(InputError) as caught:
            parse_spectra(f"{head}\n{row},1\n{row.replace('0.95', 'x')}\n{row}")
        assert [p.message for p in caught.value.problems] == [
            "row 2 has 32 cells, the header has 31",
            "row 3: 'x' is not a number",
        ]

    def test_a_header_without_rows_is_refused(self):
        with pytest.raises(InputError, match="no row of values"):
            parse_spectra(",".join(map(str, NM)))


class TestFaults:
    def test_all_faults_are_told_at_once(self):
        text = "".join(f"{nm},{v}\n" for nm, v in PAIRS if nm not in {400, 550})
        text = text.replace("430,0.14", "430,-0.14").replace("600,0.65", "600,n/a")
        with pytest.raises(InputError) as caught:
            parse_spectra(text)
        told = " | ".join(p.message for p in caught.value.problems)
        for part in ("'n/a' is not a number", "covers 410", "540 to 560", "-0.14 at 430"):
            assert part in told

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("", "is empty"),
            ("\x1f", "is empty"),
            ("# only a remark", "is empty"),
            ("hello\nworld", "no row begins with a wavelength"),
            ("400\n410\n420", "a wavelength without a value"),
            (columns() + "710,0.5,0.6\n", "row 32 has 3 cells, others 2"),
            (columns() + "end of data,0.5\n", "'end of data' is not a wavelength"),
            (columns() + "700,0.5\n", "700 nm is given twice"),
            (columns().replace("0.95", "9.5e9"), "outside 0 to 1.2"),
            (columns().replace("0.95", "nan"), "nan at 700 nm"),
        ],
    )
    def test_a_text_that_cannot_be_read_says_why(self, text, message):
        with pytest.raises(InputError, match=message):
            parse_spectra(text)

    def test_a_faulty_sample_among_several_is_named(self):
        rows = [f"{nm},{v},{v}" for nm, v in PAIRS]
        rows[4] = rows[4].replace("440,0.17,0.17", "440,0.17,-0.17")
        with pytest.raises(InputError) as caught:
            parse_spectra("\n".join(["nm,good,bad", *rows]))
        (problem,) = caught.value.problems
        assert problem.field == "bad"
        assert "at 440 nm" in problem.message

    @given(st.text(max_size=300))
    def test_any_text_gives_readings_or_a_reason(self, text):
        try:
            readings = parse_spectra(text)
        except InputError as error:
            readings = []
            assert error.problems  # noqa: PT017 - either outcome is right, if it is whole
        assert all(np.isfinite(r.reflectance).all() for r in readings)


class TestGrid:
    def test_start_and_step_stand_for_the_wavelengths(self):
        reading = reading_from_grid(400, 10, VALUES, specular_included=True, text="chip")
        assert reading.reflectance == pytest.approx(VALUES)
        assert reading.text == "chip"
        wider = reading_from_grid(380.0, 5.0, [0.5] * 81)
        assert wider.reflectance == (0.5,) * 31

    def test_a_start_or_step_that_cannot_be_is_named_by_field(self):
        with pytest.raises(InputError) as caught:
            reading_from_grid(float("nan"), 0.0, VALUES)
        assert [p.field for p in caught.value.problems] == ["start_nm", "step_nm"]

    def test_a_grid_that_is_too_short_says_what_it_covers(self):
        with pytest.raises(InputError, match="covers 400 to 690 nm"):
            reading_from_grid(400, 10, VALUES[:-1])


class TestFiles:
    def test_a_file_is_named_by_its_stem(self, tmp_path):
        file = tmp_path / "door panel.csv"
        file.write_text(columns(), "utf-8")
        reading = read_spectral_file(file)
        assert reading.text == "door panel"
        assert reading.reflectance == pytest.approx(VALUES)

    def test_one_of_several_samples_is_chosen_by_name(self, tmp_path):
        file = tmp_path / "two.csv"
        rows = [f"{nm},{v},0.5" for nm, v in PAIRS]
        file.write_text("\n".join(["nm,ramp,grey", *rows]), "utf-8")
        assert read_spectral_file(file, "grey").reflectance == (0.5,) * 31
        with pytest.raises(NotationError, match="holds 2 samples; say which: ramp, grey"):
            read_spectral_file(file)
        with pytest.raises(
            NotationError, match="no sample 'green'; there are: ramp, grey"
        ) as caught:
            read_spectral_file(file, "green")
        assert caught.value.problems[0].field == "sample"

    @pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
    def test_the_usual_encodings_are_read(self, tmp_path, encoding):
        file = tmp_path / "chip.csv"
        file.write_bytes(columns(head="nm,R° µ").encode(encoding))
        assert read_spectral_file(file).reflectance == pytest.approx(VALUES)

    def test_a_missing_file_is_named(self, tmp_path):
        with pytest.raises(InputError, match=r"none\.csv cannot be read"):
            read_spectral_file(tmp_path / "none.csv")
        with pytest.raises(InputError, match="cannot be read"):
            read_spectral_file(tmp_path)

    def test_a_file_that_is_too_large_is_not_read(self, tmp_path):
        file = tmp_path / "large.csv"
        file.write_bytes(b"#" * 8_000_001)
        with pytest.raises(InputError, match=r"8\.0 MB; a spectrum file has at most 8 MB"):
            read_spectral_file(file)

    def test_what_is_no_text_is_refused(self, tmp_path):
        file = tmp_path / "picture.csv"
        file.write_bytes(bytes(range(256)) * 4)
        with pytest.raises(NotationError, match="is not a text file"):
            read_spectral_file(file)

    def test_the_csv_reader_alone_does_the_same(self):
        assert parse_spectra_csv(columns()) == parse_spectra(columns())
