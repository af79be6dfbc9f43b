"""What paint does: optics, hiding power, film build, undercoats."""
