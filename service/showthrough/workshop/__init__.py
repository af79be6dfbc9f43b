"""Units of the trade and cautions."""
