"""The pages, in the shapes that a browser asks for."""
