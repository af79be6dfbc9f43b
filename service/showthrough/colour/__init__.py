"""What a colour is: notation, spectrum, difference, lights."""
