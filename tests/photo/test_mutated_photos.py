"""A small share of ``tests/mutate_photos.py``: damaged photos never answer wrongly or crash."""

from __future__ import annotations

import mutate_photos


def test_a_damaged_photo_is_refused_or_answered_within_its_radius():
    ends, broken = mutate_photos.run(100, seed=4)
    assert broken == []
    assert sum(number for (_, end), number in ends.items() if end == "refused") > 60
