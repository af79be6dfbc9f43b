"""Munsell notation: value and luminance, hues by the renotation."""
