"""Which coat goes under, and whether one helps."""
