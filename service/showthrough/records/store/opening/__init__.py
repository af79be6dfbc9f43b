"""From an address to a transaction on today's schema."""
