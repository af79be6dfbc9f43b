"""Finished jobs: what is kept of them, and what they teach."""
