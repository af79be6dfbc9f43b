"""The command line: translation only."""
