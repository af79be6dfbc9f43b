"""What a photograph can tell: the only room that reads pictures."""
