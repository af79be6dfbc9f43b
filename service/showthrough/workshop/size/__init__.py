"""How large a piece is."""
