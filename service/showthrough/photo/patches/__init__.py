"""Areas of one colour in a photo of a piece."""
