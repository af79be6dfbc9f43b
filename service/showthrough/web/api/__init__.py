"""The JSON routes."""
