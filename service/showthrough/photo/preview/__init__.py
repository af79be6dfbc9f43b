"""A photo of the bare piece as it would look after each coat."""
