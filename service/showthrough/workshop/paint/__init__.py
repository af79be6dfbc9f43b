"""How much paint and material a job takes."""
