"""All swatches of a file over one surface."""
