"""What finished jobs teach: pure functions of what they came to, beside whatever keeps them."""
