"""From the bytes of a picture file to linear light."""
