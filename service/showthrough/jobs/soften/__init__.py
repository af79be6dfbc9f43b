"""How little a colour must change to save coats."""
