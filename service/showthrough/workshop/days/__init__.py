"""Which days a job takes."""
