"""Light, cast and camera, by cards, charts and sheets."""
