"""Colours from files: swatches, spectra, collections of ISO 28178."""
