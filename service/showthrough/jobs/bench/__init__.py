"""What follows from a plan: its whole list of steps, paint and cans, days, money."""
