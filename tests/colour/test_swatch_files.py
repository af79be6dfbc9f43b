"""Sample swatches are found in a checkout and in an installed package."""

from __future__ import annotations

import pytest

from showthrough.colour.files import shipped as swatch_files
from showthrough.errors import InputError


@pytest.fixture(autouse=True)
def _fresh():
    swatch_files.swatch_folder.cache_clear()
    yield
    swatch_files.swatch_folder.cache_clear()


def test_a_checkout_holds_the_finishes():
    assert "US10B" in swatch_files.swatch_text("finishes.csv")


def test_an_installed_package_is_asked_first(tmp_path, monkeypatch):
    package = tmp_path / "lib" / "showthrough"
    for folder, text in ((package, "installed"), (tmp_path, "checkout")):
        (folder / "swatches").mkdir(parents=True)
        (folder / "swatches" / "finishes.csv").write_text(text, "utf-8")
    module = package / "colour" / "files" / "shipped.py"
    monkeypatch.setattr(swatch_files, "__file__", str(module))
    assert swatch_files.swatch_text("finishes.csv") == "installed"


def test_an_unknown_file_lists_those_there_are():
    with pytest.raises(InputError, match=r"there are: .*finishes\.csv"):
        swatch_files.swatch_text("nothing.csv")


@pytest.mark.parametrize("name", ["../pyproject.toml", "/etc/hosts", "a/b.csv", "..csv", ""])
def test_a_path_is_never_followed(name):
    with pytest.raises(InputError, match="no sample swatch file"):
        swatch_files.swatch_text(name)


def test_a_missing_folder_says_what_to_do(tmp_path, monkeypatch):
    monkeypatch.setattr(swatch_files, "__file__", str(tmp_path / "a" / "b" / "c" / "d" / "e.py"))
    with pytest.raises(InputError, match="install the package anew"):
        swatch_files.swatch_text("finishes.csv")
