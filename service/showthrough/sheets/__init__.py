"""The printed job sheet: bench, customer and shopping pages as one HTML file."""
