"""Spoilt spectrum and swatch files give values or reasons, and nothing else."""

from __future__ import annotations

import pytest

from mutate_files import READERS, outcome_of, sound_files, spoilt_files


@pytest.mark.parametrize("seed", range(4))
def test_a_spoilt_file_is_read_or_refused_without_a_warning(seed, tmp_path):
    file = tmp_path / "spoilt"
    outcomes = set()
    for _, raw in spoilt_files(30, 1000 + seed, longest=60_000):
        file.write_bytes(raw)
        outcomes |= {outcome_of(reader, file) for reader in READERS}
    assert outcomes == {"read", "refused"}


@pytest.mark.parametrize("kind", sound_files())
def test_what_is_spoilt_was_sound(kind, tmp_path):
    file = tmp_path / "sound"
    file.write_text(sound_files()[kind], "utf-8")
    spectral = kind in {"columns", "one column", "rows"}
    assert outcome_of("spectra" if spectral else "sweep", file) == "read"


def test_the_same_seed_spoils_in_the_same_way():
    assert list(spoilt_files(20, 7)) == list(spoilt_files(20, 7))
