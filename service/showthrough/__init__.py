"""Showthrough: how many coats a colour needs over a surface, and what goes under and beside it."""
