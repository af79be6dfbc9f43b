"""Readings of photos and drawdowns, and the preview."""
