"""What stands before every route: who may ask, in which form, how much at once."""
