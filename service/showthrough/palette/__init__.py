"""What sits beside a colour: harmony and hardware finishes."""
